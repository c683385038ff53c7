"""Effects by quarters since the start, beside an evaluation; the last quarter before it is the reference."""

from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from models.adoption import NEVER
from models.change_design import COMMON_START, STAGGERED, STEPPED, Design
from models.evaluation import Answers, cells_of
from models.staggered_checks import event_study
from models.team_changes import DRAWN, ENUMERATED, change_fit
from models.team_sums import TeamSums, sums_of_answers

QUARTER = 3
BEFORE, AFTER = 4, 4
"""Quarters drawn before and after the start, the reference being one of those before."""

LEAST_TEAMS = 4
"""Fewest teams with answers in a quarter and in the reference."""


@dataclass(frozen=True)
class EventPoint:
    """Effect in one quarter against the reference, as shares; below 0 is less discomfort.

    Attributes
    ----------
    quarter : int
        Quarters since the start: 0 the first with the change, -2 the last but one before it.
    effect, low, high : float
        Effect and 95 % interval.
    changed_people, other_people : int
        People it rests on.
    residual_df : int
        People less teams.
    used : dict of str to str
        Person to how that person entered.
    """

    quarter: int
    effect: float
    low: float
    high: float
    changed_people: int
    other_people: int
    residual_df: int
    used: dict[str, str]


@dataclass(frozen=True)
class EventPicture:
    """All quarters, and whether teams drifted apart before.

    Attributes
    ----------
    points : tuple of EventPoint
        By quarter, the reference left out.
    trend_p : float or None
        Joint randomisation p of the quarters before the reference; None with none.
    trend_seen : float or None
        Drift a quarter, as a share, that the design would have found in four of five cases.
    """

    points: tuple[EventPoint, ...]
    trend_p: float | None
    trend_seen: float | None


def event_picture(
    answers: Answers, design: Design, window: tuple[int, int], begun: int, rng: np.random.Generator
) -> EventPicture | None:
    """Return effects by quarters since the start.

    With one common start each quarter is compared with the reference by the meta-regression of team changes,
    people who answered in both; with several starts by group-time effects against teams still waiting.

    Parameters
    ----------
    answers : Answers
        Answers of one region.
    design : Design
        The method decided before.
    window : tuple of int
        First and last month judged.
    begun : int
        Month in which work on the change first began; the reference ends with the month before.
    rng : numpy.random.Generator
        Source of reassignments.

    Returns
    -------
    EventPicture or None
        None for methods that such a picture would mislead about: teams chosen on the outcome fall back by
        themselves, and one series has no comparison.
    """
    teams = (*design.changed, *design.others)
    inside = (answers.month >= window[0]) & (answers.month <= window[1])
    kept = answers.of(np.isin(answers.team, teams) & inside)
    if design.method == COMMON_START:
        return _common(kept, design, window, begun, rng)
    if design.method in (STAGGERED, STEPPED):
        return _staggered(kept, design, window, rng)
    return None


def _common(
    answers: Answers, design: Design, window: tuple[int, int], begun: int, rng: np.random.Generator
) -> EventPicture | None:
    # Quarters before count back from the month in which work began, those after from the start in force.
    start = max(design.starts)
    quarter = np.where(
        answers.month < begun, -1 - (begun - 1 - answers.month) // QUARTER, (answers.month - start) // QUARTER
    )
    between = (answers.month >= begun) & (answers.month < start)
    quarter = np.where(between, 99, quarter)
    found: dict[int, tuple[TeamSums, np.ndarray]] = {}
    # Whole quarters only: a month or two would be compared with three.
    before, after = (begun - window[0]) // QUARTER, (window[1] - start + 1) // QUARTER
    for event in (*range(-min(BEFORE, before), -1), *range(min(AFTER, after))):
        pair = answers.of((quarter == event) | (quarter == -1))
        now = quarter[(quarter == event) | (quarter == -1)] == event
        sums = sums_of_answers(pair.person, pair.team, now, pair.case)
        dose = np.isin(sums.teams, design.changed)
        if len(dose) >= LEAST_TEAMS and dose.any() and len(dose) - dose.sum() >= 2:
            found[event] = (sums, dose)
    if not found:
        return None
    points = [_common_point(event, *pair, answers, quarter) for event, pair in found.items()]
    early = [pair for event, pair in found.items() if event < -1]
    trend_p, seen = _common_trend(early, min(found), rng) if early else (None, None)
    return EventPicture(tuple(points), trend_p, seen)


def _common_point(
    event: int, sums: TeamSums, dose: np.ndarray, answers: Answers, quarter: np.ndarray
) -> EventPoint:
    fit = change_fit(sums, dose)
    low, high = fit.interval(1)
    here = answers.of(np.isin(quarter, (event, -1)) & np.isin(answers.team, sums.teams))
    changed = np.array([team for team, done in zip(sums.teams, dose, strict=True) if done])
    return EventPoint(
        event, float(fit.coefficient[1]), float(low), float(high), int(sums.people[dose].sum()),
        int(sums.people[~dose].sum()), int(sums.residual_df), _used(here, changed, event),
    )  # fmt: skip


