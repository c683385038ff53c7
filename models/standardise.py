"""Rates made comparable for age or role: direct with gamma or Dobson limits, indirect with exact limits."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import gamma

from models.counts import TOO_FEW, count_limits
from models.rates import garwood

LEAST_EVENTS = 10
"""Fewer events than this give no directly standardised rate (Public Health England's rule)."""

EMPTY_BAND = "a band without people cannot be standardised"


@dataclass(frozen=True)
class Standardised:
    """A standardised rate or ratio.

    Attributes
    ----------
    value, low, high : float or None
        Rate or ratio with its interval; None where `reason` says why.
    crude : float or None
        Events per unit of person-time without standardising; for a ratio None.
    events : int
        Events it rests on.
    reason : str or None
        Why nothing is shown.
    """

    value: float | None
    low: float | None
    high: float | None
    crude: float | None
    events: int
    reason: str | None = None


def direct(
    events: npt.ArrayLike,
    person_time: npt.ArrayLike,
    standard: npt.ArrayLike,
    *,
    limits: str = "fay-feuer",
    least_events: int = LEAST_EVENTS,
    level: float = 0.95,
) -> Standardised:
    """Return a directly standardised rate.

    ``sum w x/t`` with ``w = standard / sum(standard)`` and variance ``sum w**2 x/t**2``. Fay-Feuer: gamma
    limits with the largest weight added to the upper one (Fay and Feuer 1997, Stat Med 16:791). Dobson: the
    limits of the crude count moved by ``sqrt(v_rate/v_count)`` (Dobson and others 1991, Stat Med 10:457).

    Parameters
    ----------
    events, person_time : array_like, shape (bands,)
        Events, and people or person-time, of each band.
    standard : array_like, shape (bands,)
        Standard population; here the whole workforce at a fixed date.
    limits : str
        ``fay-feuer`` or ``dobson``.
    least_events : int
        Events below which nothing is shown; the indirect ratio is for those.
    level : float
        Confidence level.

    Returns
    -------
    Standardised
        Per unit of `person_time`.

    Raises
    ------
    ValueError
        If shapes differ, a value is negative, or `limits` is unknown.
    """
    x, t, w = (np.asarray(v, dtype=float) for v in (events, person_time, standard))
    if not x.shape == t.shape == w.shape or min(x.min(initial=0), t.min(initial=0), w.min(initial=0)) < 0:
        raise ValueError("events, person-time and standard need the same shape and no negative value")
    if limits not in ("fay-feuer", "dobson"):
        raise ValueError(f"unknown limits {limits!r}")
    total = int(x.sum())
    crude = float(total / t.sum()) if t.sum() > 0 else None
    if total < least_events:
        return Standardised(None, None, None, crude, total, TOO_FEW)
    if ((t <= 0) & (w > 0)).any():
        return Standardised(None, None, None, crude, total, EMPTY_BAND)
    share = np.divide(w / w.sum(), t, out=np.zeros_like(t), where=t > 0)
    rate, variance = float(share @ x), float(share**2 @ x)
    if limits == "dobson":
        below, above = count_limits(total, level)
        scale = np.sqrt(variance / total)
        low, high = (float(rate + scale * (limit - total)) for limit in (below, above))
        return Standardised(rate, low, high, crude, total)
    tail, most = (1 - level) / 2, float(share.max())
    low = float(gamma.ppf(tail, rate**2 / variance, scale=variance / rate))
    wide = variance + most**2
    high = float(gamma.ppf(1 - tail, (rate + most) ** 2 / wide, scale=wide / (rate + most)))
    return Standardised(rate, low, high, crude, total)


def indirect(
    observed: int, person_time: npt.ArrayLike, standard_rates: npt.ArrayLike, *, level: float = 0.95
) -> Standardised:
    """Return observed over expected events with exact limits, the form for small groups.

    ``O / sum(t * rate)`` with Garwood limits of O. Two such ratios must not be compared with each other: each
    rests on its own mix of bands.

    Parameters
    ----------
    observed : int
        Events of the group.
    person_time, standard_rates : array_like, shape (bands,)
        The group's person-time, and the rates of the whole workforce.
    level : float
        Confidence level.

    Returns
    -------
    Standardised
        Ratio; ``too few answers`` where less than one event is expected.
    """
    expected = float(np.asarray(person_time, dtype=float) @ np.asarray(standard_rates, dtype=float))
    if expected < 1:
        return Standardised(None, None, None, None, observed, TOO_FEW)
    low, high = garwood(observed, level)
    return Standardised(observed / expected, low / expected, high / expected, None, observed)


@dataclass(frozen=True)
class Gap:
    """By how much a mean share moves when bands are given other weights.

    Attributes
    ----------
    value, low, high : float
        Standardised less crude share, and its 95 % interval.
    influence : float
        Most that one person's share can move it.
    people : int
        People it rests on.
    """

    value: float
    low: float
    high: float
    influence: float
    people: int


def share_gap(shares: npt.ArrayLike, band: npt.ArrayLike, standard: npt.ArrayLike) -> Gap:
    """Return the directly standardised mean of people's shares less their plain mean.

    ``sum over bands of (w_b - n_b/n) m_b``, with variance ``sum (w_b - n_b/n)**2 s_b**2 / n_b``.

    Parameters
    ----------
    shares : array_like, shape (people,)
        Each person's share, 0 to 1.
    band : array_like of int, shape (people,)
        Band of each, 0 to bands - 1.
    standard : array_like, shape (bands,)
        Standard population.

    Returns
    -------
    Gap
        The difference that the bands make.

    Raises
    ------
    ValueError
        If a band of the standard has fewer than two people.
    """
    y, b, w = np.asarray(shares, float), np.asarray(band, int), np.asarray(standard, float)
    n = np.bincount(b, minlength=len(w)).astype(float)
    if (n < 2).any() or len(n) != len(w):
        raise ValueError(EMPTY_BAND)
    mean = np.bincount(b, weights=y, minlength=len(w)) / n
    spread = (np.bincount(b, weights=y**2, minlength=len(w)) - n * mean**2) / (n - 1)
    lever = w / w.sum() - n / n.sum()
    value, error = float(lever @ mean), float(np.sqrt((lever**2 * np.maximum(spread, 0) / n).sum()))
    return Gap(value, value - 1.96 * error, value + 1.96 * error, float(np.abs(lever / n).max()), len(y))
