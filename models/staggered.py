"""Effect of a change that reached teams one after another, judged by giving their starts to other teams."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from models.adoption import imputation_weights, treated_cells, untreated_residuals
from models.paths import count_paths, draw_paths

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
    scale = spread(weights, team_variance(y, start, people), ways)
    done = treated_cells(start, y.shape[1])
    a, b = placed(weights, y, ways), placed(weights, done.astype(float), ways)
    number = count_paths(start)

    def p_of(effect: float) -> float:
        size = np.abs(a - effect * b) / scale
        return float((size >= size[0] * (1 - 1e-9)).mean())

    low, high = (_limit(p_of, float(a[0]), sign * float(scale[0])) for sign in (-1, 1))
    return StaggeredEffect(float(a[0]), low, high, p_of(0.0), 1 / number if number > 1 else 1.0, number)


def placed(weights: np.ndarray, y: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Return the estimate of every reassignment.

    Parameters
    ----------
    weights : ndarray of float, shape (G, T)
        Weight of each place and month in the estimate.
    y : ndarray of float, shape (G, T)
        Outcomes of the teams.
    ways : ndarray of int, shape (W, G)
        Reassignments: the team standing at each place.

    Returns
    -------
    ndarray of float, shape (W,)
        Estimates; entry (i, j) of the table they are summed from is team j standing at place i.
    """
    cross = weights @ y.T
    return cross[np.arange(len(weights)), ways].sum(1)


def spread(weights: np.ndarray, variance: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Return the scale of the estimate of every reassignment, ``sqrt(sum_g h_g v_g)``.

    Parameters
    ----------
    weights : ndarray of float, shape (G, T)
        Weight of each place and month in the estimate.
    variance : ndarray of float, shape (G,)
        Variance of each team.
    ways : ndarray of int, shape (W, G)
        Reassignments: the team standing at each place.

    Returns
    -------
    ndarray of float, shape (W,)
        Scales.
    """
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