def _common_trend(
    early: list[tuple[TeamSums, np.ndarray]], first: int, rng: np.random.Generator
) -> tuple[float | None, float | None]:
    fit = change_fit(*early[0])
    reach = float(stdtrit(fit.df, 0.975) + stdtrit(fit.df, 0.80)) * float(fit.error[1])
    shared = set.intersection(*(set(sums.teams) for sums, _ in early))
    teams = early[0][0].teams
    mask = np.array([done for team, done in zip(teams, early[0][1], strict=True) if team in shared])
    if len(mask) < LEAST_TEAMS or not mask.any() or mask.all():
        return None, reach / abs(first + 1)
    doses = reassigned(mask, rng)
    size = np.zeros(len(doses))
    for sums, _ in early:
        places = [k for k, team in enumerate(sums.teams) if team in shared]
        n, before, after, b, a, both = (np.broadcast_to(one[places], doses.shape) for one in _arrays(sums))
        part = TeamSums(n, before, after, b, a, both)
        size += change_fit(part, doses).t(1) ** 2
    return float((size >= size[0] * (1 - 1e-9)).mean()), reach / abs(first + 1)


def reassigned(mask: npt.ArrayLike, rng: np.random.Generator) -> np.ndarray:
    """Return doses that give the change to other teams; the first is the one made.

    Parameters
    ----------
    mask : array_like of bool, shape (teams,)
        Which were changed.
    rng : numpy.random.Generator
        Used where there are too many to count.

    Returns
    -------
    numpy.ndarray, shape (reassignments, teams)
        All of them, or the one made and those drawn.
    """
    made = np.asarray(mask, float)
    teams, k = len(made), int(made.sum())
    if comb(teams, k) > ENUMERATED:
        return np.array([made, *(rng.permutation(made) for _ in range(DRAWN))])
    chosen = np.array([*combinations(range(teams), k)])
    doses = np.zeros((len(chosen), teams))
    np.put_along_axis(doses, chosen, 1.0, axis=1)
    first = (doses == made).all(1)
    return np.concatenate([doses[first], doses[~first]])


def _staggered(
    answers: Answers, design: Design, window: tuple[int, int], rng: np.random.Generator
) -> EventPicture | None:
    teams = np.array([*design.changed, *design.others])
    begin = np.array([*design.starts, *[NEVER] * len(design.others)])
    shares = cells_of(answers, teams, window, QUARTER)
    whole = np.asarray(np.isfinite(shares).all(1))
    starts = np.where(begin == NEVER, NEVER, -(-(begin - window[0]) // QUARTER))
    if not whole[begin != NEVER].all() or whole.sum() < LEAST_TEAMS or (starts >= shares.shape[1]).any():
        return None
    shares, teams, starts = shares[whole], teams[whole], starts[whole]
    people = np.array([answers.people((team,)) for team in teams])
    found = event_study(shares, starts, people, rng, before=BEFORE, after=AFTER - 1)
    period = (answers.month - window[0]) // QUARTER
    points = []
    for k, event in enumerate(found.event):
        own, others = _compared(answers, period, teams, starts, event, shares.shape[1])
        changed, other = (len(set(part.person)) for part in (own, others))
        used = _used(own, teams, event)
        # One person may stand on both sides: waiting at first, changed later.
        for person, way in _used(others, teams[:0], event).items():
            used[person] = f"{used.get(person, '')} {way}".strip()
        points.append(
            EventPoint(
                event, float(found.effect[k]), float(found.low[k]), float(found.high[k]), changed, other,
                len(used) - len(teams), used,
            )
        )  # fmt: skip
    return EventPicture(tuple(points), found.trend_p, found.trend_seen)


def _compared(
    answers: Answers, period: np.ndarray, teams: np.ndarray, starts: np.ndarray, event: int, periods: int
) -> tuple[Answers, Answers]:
    """Return the answers of started and of waiting teams that one event-time effect is made of."""
    own, others = (np.zeros(len(period), bool) for _ in range(2))
    for team, start in zip(teams, starts, strict=True):
        now, reference = start + event, start - 1
        if start == NEVER or reference < 0 or not 0 <= now < periods:
            continue
        waiting = teams[(starts == NEVER) | (starts > max(now, reference))]
        waiting = waiting[waiting != team]
        if len(waiting):
            when = (period == now) | (period == reference)
            own |= when & (answers.team == team)
            others |= when & np.isin(answers.team, waiting)
    return answers.of(own), answers.of(others)


def _used(answers: Answers, changed: np.ndarray, event: int) -> dict[str, str]:
    side = np.where(np.isin(answers.team, changed), "changed", "other")
    months: dict[str, list[str]] = {}
    for person, where, month in sorted(zip(answers.person, side, answers.month.tolist(), strict=True)):
        months.setdefault(str(person), []).append(f"{where} {month}")
    return {person: f"quarter {event}: {','.join(entered)}" for person, entered in months.items()}


def _arrays(sums: TeamSums) -> tuple[np.ndarray, ...]:
    means = (sums.people, sums.before, sums.after)
    return (*means, sums.before_spread, sums.after_spread, sums.shared_spread)
