"""Which method can judge a change, decided from the design alone and never from the result."""

from dataclasses import dataclass

from models.adoption import NEVER
from models.paths import count_paths
from models.team_changes import smallest_p

COMMON_START, CHOSEN, STAGGERED, STEPPED, ONE_SERIES, CANNOT = (
    "common start",
    "chosen on the outcome",
    "staggered starts",
    "stepped roll-out",
    "one series",
    "cannot",
)
LEAST_MONTHS = 3
"""Fewest whole months on either side of a start: one quarter."""

LEAST_TEAMS = 4
SERIES_MONTHS = 12
TOGETHER_MONTHS = 2
"""Starts at most this far apart count as one; the months between are left out."""

SIGNIFICANT = 0.05

WORDS = {
    COMMON_START: (
        "Changes of the same people's discomfort, team by team, changed teams against the others; "
        "random-effects meta-regression with Hartung-Knapp errors and t"
    ),
    CHOSEN: (
        "Teams were chosen for their discomfort, so plain before and after is not used: discomfort "
        "afterwards, changed teams against the others at the same baseline (ANCOVA), "
        "with Hartung-Knapp errors and t"
    ),
    STAGGERED: (
        "Teams started at different times: imputation from team-months before any start, tested by giving "
        "the starts to other teams"
    ),
    STEPPED: (
        "Stepped roll-out in random order: imputation from team-months before any start, with calendar time, "
        "tested by the orders that could have been drawn"
    ),
    ONE_SERIES: (
        "One series without comparison: a step at the start with errors that hang together over months "
        "(restricted maximum likelihood, parametric bootstrap)"
    ),
    CANNOT: "No method can judge this change",
}
REFUSALS = {
    "NOT_STARTED": "the change has not started",
    "START_OUTSIDE": "the start lies outside the months with data",
    "TOO_FEW_MONTHS": "fewer than 3 whole months lie before the start, or after it",
    "NO_ANSWERS_AFTER": "nobody answered after the start",
    "DISSOLVED": "the team ended before 3 months had passed",
    "OVERLAP": "another change was at work in the same months",
    "NO_COMPARISON": "there is no team to compare with, and fewer than 12 months lie on a side",
    "TOO_FEW_TEAMS": "fewer than 4 teams are left",
    "CHOSEN_ALONE": "teams were chosen for their discomfort and there is no team to compare with",
    "CHOSEN_AND_STAGGERED": "teams were chosen for their discomfort and started at different times",
}
ADHERENCE_UNKNOWN = (
    "How many work the new way is not known for every team: this judges having the change, not using it, and "
    "no dose-response is drawn"
)


@dataclass(frozen=True)
class TeamRecord:
    """What the design needs to know of one team; months are counted from 0, the first with data.

    Attributes
    ----------
    team : str
        Code.
    first, last : int or None
        First and last month with answers; None without any.
    ended : int or None
        Last month the team had people; None while it lasts.
    start : int or None
        First whole month with the change in force; None if not changed, or not yet.
    changed : bool
        Whether the change is meant for this team.
    adherence : float or None
        Share of the team that works the new way.
    other_change : bool
        Whether another change was at work here in the months judged.
    """

    team: str
    first: int | None
    last: int | None
    ended: int | None = None
    start: int | None = None
    changed: bool = False
    adherence: float | None = None
    other_change: bool = False


@dataclass(frozen=True)
class Refusal:
    """Why a change, or a team of it, cannot be judged.

    Attributes
    ----------
    code, words : str
        Name and sentence.
    team : str or None
        Team; None for the whole change.
    """

    code: str
    words: str
    team: str | None = None

    def __str__(self) -> str:
        return f"{self.team}: {self.words}" if self.team else self.words


@dataclass(frozen=True)
class Design:
    """The method and what it can reach.

    Attributes
    ----------
    method, words : str
        Method and its sentence.
    changed, others : tuple of str
        Teams judged and teams compared with.
    starts : tuple of int
        Starts of `changed`, in their order.
    smallest_p : float or None
        Smallest p that giving the change to other teams can reach; None for one series.
    refusals : tuple of Refusal
        Why nothing is judged, or which teams are left out.
    weaker : tuple of str
        What makes the design weaker than it might be.
    adherence : tuple of float or None
        Share that works the new way in each of `changed`.
    """

    method: str
    words: str
    changed: tuple[str, ...]
    others: tuple[str, ...]
    starts: tuple[int, ...]
    smallest_p: float | None
    refusals: tuple[Refusal, ...] = ()
    weaker: tuple[str, ...] = ()
    adherence: tuple[float | None, ...] = ()

    @property
    def in_reach(self) -> bool:
        """Whether this design can show anything at 5 %."""
        return self.method != CANNOT and (self.smallest_p is None or self.smallest_p <= SIGNIFICANT)


