"""What a roll-out step by step can find: its own randomisation test, run on drawn worlds."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from models.adoption import imputation_weights
from models.change_world import Ground, draw_worlds
from models.paths import count_paths, draw_paths
from models.planning_grid import DRAWN_FALLS, POWER, Drawn, Reach
from models.staggered import spread, team_variance

EVERY = 3
"""Months in a period: in a quarter even a small team answers."""

PATHS = 499


def stepped_reach(
    sizes: npt.ArrayLike,
    starts: Sequence[int],
    months: int,
    ground: Ground,
    asked: float,
    rng: np.random.Generator,
    worlds: int = 200,
) -> Drawn:
    """Return the reach of a roll-out that reaches teams one after another, judged by the orders possible.

    Worlds are drawn under falls of several sizes and judged as a stepped change would be: imputation from
    quarters before any start, p as the share of orders with a statistic as large. The fall found with 80 %
    power is interpolated between those drawn.

    Parameters
    ----------
    sizes : array_like of int, shape (teams,)
        People of each team.
    starts : sequence of int
        Month of each team's start, counted from the first month.
    months : int
        Months in all.
    ground : Ground
        How the site's answers hang together.
    asked : float
        Fall of the share asked about, more than 0.
    rng : numpy.random.Generator
        Source of chance.
    worlds : int
        Worlds drawn.

    Returns
    -------
    Drawn
        `reach.changed` are the teams started, `reach.months` the months after the last start.
    """
    begin = np.asarray(starts, int)
    since = (np.arange(months) >= begin[:, None]).astype(float)
    falls = np.unique([0.0, asked, *(share * ground.prevalence for share in DRAWN_FALLS)])
    drawn = draw_worlds(rng, sizes, months, ground, effects=[-fall * since for fall in falls], worlds=worlds)
    first = -(-begin // EVERY)
    periods = months // EVERY
    weights = imputation_weights(first, periods)
    ways = draw_paths(first, rng, PATHS)
    found, own = [], np.zeros(0)
    for fall, world in zip(falls, drawn, strict=True):
        shares, _ = world.cells(EVERY)
        shares = np.where(np.isnan(shares), np.nanmean(shares), shares)
        estimates, p = _judged(shares, first, np.asarray(sizes), weights, ways)
        found.append((p <= 0.05) & (estimates < 0))
        own = estimates if fall == asked else own
    share = np.mean(found, axis=1)
    power = float(share[int(np.searchsorted(falls, asked))])
    effect = _reached(falls, share)
    off = float(np.sqrt(POWER * (1 - POWER) / worlds))
    ends = (_reached(falls, share + off), _reached(falls, share - off))
    low, high = np.quantile(own, [0.025, 0.975])
    paths = count_paths(begin)
    reach = Reach(
        len(begin), 0, months - int(begin.max()), effect, (ends[1] - ends[0]) / 2 if np.isfinite(ends[1])
        else float("inf"), power, float(np.sqrt(max(power * (1 - power), 1 / worlds) / worlds)), 1 / paths,
    )  # fmt: skip
    return Drawn(reach, float(low), float(high), worlds)


def _judged(
    shares: np.ndarray, first: np.ndarray, sizes: np.ndarray, weights: np.ndarray, ways: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return the estimate and the randomisation p of each world."""
    place = np.arange(len(weights))
    estimates, p = np.empty(len(shares)), np.empty(len(shares))
    for k, world in enumerate(shares):
        placed = (weights @ world.T)[place, ways].sum(1)
        size = np.abs(placed) / spread(weights, team_variance(world, first, sizes), ways)
        estimates[k], p[k] = placed[0], (size >= size[0] * (1 - 1e-9)).mean()
    return estimates, p


def _reached(falls: np.ndarray, share: np.ndarray) -> float:
    """Return the smallest fall with the power wanted, between those drawn; infinite beyond the largest."""
    enough = np.flatnonzero(share >= POWER)
    if not len(enough):
        return float("inf")
    k = int(enough[0])
    if k == 0:
        return float(falls[0])
    part = (POWER - share[k - 1]) / (share[k] - share[k - 1])
    return float(falls[k - 1] + part * (falls[k] - falls[k - 1]))
