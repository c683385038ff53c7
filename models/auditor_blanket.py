"""Somebody who takes all answers for stable, rightly or not: how much of what they conclude is right.

Where answers change, such a person reasons from a false premise. What they conclude is right now and wrong
then, and they cannot tell which: it is a guess, and a guess is worth what it adds to the common one, "no" for
everybody. This is reported beside the audit, in tenths, and decides nothing. What anybody can rightly know
about stable answers is the matter of `models.auditor_spans`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from models.audit_records import Attacker, Key, Ledger, PublishedCell
from models.auditor import RegionAuditor
from models.auditor_gallery import Effort

FEW = 20
"""Below this many conclusions nothing is said about how many are right: it would confirm or refute them."""

_EFFORT = Effort(time_limit=5.0, enough=40)


@dataclass(frozen=True)
class Guesses:
    """What was concluded.

    Attributes
    ----------
    concluded, right : int
        Conclusions about one person, and those that agree with the answers on file.
    answers, no : int
        Answers counted in the numbers looked at, and those of them that are no.
    """

    concluded: int = 0
    right: int = 0
    answers: int = 0
    no: int = 0

    def __add__(self, other: Guesses) -> Guesses:
        return Guesses(
            self.concluded + other.concluded,
            self.right + other.right,
            self.answers + other.answers,
            self.no + other.no,
        )

    @property
    def sentence(self) -> str:
        """The finding in plain words; rates in tenths, and none for few conclusions."""
        who = "Whoever takes answers for stable from one number to the next, rightly or not, would conclude"
        if self.concluded < FEW:
            some = f"fewer than {FEW} answers" if self.concluded else "nothing"
            return f"{who} {some} from these numbers."
        return (
            f"{who} about {round(self.concluded, -1)} answers from these numbers, "
            f"{_tenths(self.right, self.concluded)} of them rightly; guessing no for everybody is right for "
            f"{_tenths(self.no, self.answers)}."
        )


def guess_region(
    ledger: Ledger,
    region: str,
    units: Iterable[str],
    rng: np.random.Generator,
    truth: Mapping[Key, int],
    new_cells: Iterable[PublishedCell] | None = None,
) -> Guesses:
    """Conclude from every two successive numbers of a unit what follows if nobody changed the answer.

    Longer runs would be refuted by their numbers sooner than they would say more.

    Parameters
    ----------
    ledger : Ledger
        Everything published about the region.
    region : str
        Region.
    units : iterable of str
        Units whose numbers are looked at.
    rng : numpy.random.Generator
        Source of chance of the search.
    truth : mapping of (str, str) to int
        Answers on file.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells: only pairs that end with one of them are looked at. All if left out.

    Returns
    -------
    Guesses
        What was concluded.
    """
    fresh = None if new_cells is None else set(new_cells)
    total = Guesses()
    for unit in sorted(set(units)):
        own = sorted((c for c in ledger.cells if c.unit == unit), key=lambda c: c.months)
        for pair in pairwise(own):
            if fresh is None or pair[1] in fresh:
                total += _guess(Ledger(pair, ledger.answered), region, rng, truth)
    return total


def _guess(pair: Ledger, region: str, rng: np.random.Generator, truth: Mapping[Key, int]) -> Guesses:
    verdict = RegionAuditor(pair, region, Attacker(True, local=True), rng, None, _EFFORT).run(None)
    said: dict[str, list[int]] = {}
    for token, month in sorted({key for cell in pair.cells for key in _answers(cell, pair, region)}):
        if (token, month) in truth:
            said.setdefault(token, []).append(truth[token, month])
    counted = [value for own in said.values() for value in own]
    found = [f for f in verdict.findings if f.kind == "value" and f.value is not None and f.token in said]
    right = sum(set(said[f.token]) == {f.value} for f in found)
    return Guesses(len(found), right, len(counted), len(counted) - sum(counted))


def _answers(cell: PublishedCell, ledger: Ledger, region: str) -> list[Key]:
    covered = set(cell.months)
    return [(t, m) for t in cell.contributors for m in ledger.answered[region][t] if m in covered]


def _tenths(part: int, whole: int) -> str:
    tenths = round(10 * part / whole) if whole else 0
    if tenths in (0, 10):
        # Never none or all: that would settle each of them.
        return "1 in 10 or fewer" if not tenths else "9 in 10 or more"
    return f"{tenths} in 10"
