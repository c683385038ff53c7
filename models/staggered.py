"""Effect of a change that reached teams one after another, judged by giving their starts to other teams."""

from collections.abc import Callable
from dataclasses import dataclass
from math import factorial, prod

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from models.adoption import NEVER, event_weights, imputation_weights, untreated_residuals

DRAWN = 1_999
ENUMERATED = 5_040
_BISECTIONS = 50


@dataclass(frozen=True)
class StaggeredEffect:
    """Effect averaged over treated cells; below 0 is less discomfort.

    Attributes
    ----------
    effect, low, high : float
        Effect and 95 % interval by inverting the test, as shares; infinite where nothing bounds it.
    p : float
        Randomisation p, two-sided.
    smallest : float
        Smallest p that this design can give.
    paths : int
        Distinct ways to give the starts to the teams.
    """

    effect: float
    low: float
    high: float
    p: float
    smallest: float
    paths: int


@dataclass(frozen=True)
class EventStudy:
    """Effects by periods since the start, the last period before it being 0.

    Attributes
    ----------
    event : tuple of int
        Periods since the start.
    effect, low, high : numpy.ndarray
        Effects and the spread of reassignments around them (95 %).
    trend_p : float or None
        Randomisation p of all periods before the reference together; None with none.
    trend_seen : float or None
        A drift per period before the start that this design would have found in four of five cases.
    """

    event: tuple[int, ...]
    effect: np.ndarray
    low: np.ndarray
    high: np.ndarray
    trend_p: float | None
    trend_seen: float | None


def count_paths(starts: npt.ArrayLike) -> int:
    """Return in how many distinct ways the starts can be given to the teams.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        Starts; equal ones are exchangeable.

    Returns
    -------
    int
        ``teams! / product of (teams with each start)!``.
    """
    counts = np.unique(np.asarray(starts), return_counts=True)[1]
    return factorial(int(counts.sum())) // prod(factorial(int(c)) for c in counts)


def draw_paths(starts: npt.ArrayLike, rng: np.random.Generator, drawn: int = DRAWN) -> np.ndarray:
    """Return reassignments: which team stands at each place of the design; the first is the one made.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        Starts as made.
    rng : numpy.random.Generator
        Source of reassignments where there are too many to count.
    drawn : int
        How many to draw then.

    Returns
    -------
    numpy.ndarray of int, shape (reassignments, teams)
        All distinct ones if at most `ENUMERATED`, else the one made and `drawn` random ones.
    """
    start = np.asarray(starts, int)
    teams = len(start)
    if count_paths(start) > ENUMERATED:
        return np.array([np.arange(teams), *(rng.permutation(teams) for _ in range(drawn))])
    order = np.argsort(start, kind="stable")
    found: list[tuple[int, ...]] = []

    def fill(place: int, chosen: tuple[int, ...]) -> None:
        if place == teams:
            found.append(chosen)
            return
        here = start[order[place]]
        # Among places with one start the teams stand in rising order, so that each way is met once.
        after = chosen[-1] if place and start[order[place - 1]] == here else -1
        for team in range(after + 1, teams):
            if team not in chosen:
                fill(place + 1, (*chosen, team))

    fill(0, ())
    paths = np.empty((len(found), teams), int)
    paths[:, order] = np.array(found)
    made = (np.sort(paths[:, start == NEVER], 1) == np.flatnonzero(start == NEVER)).all(1)
    for value in np.unique(start[start != NEVER]):
        made &= (np.sort(paths[:, start == value], 1) == np.flatnonzero(start == value)).all(1)
    return np.concatenate([paths[made], paths[~made]])


def team_variance(shares: npt.ArrayLike, starts: npt.ArrayLike, people: npt.ArrayLike) -> np.ndarray:
    """Return how much each team's cells scatter, a part for all alike and one that falls with people.

    ``v_g = a + b / n_g`` with a, b >= 0, by least squares on the squared residuals of untreated cells.

    Parameters
    ----------
    shares : array_like, shape (teams, periods)
        Outcome.
    starts : array_like of int, shape (teams,)
        Starts.
    people : array_like, shape (teams,)
        People of each team.

    Returns
    -------
    numpy.ndarray, shape (teams,)
        Variances, more than 0.
    """
    rest, used = untreated_residuals(shares, starts)
    square = (rest**2).sum(1) / np.maximum(used.sum(1), 1)
    design = np.stack([np.ones(len(square)), 1 / np.asarray(people, float)], 1)
    weight = np.sqrt(used.sum(1)) / np.maximum(design[:, 1], 1e-9)
    found, _ = nnls(design * weight[:, None], square * weight)
    return np.maximum(design @ found, 1e-8)


