"""Rates of recorded cases per hours worked, with exact intervals."""

from dataclasses import dataclass

from scipy.special import chdtri

HOURS_OF_100_FULL_TIME_YEARS = 200_000.0
"""100 people x 40 h x 50 weeks: the usual denominator of occupational incidence rates."""


@dataclass(frozen=True)
class Rate:
    """A rate with its interval.

    Attributes
    ----------
    value, low, high : float
        Cases per `per` hours.
    per : float
        Hours the rate refers to.
    """

    value: float
    low: float
    high: float
    per: float


def garwood(count: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact interval of a Poisson mean.

    ``chi2(a/2; 2c)/2`` to ``chi2(1-a/2; 2c+2)/2``, lower end 0 for no case; Garwood 1936, Biometrika 28:437.

    Parameters
    ----------
    count : int
        Cases, zero or more.
    level : float
        Confidence level.

    Returns
    -------
    tuple of float
        Lower and upper limit of the expected number of cases.

    Raises
    ------
    ValueError
        If the count is negative or the level lies outside (0, 1).
    """
    if count < 0:
        raise ValueError(f"a count cannot be negative: {count}")
    if not 0 < level < 1:
        raise ValueError(f"confidence level {level} outside (0, 1)")
    tail = (1 - level) / 2
    # chdtri takes the upper tail of the chi-square distribution.
    low = 0.0 if count == 0 else float(chdtri(2 * count, 1 - tail)) / 2
    return low, float(chdtri(2 * count + 2, tail)) / 2


def rate(
    count: int,
    hours: float,
    *,
    least: int | None = None,
    most: int | None = None,
    per: float = HOURS_OF_100_FULL_TIME_YEARS,
    level: float = 0.95,
) -> Rate | None:
    """Return a rate per hours worked with its exact interval.

    Parameters
    ----------
    count : int
        Cases.
    hours : float
        Hours worked.
    least, most : int, optional
        Smallest and largest true count behind a rounded one; the interval spans both.
    per : float
        Hours the rate refers to.
    level : float
        Confidence level.

    Returns
    -------
    Rate or None
        None where no hours were worked.
    """
    if hours <= 0:
        return None
    low = garwood(count if least is None else least, level)[0]
    high = garwood(count if most is None else most, level)[1]
    return Rate(count * per / hours, low * per / hours, high * per / hours, per)
