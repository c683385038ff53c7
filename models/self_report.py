"""How far self-reported hours can be trusted, and what noise in them does to an effect.

Random error in hours flattens an effect: it is multiplied by the reliability, which `models.driver_error`
undoes. Two reports of the same time, or reports beside a log, tell how much; without either, only a band of
assumed reliabilities can be given.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import t as t_distribution

from models.driver_error import reliability_of
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


def reliability_of_two(first: ArrayLike, second: ArrayLike) -> Reliability | None:
    """Return the reliability of one report from two reports of the same time by the same people.

    Intraclass correlation with exact limits; see `models.driver_error.reliability_of`.

    Parameters
    ----------
    first, second : array_like, shape (people,)
        Hours a week; people with a missing report are left out.

    Returns
    -------
    Reliability or None
        None for fewer than `LEAST_PEOPLE` people or where all report the same.

    Raises
    ------
    ValueError
        If the arrays differ in length or a value lies outside 0 to 168.
    """
    pairs = np.column_stack(_pairs(first, second))
    if len(pairs) < LEAST_PEOPLE or np.ptp(pairs.mean(axis=1)) == 0:
        return None
    found = reliability_of(pairs)
    return Reliability("two reports", found.people, found.value, found.low, found.high)


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


def _pairs(first: ArrayLike, second: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    bound = {"low": 0.0, "high": 168.0, "remedy": "Give hours a week."}
    a = np.atleast_1d(measured("hours a week", first, **bound))
    b = np.atleast_1d(measured("hours a week", second, **bound))
    if a.shape != b.shape or a.ndim != 1:
        raise ValueError(f"shapes {a.shape} and {b.shape} differ. Give two values a person.")
    known = ~(np.isnan(a) | np.isnan(b))
    return a[known], b[known]
