"""One change evaluated by the method its design allows, with the checks that stand beside it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.adoption import NEVER
from models.change_design import CHOSEN, COMMON_START, ONE_SERIES, SERIES_MONTHS, Design
from models.paths import draw_paths
from models.series import SEASON_FROM, draw_steps, interrupted_series, segmented_design
from models.staggered import staggered_effect
from models.staggered_checks import event_study, leave_one_team_out, placebo_date
from models.team_changes import adjusted_fit, change_fit, effect_of, leave_one_out, randomise
from models.team_sums import TeamSums, sums_of_answers

LEAST_DOSED, LEAST_DOSES = 4, 3
"""Fewest changed teams with adherence known, and fewest different shares among them, for a dose-response."""

PERIODS = (1, 3)
"""Months in a period, tried in turn until every team has answers in every period."""


@dataclass(frozen=True)
class Answers:
    """Answers of one region, arrays of shape (answers,).

    Attributes
    ----------
    person, team : numpy.ndarray
        Who answered, on which team.
    month : numpy.ndarray of int
        Months from 0.
    case : numpy.ndarray of bool
        Discomfort at or above the threshold.
    """

    person: np.ndarray
    team: np.ndarray
    month: np.ndarray
    case: np.ndarray

    def of(self, keep: npt.ArrayLike) -> "Answers":
        """Return the answers where `keep` is true."""
        mask = np.asarray(keep, bool)
        return Answers(self.person[mask], self.team[mask], self.month[mask], self.case[mask])

    def people(self, teams: tuple[str, ...]) -> int:
        """Return how many people of some teams answered."""
        return len(set(self.person[np.isin(self.team, teams)]))


@dataclass(frozen=True)
class Evaluation:
    """Effect with its checks, as shares; below 0 is less discomfort.

    Attributes
    ----------
    effect, low, high, error : float
        Effect, 95 % interval, and a standard error (that of the interval where the method has none).
    df : int
        Degrees of freedom behind it.
    random_p : float or None
        Randomisation p; None for one series.
    alone : str or None
        Team without which the effect changes its sign.
    trend_p : float or None
        p of a trend before the starts; None where none could be tested.
    early_p : float or None
        p of a pretended date before the start.
    dose_p : float or None
        p of the change growing with the share that works the new way; None where that is not known, or alike.
    dose_effect : float or None
        Change of teams where everybody works the new way, from the same regression.
    changed_people, other_people, residual_df : int
        People judged on either side, and people less teams.
    teams : tuple of str
        All teams judged.
    """

    effect: float
    low: float
    high: float
    error: float
    df: int
    random_p: float | None
    alone: str | None
    trend_p: float | None
    early_p: float | None
    dose_p: float | None
    dose_effect: float | None
    changed_people: int
    other_people: int
    residual_df: int
    teams: tuple[str, ...]


class NotEvaluated(ValueError):
    """Answers do not carry the evaluation after all; the message says why."""


def evaluate(
    answers: Answers, design: Design, window: tuple[int, int], begun: int, rng: np.random.Generator
) -> Evaluation:
    """Evaluate a change.

    Parameters
    ----------
    answers : Answers
        Answers of one region.
    design : Design
        The method decided before; not `CANNOT`.
    window : tuple of int
        First and last month judged.
    begun : int
        Month in which work on the change first began; from then until the start nothing counts as before.
    rng : numpy.random.Generator
        Source of reassignments and drawn series.

    Returns
    -------
    Evaluation
        Effect and checks.

    Raises
    ------
    NotEvaluated
        If too few teams or periods have answers.
    """
    first, last = window
    teams = (*design.changed, *design.others)
    kept = answers.of(np.isin(answers.team, teams) & (answers.month >= first) & (answers.month <= last))
    if design.method in (COMMON_START, CHOSEN):
        return _together(kept, design, begun, rng)
    if design.method == ONE_SERIES:
        return _series(kept, design, window, rng)
    return _staggered(kept, design, window, rng)


def _together(answers: Answers, design: Design, begun: int, rng: np.random.Generator) -> Evaluation:
    start = max(design.starts)
    sides = answers.of((answers.month < begun) | (answers.month >= start))
    sums = sums_of_answers(sides.person, sides.team, sides.month >= start, sides.case)
    dose = np.isin(sums.teams, design.changed)
    adjust = design.method == CHOSEN
    if not dose.any() or len(dose) - dose.sum() < 2 or len(dose) < 4 + adjust:
        raise NotEvaluated("too few teams have people who answered before and after")
    fit = effect_of((adjusted_fit if adjust else change_fit)(sums, dose))
    without = leave_one_out(sums, dose, adjust=adjust)
    middle = int(np.median(sides.month[sides.month < begun]))
    early = sides.of(sides.month < begun)
    before = sums_of_answers(early.person, early.team, early.month > middle, early.case)
    marked = np.isin(before.teams, design.changed)
    enough = marked.any() and len(marked) - marked.sum() >= 2 and len(marked) >= 4
    return Evaluation(
        fit.effect, fit.low, fit.high, fit.error, fit.df,
        randomise(sums, dose, rng, adjust=adjust).p, _turns(fit.effect, without, sums.teams), None,
        float(change_fit(before, marked).p(1)) if enough and not adjust else None, *_dosed(sums, design),
        int(sums.people[dose].sum()), int(sums.people[~dose].sum()), int(sums.residual_df), sums.teams,
    )  # fmt: skip


def _dosed(sums: TeamSums, design: Design) -> tuple[float | None, float | None]:
    """Regress the changes of changed teams on the share that works the new way.

    Among them alone: against the others any effect at all would look like a dose-response.
    """
    known = dict(zip(design.changed, design.adherence, strict=False))
    changed = np.isin(sums.teams, design.changed)
    told = [known.get(team) for team, done in zip(sums.teams, changed, strict=True) if done]
    dose = np.array([share for share in told if share is not None], float)
    few = len(dose) < max(len(told), LEAST_DOSED) or len(np.unique(dose)) < LEAST_DOSES
    if few or design.method == CHOSEN:
        return None, None
    kept = sums
    for place in reversed(np.flatnonzero(~changed)):
        kept = kept.without(int(place))
    fit = change_fit(kept, dose)
    return float(fit.p(1)), float(fit.coefficient[1])


def _staggered(
    answers: Answers, design: Design, window: tuple[int, int], rng: np.random.Generator
) -> Evaluation:
    teams = np.array([*design.changed, *design.others])
    begin = np.array([*design.starts, *[NEVER] * len(design.others)])
    for every in PERIODS:
        shares = cells_of(answers, teams, window, every)
        whole = np.asarray(np.isfinite(shares).all(1))
        if whole[begin != NEVER].all() and whole.sum() >= 4:
            break
    else:
        raise NotEvaluated("a team has a quarter without any answers")
    shares, teams, begin = shares[whole], teams[whole], begin[whole]
    # A period counts as after once the change was in force throughout.
    starts = np.where(begin == NEVER, NEVER, -(-(begin - window[0]) // every))
    if (starts >= shares.shape[1]).any():
        raise NotEvaluated("a team has no whole period after its start")
    people = np.array([answers.people((team,)) for team in teams])
    paths = draw_paths(starts, rng)
    found = staggered_effect(shares, starts, people, rng, paths=paths)
    early = placebo_date(shares, starts, people, rng, 6 // every)
    changed, other = (answers.people(tuple(teams[m])) for m in (starts != NEVER, starts == NEVER))
    return Evaluation(
        found.effect, found.low, found.high, (found.high - found.low) / 4, max(len(teams) - 2, 1), found.p,
        _turns(found.effect, leave_one_team_out(shares, starts), tuple(teams)),
        event_study(shares, starts, people, rng).trend_p, early.p if early else None, None, None,
        changed, other, int(people.sum()) - len(teams), tuple(teams),
    )  # fmt: skip


def _series(
    answers: Answers, design: Design, window: tuple[int, int], rng: np.random.Generator
) -> Evaluation:
    own = answers.of(np.isin(answers.team, design.changed))
    joined = Answers(own.person, np.full(len(own.month), "all"), own.month, own.case)
    series = cells_of(joined, np.array(["all"]), window, 1)[0]
    start = max(design.starts) - window[0]
    if not np.isfinite(series).all():
        raise NotEvaluated("a month of the series has no answers")
    if min(start, len(series) - start) < SERIES_MONTHS:
        raise NotEvaluated(f"fewer than {SERIES_MONTHS} months lie on a side")
    shape = segmented_design(len(series), start, harmonics=int(len(series) >= SEASON_FROM))
    found = interrupted_series(series, start, draw_steps(shape, rng))
    people = own.people(design.changed)
    return Evaluation(
        found.effect, found.low, found.high, (found.high - found.low) / 4, len(series) - shape.shape[1],
        None, None, None, None, None, None, people, 0, people - len(design.changed), design.changed,
    )  # fmt: skip


def cells_of(answers: Answers, teams: np.ndarray, window: tuple[int, int], every: int) -> np.ndarray:
    """Return the shares with discomfort by team and period.

    Parameters
    ----------
    answers : Answers
        Answers of those teams.
    teams : numpy.ndarray of str
        Teams.
    window : tuple of int
        First and last month.
    every : int
        Months in a period; months beyond whole periods are left out.

    Returns
    -------
    numpy.ndarray, shape (teams, periods)
        NaN where nobody answered.
    """
    periods = (window[1] - window[0] + 1) // every
    place = {team: k for k, team in enumerate(teams)}
    row = np.array([place[team] for team in answers.team], int)
    column = (answers.month - window[0]) // every
    inside = column < periods
    said, hit = np.zeros((2, len(teams), periods))
    np.add.at(said, (row[inside], column[inside]), 1.0)
    np.add.at(hit, (row[inside], column[inside]), answers.case[inside].astype(float))
    return np.where(said > 0, hit / np.maximum(said, 1), np.nan)


def _turns(effect: float, without: np.ndarray, teams: tuple[str, ...]) -> str | None:
    """Return the team that alone gives the effect its sign, if there is one."""
    turned = [team for team, other in zip(teams, without, strict=True) if other * effect < 0]
    return str(turned[0]) if turned else None
