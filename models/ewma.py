"""Exponentially weighted averages: the smooth line beside the points."""

import numpy as np
import numpy.typing as npt

EWMA_WEIGHT = 0.25
"""Weight of the newest period in the drawn line."""


def ewma(values: npt.ArrayLike, start: npt.ArrayLike, weight: float = EWMA_WEIGHT) -> np.ndarray:
    """Return exponentially weighted averages along the last axis; a missing value keeps the one before.

    ``z_t = w x_t + (1-w) z_(t-1)``; Roberts 1959, Technometrics 1:239.

    Parameters
    ----------
    values : array_like, shape (..., periods)
        Values; NaN where there is none.
    start : array_like, shape (...)
        Value before the first period.
    weight : float
        Weight of the newest value, in (0, 1].

    Returns
    -------
    numpy.ndarray
        Same shape as `values`, never NaN where `start` is not.
    """
    x = np.asarray(values, dtype=float)
    state = np.broadcast_to(np.asarray(start, dtype=float), x.shape[:-1]).copy()
    out = np.empty_like(x)
    for period in range(x.shape[-1]):
        fresh = x[..., period]
        state = np.where(np.isnan(fresh), state, weight * np.nan_to_num(fresh) + (1 - weight) * state)
        out[..., period] = state
    return out


def ewma_limits(target: float, sigma: float, weight: float, width: float = 3.0) -> tuple[float, float]:
    """Return the steady limits of an exponentially weighted average.

    ``target -+ width * sigma * sqrt(weight / (2 - weight))``; Lucas and Saccucci 1990, Technometrics 32:1.

    Parameters
    ----------
    target, sigma : float
        Level in control and standard deviation of one value.
    weight, width : float
        Weight of the newest value, and width in standard errors.

    Returns
    -------
    tuple of float
        Lower and upper limit.
    """
    half = width * sigma * float(np.sqrt(weight / (2 - weight)))
    return target - half, target + half
