"""How often a question may be answered from the answers of the same people, each answer covering all so far.

A statement on drivers is some sixty numbers, each rounded so that one statement leaves every person's answers
open. The next quarter's covers the same answers once more with other weights. To somebody who answers alike
all along it is a new set of equations on the same unknown, so statements add up. In the attack about 50
people whose answers the attacker does not know carry one statement, and about 25 do not. With three
colluders in ten, 100 people a statement leave 70 unknown.

Hence: at most one statement a calendar year; and the k-th that shares people with earlier ones takes
``100 k`` people, or 100 people who were in none of them and so bring unknowns of their own. Headcounts,
dates and who answered decide, never answers. An argument by attack, not a proof. Pure functions.

Statements on whether a change helped are not counted here: each change is stated once, six whole months
after completion, so no second one about it comes out.

The ground of the plan is one share a time: a mean of the same people again and again is nearly the same
equation. In searches among 20 to 24 people, three in ten of whom tell, four statements left all open, and
from eight on people were read off in some worlds. So below 100 people the ground is stated once a calendar
year, and four times in all; later quarters show the last one.
"""

import math
from collections.abc import Collection
from dataclasses import dataclass

PEOPLE_A_STATEMENT = 100
"""People for each statement made about them."""

ONE_A_YEAR = "one statement a year"
SHARES_OF_FEW = 4
"""Shares stated about fewer than ``PEOPLE_A_STATEMENT`` people, in all."""

_COARSE = 50
"""How many people more are needed is told in steps, as headcounts are told in bands."""


@dataclass(frozen=True)
class Made:
    """An earlier statement on the same question.

    Attributes
    ----------
    period : str
        Months covered, ``2024-07 to 2025-12``; the last one dates it.
    people : frozenset of str
        Opaque labels of those in it.
    """

    period: str
    people: frozenset[str]

    @property
    def year(self) -> str:
        """Calendar year of the last month covered."""
        return self.period[-7:-3]


def why_not_again(period: str, people: Collection[str], earlier: Collection[Made]) -> str | None:
    """Say why a question is not answered once more, if it is not.

    Parameters
    ----------
    period : str
        Months the new statement would cover.
    people : collection of str
        Opaque labels of those in it.
    earlier : collection of Made
        Statements made on the question so far.

    Returns
    -------
    str or None
        The reason in words; None where the statement may be made.
    """
    if not earlier:
        return None
    last = max(earlier, key=lambda made: made.period[-7:])
    if any(made.year == Made(period, frozenset()).year for made in earlier):
        return f"stated for {_quarter(last.period)}; {ONE_A_YEAR}"
    missing = people_missing(people, [made.people for made in earlier])
    if not missing:
        return None
    told = _COARSE * math.ceil(missing / _COARSE)
    return f"stated for {_quarter(last.period)}; said again when {told} more people answer"


def share_again(period: str, people: int, earlier: Collection[str]) -> bool:
    """Say whether a share of the same question may be stated once more.

    Parameters
    ----------
    period : str
        Months it would cover, ``2024-07 to 2025-12``.
    people : int
        Those in it.
    earlier : collection of str
        Months that the shares stated so far covered.

    Returns
    -------
    bool
        Always from ``PEOPLE_A_STATEMENT`` people on.
    """
    if people >= PEOPLE_A_STATEMENT:
        return True
    years = {Made(stated, frozenset()).year for stated in earlier}
    return len(earlier) < SHARES_OF_FEW and Made(period, frozenset()).year not in years


def people_missing(people: Collection[str], earlier: Collection[Collection[str]]) -> int:
    """Count the people that one more statement about them lacks.

    Parameters
    ----------
    people : collection of str
        Those in the new statement.
    earlier : collection of collection of str
        Those in each earlier one.

    Returns
    -------
    int
        The smaller of what ``100 k`` and what 100 newcomers lack; 0 where it may be made.
    """
    now = frozenset(people)
    shared = [frozenset(made) for made in earlier if not now.isdisjoint(made)]
    if not shared:
        return 0
    newcomers = len(now - frozenset().union(*shared))
    needed = PEOPLE_A_STATEMENT * (len(shared) + 1)
    return max(0, min(needed - len(now), PEOPLE_A_STATEMENT - newcomers))


def _quarter(period: str) -> str:
    year, month = period[-7:].split("-")
    return f"Q{(int(month) + 2) // 3} {year}"
