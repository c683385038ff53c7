"""How long each answer stayed the same: what the attacker is told who rightly takes answers for stable.

Whoever believes that an answer was the same in several months is right only where it really was. So this
attacker is told, for every person, which neighbouring answers were equal, and not what they were. That covers
every right belief about stable answers at once, over any people and any time: each states some of these
equalities, and whoever knows more can only conclude more. The answers as given satisfy all that this attacker
takes for granted, so what follows is true, nothing rests on luck, and one changed answer takes away one
equality instead of the whole attacker.

What is not on file is taken on the side of caution: a person's months without data continue the answer before
them. If no world is left then, these months are taken as unrelated. Answers corrected after their month was
published contradict its numbers; months of such numbers are taken as unrelated too.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from models.audit_records import Key, PublishedCell

Spans = Mapping[Key, str]
"""(token, month) to the first month of the run of equal answers it belongs to."""


def true_spans(
    answered: Mapping[str, Sequence[str]],
    truth: Mapping[Key, int],
    doubted: Iterable[Key] = (),
    *,
    join_unknown: bool = True,
) -> dict[Key, str]:
    """Cut each person's answered months into runs of equal answers.

    Parameters
    ----------
    answered : mapping of str to sequence of str
        Months each person answered, in order.
    truth : mapping of (str, str) to int
        Answers on file by (token, month).
    doubted : iterable of (str, str)
        Answers that are not what was published, see `doubted_answers`: each a run of its own.
    join_unknown : bool
        Whether an answer that is not on file continues the one before it; else it is a run of its own.

    Returns
    -------
    dict
        First month of the run of each answer.
    """
    apart = set(doubted)
    spans: dict[Key, str] = {}
    for token, months in answered.items():
        start, value = "", None
        for month in months:
            key = (token, month)
            if key in apart or (key not in truth and not join_unknown):
                spans[key], start, value = month, "", None
                continue
            said = truth.get(key)
            changed = said is not None and value is not None and said != value
            if not start or changed:
                start, value = month, said
            value = said if value is None else value
            spans[key] = start
    return spans


def doubted_answers(
    cells: Iterable[PublishedCell], answered: Mapping[str, Sequence[str]], truth: Mapping[Key, int]
) -> set[Key]:
    """Find the answers whose published numbers the file does not give.

    Parameters
    ----------
    cells : iterable of PublishedCell
        Published counts of one region.
    answered : mapping of str to sequence of str
        Months each person answered.
    truth : mapping of (str, str) to int
        Answers on file.

    Returns
    -------
    set of (str, str)
        Answers behind counts that no rounding of the answers on file gives; something was corrected since.
        A count with answers that are no longer on file is not judged.
    """
    found: set[Key] = set()
    for cell in cells:
        covered = set(cell.months)
        keys = [[(token, m) for m in answered[token] if m in covered] for token in cell.contributors]
        if not all(key in truth for own in keys for key in own):
            continue
        count = sum(any(truth[key] for key in own) for own in keys)
        top = cell.value + cell.base > cell.n
        if not cell.value - cell.base < count < (cell.n + 1 if top else cell.value + cell.base):
            found.update(key for own in keys for key in own)
    return found
