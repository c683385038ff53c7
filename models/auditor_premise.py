"""What an attacker's reasoning is worth when answers did change although he takes them to be stable.

Such an attacker knows something only if his premise is true. Where it is false, he reasons from a false
premise: what he concludes is right now and wrong then, and he cannot tell which. Values met by such a guess
are reported with the wrong ones, not as findings. Undecided values stay findings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from models.audit_records import Attacker, Key, PartVerdict, PublishedCell


def premise_holds(cells: Sequence[PublishedCell], answers: Mapping[Key, int], attacker: Attacker) -> bool:
    """Tell whether nobody counted is known to have changed the answer.

    Parameters
    ----------
    cells : sequence of PublishedCell
        Counts the attacker reasons from, of one region.
    answers : mapping of (str, str) to int
        Answers as given; whoever has none counts as stable.
    attacker : Attacker
        The attacker. Colluders told every month's answer, so nothing is taken for granted about them.

    Returns
    -------
    bool
        Always true for an attacker who takes months to be unrelated.
    """
    if not attacker.stable:
        return True
    seen: dict[str, int] = {}
    pairs = {(token, month) for cell in cells for token in cell.contributors for month in cell.months}
    return all(
        seen.setdefault(key[0], answers[key]) == answers[key]
        for key in pairs & answers.keys()
        if key[0] not in attacker.colluders
    )


def as_guesses(verdict: PartVerdict) -> PartVerdict:
    """Move what was concluded from a false premise from the findings to the misled.

    Parameters
    ----------
    verdict : PartVerdict
        Verdict of an attacker whose premise is false.

    Returns
    -------
    PartVerdict
        The same with only undecided findings left.
    """
    concluded = tuple(f for f in verdict.findings if f.value is not None)
    rest = tuple(f for f in verdict.findings if f.value is None)
    guessed = tuple(f for f in concluded if f.kind == "value")
    return replace(verdict, findings=rest, misled=(*verdict.misled, *guessed))
