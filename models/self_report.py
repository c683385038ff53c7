"""How far self-reported hours can be trusted, and what noise in them does to an effect.

Random error in hours flattens an effect: it is multiplied by the reliability. Two reports of the same time,
or reports beside a log, tell how much; without either, only a band of assumed reliabilities can be given.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import f as f_distribution
from scipy.stats import t as t_distribution

from models.sourced import Sourced, measured

LEAST_PEOPLE = 10
"""People below whom nothing is said: the limits would hold anything."""

ASSUMED = (
    Sourced(0.5, "share", "no study of pipetting hours could be read", "assumed"),
    Sourced(0.9, "share", "no study of pipetting hours could be read", "assumed"),
)
"""Reliabilities between which the truth is taken to lie where nobody has measured it."""


@dataclass(frozen=True)
class Reliability:
    """How much of the spread of self-reported hours is true.

    Attributes
    ----------
    way : str
        ``log beside report``, ``two reports`` or ``assumed``.
    people : int
        People it rests on; 0 where assumed.
    value, low, high : float
        Share of the spread that is true (reliability, calibration slope), and 95 % limits; of an assumed band
        the middle and its ends.
    bias : float
        Mean report less mean log, hours a week; NaN without a log.
    """

    way: str
    people: int
    value: float
    low: float
    high: float
    bias: float = float("nan")


@dataclass(frozen=True)
class Calibrated:
    """An effect freed from the noise in the exposure.

    Attributes
    ----------
    effect, low, high : float
        On the scale of the effect handed in.
    """

    effect: float
    low: float
    high: float


def reliability_of_two(first: ArrayLike, second: ArrayLike, *, level: float = 0.95) -> Reliability | None:
    """Return the reliability of one report from two reports of the same time by the same people.

    Intraclass correlation ``(MSB - MSW) / (MSB + MSW)`` with exact limits from F (one-way random effects;
    Shrout PE, Fleiss JL 1979, Psychol Bull 86:420-428, case 1). Status: published (quoted).

    Parameters
    ----------
    first, second : array_like, shape (people,)
        Hours a week; people with a missing report are left out.
    level : float
        Confidence level.

    Returns
    -------
    Reliability or None
        None for fewer than `LEAST_PEOPLE` people or where all report the same.

    Raises
    ------
    ValueError
        If the arrays differ in length or a value lies outside 0 to 168.
    """
    a, b = _pairs(first, second)
    n = len(a)
    if n < LEAST_PEOPLE:
        return None
    within = float(((a - b) ** 2).sum() / (2 * n))
    between = float(2 * np.var((a + b) / 2, ddof=1))
    if within + between <= 0:
        return None
    ratio = between / within if within > 0 else float("inf")
    tail = (1 - level) / 2
    low, high = (
        ratio / f_distribution.ppf(1 - tail, n - 1, n), ratio * f_distribution.ppf(1 - tail, n, n - 1)
    )  # fmt: skip
    value, least, most = (_icc(x) for x in (ratio, float(low), float(high)))
    return Reliability("two reports", n, value, least, most)


def calibration(reported: ArrayLike, logged: ArrayLike, *, level: float = 0.95) -> Reliability | None:
    """Return the calibration slope of a log on reports: the line that turns a report into expected hours.

    Least squares of logged on reported hours over people; the slope multiplies an effect estimated with
    reports (regression calibration: Rosner B, Willett WC, Spiegelman D 1989, Stat Med 8:1051-1069). It holds
    if the log is right on average, whatever its own noise, and if errors do not depend on discomfort. Status:
    published (quoted).

    Parameters
    ----------
    reported, logged : array_like, shape (people,)
        Hours a week of the same people over the same time; people with either missing are left out.
    level : float
        Confidence level.

    Returns
    -------
    Reliability or None
        None for fewer than `LEAST_PEOPLE` people or where all report the same.

    Raises
    ------
    ValueError
        If the arrays differ in length or a value lies outside 0 to 168.
    """
    x, y = _pairs(reported, logged)
    n = len(x)
    spread = float(((x - x.mean()) ** 2).sum()) if n else 0.0
    if n < LEAST_PEOPLE or spread <= 0:
        return None
    slope = float(((x - x.mean()) * (y - y.mean())).sum()) / spread
    residual = y - y.mean() - slope * (x - x.mean())
    # Errors of reports grow with the hours, so the residuals do; the sandwich form (HC3) allows for it.
    leverage = 1 / n + (x - x.mean()) ** 2 / spread
    error = float(np.sqrt((((x - x.mean()) * residual / (1 - leverage)) ** 2).sum())) / spread
    half = float(t_distribution.ppf(0.5 + level / 2, n - 2)) * error
    return Reliability("log beside report", n, slope, slope - half, slope + half, float((x - y).mean()))


def assumed_reliability(band: tuple[Sourced, Sourced] = ASSUMED) -> Reliability:
    """Return the band of reliabilities to reckon with where nobody has measured one.

    Parameters
    ----------
    band : tuple of Sourced
        Its ends.

    Returns
    -------
    Reliability
        Of nobody: an assumption, named as such.
    """
    low, high = (end.value for end in band)
    return Reliability("assumed", 0, (low + high) / 2, low, high)


def calibrated(effect: float, error: float, found: Reliability, *, level: float = 0.95) -> Calibrated | None:
    """Return an effect per unit of true hours from one per unit of reported hours.

    ``effect / slope``, its variance ``(error^2 + effect^2 error_s^2 / slope^2) / slope^2`` (delta method;
    Rosner, Willett & Spiegelman 1989). For an assumed reliability the limits are the widest over its band.
    Status: published (quoted).

    Parameters
    ----------
    effect, error : float
        Effect on an additive scale (log of a ratio, or points) and its standard error.
    found : Reliability
        From one of the functions above.
    level : float
        Confidence level.

    Returns
    -------
    Calibrated or None
        None where the reliability may be zero: then nothing can be said.

    Raises
    ------
    ValueError
        If the error is negative.
    """
    spread = float(measured("standard error", error, low=0.0, high=1e6, remedy="Give a standard error."))
    if not found.low > 0:
        return None
    z = float(t_distribution.ppf(0.5 + level / 2, 1e9))
    if found.way == "assumed":
        ends = [(effect + sign * z * spread) / share for sign in (-1, 1) for share in (found.low, found.high)]
        return Calibrated(effect / found.value, min(ends), max(ends))
    of_slope = (found.high - found.low) / (2 * z)
    value = effect / found.value
    half = z * float(np.hypot(spread, effect * of_slope / found.value)) / found.value
    return Calibrated(value, value - half, value + half)


def _icc(ratio: float) -> float:
    return 1.0 if np.isinf(ratio) else float((ratio - 1) / (ratio + 1))


def _pairs(first: ArrayLike, second: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    bound = {"low": 0.0, "high": 168.0, "remedy": "Give hours a week."}
    a = np.atleast_1d(measured("hours a week", first, **bound))
    b = np.atleast_1d(measured("hours a week", second, **bound))
    if a.shape != b.shape or a.ndim != 1:
        raise ValueError(f"shapes {a.shape} and {b.shape} differ. Give two values a person.")
    known = ~(np.isnan(a) | np.isnan(b))
    return a[known], b[known]