def staggered_effect(
    shares: npt.ArrayLike,
    starts: npt.ArrayLike,
    people: npt.ArrayLike,
    rng: np.random.Generator,
    *,
    paths: np.ndarray | None = None,
) -> StaggeredEffect:
    """Return the imputation estimate with a randomisation test over adoption paths.

    The statistic is the estimate over ``sqrt(sum_g h_g v_g)``, h the sum of squared weights of the place a
    team stands at and v the team's own scatter: raw estimates would let small teams reject too often. The
    interval holds the constant effects that the test does not reject at 5 %.

    Parameters
    ----------
    shares : array_like, shape (teams, periods)
        Share of answers with discomfort; every cell known.
    starts : array_like of int, shape (teams,)
        First period after the start; `NEVER` for teams that do not start.
    people : array_like, shape (teams,)
        People of each team.
    rng : numpy.random.Generator
        Source of reassignments.
    paths : numpy.ndarray, optional
        Reassignments, see `draw_paths`.

    Returns
    -------
    StaggeredEffect
        Effect, interval, p.

    Raises
    ------
    ValueError
        If a cell is unknown or no cell can be imputed.
    """
    y = np.asarray(shares, float)
    if not np.isfinite(y).all():
        raise ValueError("a team has a period without answers")
    start = np.asarray(starts, int)
    weights = imputation_weights(start, y.shape[1])
    ways = draw_paths(start, rng) if paths is None else paths
    spread = _spread(weights, team_variance(y, start, people), ways)
    done = (start[:, None] != NEVER) & (np.arange(y.shape[1]) >= start[:, None])
    a, b = _placed(weights, y, ways), _placed(weights, done.astype(float), ways)
    number = count_paths(start)

    def p_of(effect: float) -> float:
        size = np.abs(a - effect * b) / spread
        return float((size >= size[0] * (1 - 1e-9)).mean())

    low, high = (_limit(p_of, float(a[0]), sign * float(spread[0])) for sign in (-1, 1))
    return StaggeredEffect(float(a[0]), low, high, p_of(0.0), 1 / number if number > 1 else 1.0, number)


def event_study(
    shares: npt.ArrayLike,
    starts: npt.ArrayLike,
    people: npt.ArrayLike,
    rng: np.random.Generator,
    *,
    before: int = 4,
    after: int = 4,
) -> EventStudy:
    """Return effects by periods since the start and a joint test of the periods before it.

    Parameters
    ----------
    shares, starts, people
        As for `staggered_effect`.
    rng : numpy.random.Generator
        Source of reassignments.
    before, after : int
        Periods shown before and after the start.

    Returns
    -------
    EventStudy
        Absence of a trend before is no proof of parallel trends: `trend_seen` says what could have been seen.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    ways, variance = draw_paths(start, rng), team_variance(shares, starts, people)
    kept: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    for event in range(-before, after + 1):
        weights = event_weights(start, y.shape[1], event)
        if event != -1 and weights is not None:
            kept[event] = (_placed(weights, y, ways), _spread(weights, variance, ways))
    effect = np.array([a[0] for a, _ in kept.values()])
    half = np.array([np.quantile(np.abs(a / s), 0.95) * s[0] for a, s in kept.values()])
    early = [event for event in kept if event < -1]
    trend_p = seen = None
    if early:
        size = sum((kept[event][0] / kept[event][1]) ** 2 for event in early)
        trend_p = float((size >= size[0] * (1 - 1e-9)).mean())
        # 80 % power needs 1.43 times the distance of the 5 % limit: (1.96 + 0.84) / 1.96.
        place = early[0]
        seen = float(1.43 * half[[*kept].index(place)] / abs(place + 1))
    return EventStudy(tuple(kept), effect, effect - half, effect + half, trend_p, seen)


def leave_one_team_out(shares: npt.ArrayLike, starts: npt.ArrayLike) -> np.ndarray:
    """Return the imputation estimate without each team in turn.

    Parameters
    ----------
    shares, starts
        As for `staggered_effect`.

    Returns
    -------
    numpy.ndarray, shape (teams,)
        NaN where nothing could be imputed without that team.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    found = np.full(len(start), np.nan)
    for team in range(len(start)):
        kept = np.delete(start, team)
        try:
            weights = imputation_weights(kept, y.shape[1])
        except ValueError:
            continue
        found[team] = (weights * np.delete(y, team, 0)).sum()
    return found


def placebo_date(
    shares: npt.ArrayLike,
    starts: npt.ArrayLike,
    people: npt.ArrayLike,
    rng: np.random.Generator,
    earlier: int,
) -> StaggeredEffect | None:
    """Return the effect of pretended starts some periods too early, cells after the true starts left out.

    Parameters
    ----------
    shares, starts, people, rng
        As for `staggered_effect`.
    earlier : int
        Periods by which the starts are moved.

    Returns
    -------
    StaggeredEffect or None
        Nothing should be found; None where too few periods lie before the earliest start.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    first = int(start[start != NEVER].min())
    if first - earlier < 2:
        return None
    # Up to the earliest start nobody is treated, so these periods carry the pretence for all teams.
    pretended = np.where(start == NEVER, NEVER, first - earlier)
    return staggered_effect(y[:, :first], pretended, people, rng)


def _placed(weights: np.ndarray, y: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Return the estimate of every reassignment: entry (i, j) is team j standing at place i."""
    cross = weights @ y.T
    return cross[np.arange(len(weights)), ways].sum(1)


def _spread(weights: np.ndarray, variance: np.ndarray, ways: np.ndarray) -> np.ndarray:
    return np.sqrt(((weights**2).sum(1) * variance[ways]).sum(1))


def _limit(p_of: Callable[[float], float], centre: float, step: float) -> float:
    inside, outside = centre, centre + step
    for _ in range(12):
        if p_of(outside) <= 0.05:
            break
        inside, outside = outside, centre + 2 * (outside - centre)
    else:
        return float(np.copysign(np.inf, step))
    for _ in range(_BISECTIONS):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if p_of(middle) > 0.05 else (inside, middle)
    return outside
