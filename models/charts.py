"""Control charts as pictures: limits of shares and of counts per unit, and the tabular CUSUM.

They show what chance alone would do around a centre; a flag is decided by `models.flags`, not here.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import binom

MOVING_RANGE_MEAN = 1.128
"""Mean range of two standard normal values."""


@dataclass(frozen=True)
class Chart:
    """Limits of a chart, arrays of shape (periods,).

    Attributes
    ----------
    centre : float
        Centre line.
    low, high : numpy.ndarray
        Limits of each period.
    outside : numpy.ndarray of bool
        Values beyond them.
    """

    centre: float
    low: np.ndarray
    high: np.ndarray
    outside: np.ndarray


def share_chart(
    cases: npt.ArrayLike,
    n: npt.ArrayLike,
    *,
    sigmas: float = 3.0,
    prime: bool = False,
    centre: float | None = None,
) -> Chart:
    """Return the p-chart of shares, or Laney's p'-chart.

    ``p -+ sigmas * sqrt(p(1-p)/n)``; p' multiplies by ``sigma_z = mean|z_t - z_(t-1)| / 1.128``, at least 1
    (Laney 2002, Qual Eng 14:531).

    Parameters
    ----------
    cases, n : array_like, shape (periods,)
        Cases and answers, every n above 0.
    sigmas : float
        Width in standard errors.
    prime : bool
        Widen by the spread between periods.
    centre : float, optional
        Centre from elsewhere; by default the pooled share.

    Returns
    -------
    Chart
        Centre, limits and which periods lie outside.
    """
    x, size = np.asarray(cases, dtype=float), np.asarray(n, dtype=float)
    p = float(x.sum() / size.sum()) if centre is None else centre
    error = np.sqrt(p * (1 - p) / size)
    if prime and p * (1 - p) > 0 and len(x) > 1:
        z = (x / size - p) / error
        error = error * max(1.0, float(np.abs(np.diff(z)).mean()) / MOVING_RANGE_MEAN)
    low, high = np.clip(p - sigmas * error, 0, 1), np.clip(p + sigmas * error, 0, 1)
    share = x / size
    return Chart(p, low, high, (share < low - 1e-12) | (share > high + 1e-12))


def exact_share_limits(
    centre: float, n: npt.ArrayLike, tail: float = 0.00135
) -> tuple[np.ndarray, np.ndarray]:
    """Return limits of a share from exact binomial tails; small teams need them.

    Parameters
    ----------
    centre : float
        Share in control.
    n : array_like of int
        Answers.
    tail : float
        Probability beyond either limit; 0.00135 is that of three standard errors.

    Returns
    -------
    tuple of numpy.ndarray
        Smallest and largest share that are not outside; the whole range where nobody answered.
    """
    size = np.asarray(n, dtype=int)
    some = np.maximum(size, 1)
    low, high = binom.ppf(tail, some, centre) / some, binom.ppf(1 - tail, some, centre) / some
    return np.where(size > 0, np.maximum(low, 0.0), 0.0), np.where(size > 0, high, 1.0)


def rate_chart(events: npt.ArrayLike, size: npt.ArrayLike, *, sigmas: float = 3.0) -> Chart:
    """Return the u-chart of events per unit of size; with all sizes 1 it is the c-chart.

    ``u -+ sigmas * sqrt(u/size)``, lower limit at least 0.

    Parameters
    ----------
    events, size : array_like, shape (periods,)
        Events, and hours, people or other size, above 0.
    sigmas : float
        Width in standard errors.

    Returns
    -------
    Chart
        Centre, limits and which periods lie outside.
    """
    x, units = np.asarray(events, dtype=float), np.asarray(size, dtype=float)
    u = float(x.sum() / units.sum())
    error = np.sqrt(u / units)
    low, high = np.maximum(0.0, u - sigmas * error), u + sigmas * error
    value = x / units
    return Chart(u, low, high, (value < low) | (value > high))


def tabular_cusum(values: npt.ArrayLike, target: float, slack: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the upper and lower sums of Page's CUSUM.

    ``C+ = max(0, C+ + x - target - slack)``, ``C- = max(0, C- + target - slack - x)``; Page 1954,
    Biometrika 41:100.

    Parameters
    ----------
    values : array_like, shape (periods,)
        Values.
    target, slack : float
        Level in control, and what is let pass each time, in the unit of the values.

    Returns
    -------
    tuple of numpy.ndarray
        Upper and lower sums, shape (periods,).
    """
    x = np.asarray(values, dtype=float)
    up, down = np.zeros(len(x)), np.zeros(len(x))
    high = low = 0.0
    for period, value in enumerate(x):
        high, low = max(0.0, high + value - target - slack), max(0.0, low + target - slack - value)
        up[period], down[period] = high, low
    return up, down