def decide(
    teams: tuple[TeamRecord, ...], months: int, *, chosen_on_outcome: bool = False, random_order: bool = False
) -> Design:
    """Decide the method of judging a change.

    Parameters
    ----------
    teams : tuple of TeamRecord
        Teams changed and all others.
    months : int
        Months with data.
    chosen_on_outcome : bool
        Whether teams were chosen because their discomfort was high.
    random_order : bool
        Whether chance decided the order of the starts, with the draw recorded.

    Returns
    -------
    Design
        Method, teams, reach; method `CANNOT` with the refusals where none will do.
    """
    faults = {t.team: fault for t in teams if t.changed and (fault := _fault(t, months))}
    judged = sorted((t for t in teams if t.changed and t.team not in faults), key=lambda t: t.team)
    refusals = tuple(Refusal(code, REFUSALS[code], team) for team, code in sorted(faults.items()))
    if not judged:
        return _cannot(refusals)
    starts = tuple(t.start for t in judged if t.start is not None)
    others = sorted(t.team for t in teams if not t.changed and _compares(t, min(starts), max(starts)))
    weaker = [f"{refusal} (left out)" for refusal in refusals]
    if any(t.adherence is None for t in judged):
        weaker.append(ADHERENCE_UNKNOWN)
    method, fault = _method(starts, len(others), months, chosen_on_outcome, random_order)
    if fault:
        return _cannot((*refusals, Refusal(fault, REFUSALS[fault])))
    if method == ONE_SERIES:
        weaker.append("Nothing else that happened at that time can be told from the change")
        reach = None
    elif method in (STAGGERED, STEPPED):
        reach = 1 / count_paths([*starts, *[NEVER] * len(others)])
    else:
        reach = smallest_p(len(judged) + len(others), len(judged))
    if reach is not None and reach > SIGNIFICANT:
        weaker.append(
            f"The smallest p that this design can reach is {reach:.3f}: it cannot show anything at 5 %"
        )
    names = tuple(t.team for t in judged)
    used = tuple(t.adherence for t in judged)
    return Design(method, WORDS[method], names, tuple(others), starts, reach, refusals, tuple(weaker), used)


def _fault(team: TeamRecord, months: int) -> str | None:
    if team.start is None:
        return "NOT_STARTED"
    if not 0 < team.start < months:
        return "START_OUTSIDE"
    if team.ended is not None and team.ended < team.start + LEAST_MONTHS - 1:
        return "DISSOLVED"
    if team.first is None or team.last is None or team.last < team.start:
        return "NO_ANSWERS_AFTER"
    if team.start - team.first < LEAST_MONTHS or team.last - team.start + 1 < LEAST_MONTHS:
        return "TOO_FEW_MONTHS"
    return "OVERLAP" if team.other_change else None


def _compares(team: TeamRecord, first_start: int, last_start: int) -> bool:
    if team.first is None or team.last is None or team.other_change:
        return False
    return team.first <= first_start - LEAST_MONTHS and team.last >= last_start + LEAST_MONTHS - 1


def _method(
    starts: tuple[int, ...], others: int, months: int, chosen: bool, random_order: bool
) -> tuple[str, str | None]:
    together = max(starts) - min(starts) <= TOGETHER_MONTHS
    if chosen and not together:
        return CANNOT, "CHOSEN_AND_STAGGERED"
    if not others and together:
        if chosen:
            return CANNOT, "CHOSEN_ALONE"
        long_enough = min(starts) >= SERIES_MONTHS and months - max(starts) >= SERIES_MONTHS
        return (ONE_SERIES, None) if long_enough else (CANNOT, "NO_COMPARISON")
    if len(starts) + others < LEAST_TEAMS:
        return CANNOT, "TOO_FEW_TEAMS"
    if not together:
        return (STEPPED if random_order else STAGGERED), None
    return (CHOSEN if chosen else COMMON_START), None


def _cannot(refusals: tuple[Refusal, ...]) -> Design:
    return Design(CANNOT, WORDS[CANNOT], (), (), (), None, refusals)
