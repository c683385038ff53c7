"""One interrupted series: a step at a known month, with errors that hang together from month to month.

Ordinary least squares and Newey-West errors reject far too often on 36 months. Here the autocorrelation is
found by restricted maximum likelihood, and p and interval by drawing series from the fit.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.ar1 import ar1_reml, draw_ar1

LEAST_EACH_SIDE = 12
"""Fewer months on either side are described without a p value."""

SEASON_FROM = 24
"""From this many months on one yearly harmonic is fitted."""

DRAWN = 999
_RHOS = (-0.4, -0.1, 0.2, 0.4, 0.6, 0.75, 0.85, 0.95)
_BISECTIONS = 16


@dataclass(frozen=True)
class SeriesEffect:
    """Step of one series at the start; below 0 is less discomfort.

    Attributes
    ----------
    effect, low, high : float
        Step and 95 % interval, in the unit of the series.
    p : float
        Two-sided p of the parametric bootstrap.
    rho : float
        Autocorrelation.
    months : tuple of int
        Months before and after.
    drawn : int
        Series drawn.
    """

    effect: float
    low: float
    high: float
    p: float
    rho: float
    months: tuple[int, int]
    drawn: int


def segmented_design(
    months: int, start: int, *, harmonics: int = 0, trend: bool = False, slope: bool = False
) -> np.ndarray:
    """Return the design of an interrupted series; column 1 is the step.

    Parameters
    ----------
    months, start : int
        Length, and first month after the change.
    harmonics : int
        Yearly harmonics, two columns each.
    trend, slope : bool
        A trend throughout, and a change of it at the start; only if declared before.

    Returns
    -------
    numpy.ndarray, shape (months, p)
        Constant, step, then trend, slope and season where asked for.
    """
    time = np.arange(months, dtype=float)
    columns = [np.ones(months), (time >= start).astype(float)]
    if trend:
        columns.append((time - months / 2) / 12)
    if slope:
        columns.append(np.maximum(time - start, 0.0) / 12)
    for k in range(1, harmonics + 1):
        columns += [np.sin(2 * np.pi * k * time / 12), np.cos(2 * np.pi * k * time / 12)]
    return np.stack(columns, 1)


@dataclass(frozen=True)
class StepDraws:
    """Sizes of t of one column when nothing happened, by autocorrelation.

    Attributes
    ----------
    design : numpy.ndarray, shape (months, p)
        Regressors.
    place : int
        Column judged.
    size : numpy.ndarray, shape (values of rho, drawn)
        Absolute t values, rising, for each of the values of rho in turn.
    """

    design: np.ndarray
    place: int
    size: np.ndarray

    def p(self, t: npt.ArrayLike, rho: npt.ArrayLike) -> np.ndarray:
        """Return the share of drawn series with a t as large, interpolated between values of rho.

        Parameters
        ----------
        t, rho : array_like, shape (series,)
            t values, and the autocorrelation fitted without the step.

        Returns
        -------
        numpy.ndarray, shape (series,)
            Two-sided p, ``(1 + larger) / (1 + drawn)``.
        """
        drawn = self.size.shape[1]
        value = np.atleast_1d(np.abs(np.asarray(t, float)))
        each = [(1 + drawn - np.searchsorted(row, value)) / (1 + drawn) for row in self.size]
        place = np.clip(np.interp(np.atleast_1d(rho), _RHOS, range(len(_RHOS))), 0, len(_RHOS) - 1)
        below = np.minimum(place.astype(int), len(_RHOS) - 2)
        table, series = np.array(each), np.arange(len(value))
        share = place - below
        return (1 - share) * table[below, series] + share * table[below + 1, series]

    def limit(self, rho: float) -> float:
        """Return the 95 % point of the size of t at an autocorrelation."""
        return float(np.interp(rho, _RHOS, np.quantile(self.size, 0.95, axis=1)))


def draw_steps(
    design: npt.ArrayLike, rng: np.random.Generator, *, place: int = 1, drawn: int = DRAWN
) -> StepDraws:
    """Draw series without a step and fit one: a parametric bootstrap for each of several autocorrelations.

    t depends on the errors' autocorrelation only, not on the other coefficients or the variance, so one set
    of draws serves every series of the same design.

    Parameters
    ----------
    design : array_like, shape (months, p)
        Regressors.
    rng : numpy.random.Generator
        Source of chance.
    place : int
        Column judged.
    drawn : int
        Series for each value of rho.

    Returns
    -------
    StepDraws
        The sizes of t.
    """
    x = np.asarray(design, float)
    sizes = []
    for rho in _RHOS:
        found = ar1_reml(draw_ar1(rng, rho, 1.0, len(x), drawn), x)
        sizes.append(np.sort(np.abs(found.coefficient[:, place] / found.error[:, place])))
    return StepDraws(x, place, np.array(sizes))


def interrupted_series(series: npt.ArrayLike, start: int, draws: StepDraws) -> SeriesEffect:
    """Return the step with p and interval from drawn series.

    p is read at the autocorrelation fitted without the step; the interval holds the steps d that would not
    be rejected, ``|b - d| / SE <= c(rho(d))``, rho(d) fitted with the step held at d.

    Parameters
    ----------
    series : array_like, shape (months,)
        Outcome.
    start : int
        First month after the change.
    draws : StepDraws
        Drawn series of the design.

    Returns
    -------
    SeriesEffect
        The step.

    Raises
    ------
    ValueError
        If fewer than twelve months lie on either side, or a month is unknown.
    """
    y, x, place = np.asarray(series, float), draws.design, draws.place
    before, after = start, len(y) - start
    if min(before, after) < LEAST_EACH_SIDE:
        raise ValueError(f"{before} months before and {after} after, fewer than {LEAST_EACH_SIDE} on a side")
    if not np.isfinite(y).all():
        raise ValueError("a month of the series is unknown")
    fit = ar1_reml(y, x)
    b, se = float(fit.coefficient[0, place]), float(fit.error[0, place])
    rest = np.delete(x, place, 1)
    p = draws.p(b / se, ar1_reml(y, rest).rho)[0]

    def kept(step: float) -> bool:
        rho = ar1_reml(y - step * x[:, place], rest).rho[0]
        return abs(b - step) <= se * draws.limit(rho)

    low, high = (_furthest(kept, b, sign * 2 * se) for sign in (-1, 1))
    return SeriesEffect(b, low, high, float(p), float(fit.rho[0]), (before, after), draws.size.shape[1])


def _furthest(kept: Callable[[float], bool], centre: float, step: float) -> float:
    inside, outside = centre, centre + step
    while kept(outside):
        inside, outside = outside, centre + 2 * (outside - centre)
    for _ in range(_BISECTIONS):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if kept(middle) else (inside, middle)
    return outside
