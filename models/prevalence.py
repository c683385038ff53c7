"""Intervals of proportions and of their differences, also for counts that were rounded at random.

Every interval is finite for every input: nobody asked gives the whole range, never a missing number.
"""

import math
from dataclasses import dataclass

from scipy.special import ndtri

from models.disclosure import ROUNDING_BASE, compatible_counts


@dataclass(frozen=True)
class Interval:
    """A closed interval.

    Attributes
    ----------
    low, high : float
        Its ends.
    """

    low: float
    high: float


def _check(count: float, n: float, level: float) -> None:
    if n < 0 or not 0 <= count <= n:
        raise ValueError(f"count {count} outside 0..{n}")
    if not 0 < level < 1:
        raise ValueError(f"confidence level {level} outside (0, 1)")


def wilson(count: float, n: float, level: float = 0.95) -> Interval:
    """Return the Wilson score interval of a proportion.

    ``(p + z2/2n +- z sqrt(p(1-p)/n + z2/4n2)) / (1 + z2/n)``; Wilson 1927, J Am Stat Assoc 22:209;
    method 3 of Newcombe 1998, Stat Med 17:857.

    Parameters
    ----------
    count : float
        People with the property.
    n : float
        People asked. Nobody asked gives (0, 1).
    level : float
        Confidence level.

    Returns
    -------
    Interval
        Proportions between 0 and 1.

    Raises
    ------
    ValueError
        If the count lies outside 0 to `n`, or the level outside (0, 1).
    """
    _check(count, n, level)
    if n == 0:
        return Interval(0.0, 1.0)
    z2 = float(ndtri(0.5 + level / 2)) ** 2
    p = count / n
    centre = p + z2 / (2 * n)
    half = math.sqrt(z2 * (p * (1 - p) / n + z2 / (4 * n * n)))
    low = 0.0 if count == 0 else (centre - half) / (1 + z2 / n)
    high = 1.0 if count == n else (centre + half) / (1 + z2 / n)
    return Interval(max(0.0, low), min(1.0, high))


def newcombe(count_1: float, n_1: float, count_0: float, n_0: float, level: float = 0.95) -> Interval:
    """Return the hybrid score interval of the difference of two independent proportions.

    ``d - sqrt((p1-l1)2 + (u0-p0)2)`` to ``d + sqrt((u1-p1)2 + (p0-l0)2)`` with Wilson limits; method 10 of
    Newcombe 1998, Stat Med 17:873.

    Parameters
    ----------
    count_1, n_1 : float
        People with the property and people asked, now.
    count_0, n_0 : float
        The same in the group compared with.
    level : float
        Confidence level.

    Returns
    -------
    Interval
        Difference of proportions, first minus second; (-1, 1) if either group is empty.

    Raises
    ------
    ValueError
        If a count lies outside 0 to its n, or the level outside (0, 1).
    """
    _check(count_1, n_1, level)
    _check(count_0, n_0, level)
    if n_1 == 0 or n_0 == 0:
        return Interval(-1.0, 1.0)
    p_1, p_0 = count_1 / n_1, count_0 / n_0
    now, then = wilson(count_1, n_1, level), wilson(count_0, n_0, level)
    low = p_1 - p_0 - math.hypot(p_1 - now.low, then.high - p_0)
    high = p_1 - p_0 + math.hypot(now.high - p_1, p_0 - then.low)
    return Interval(max(-1.0, low), min(1.0, high))


def wilson_of_rounded(published: int, n: int, base: int = ROUNDING_BASE, level: float = 0.95) -> Interval:
    """Return the Wilson interval of a randomly rounded count, widened by the rounding.

    The envelope of the intervals of all true counts compatible with the published one; it covers
    at least as often as the plain interval of the true count. Own convention.

    Parameters
    ----------
    published : int
        Rounded count.
    n : int
        People asked.
    base : int
        Rounding base.
    level : float
        Confidence level.

    Returns
    -------
    Interval
        Proportions between 0 and 1.
    """
    least, most = compatible_counts(published, n, base)
    return Interval(wilson(least, n, level).low, wilson(most, n, level).high)


def newcombe_of_rounded(
    published_1: int, n_1: int, published_0: int, n_0: int, base: int = ROUNDING_BASE, level: float = 0.95
) -> Interval:
    """Return the Newcombe interval of two randomly rounded counts, widened by the rounding.

    The envelope over all pairs of compatible true counts. Own convention.

    Parameters
    ----------
    published_1, n_1 : int
        Rounded count and people asked, now.
    published_0, n_0 : int
        The same in the group compared with.
    base : int
        Rounding base.
    level : float
        Confidence level.

    Returns
    -------
    Interval
        Difference of proportions, first minus second.
    """
    now = compatible_counts(published_1, n_1, base)
    then = compatible_counts(published_0, n_0, base)
    pairs = [
        newcombe(c_1, n_1, c_0, n_0, level)
        for c_1 in range(now[0], now[1] + 1)
        for c_0 in range(then[0], then[1] + 1)
    ]
    return Interval(min(i.low for i in pairs), max(i.high for i in pairs))


def outward_percent(interval: Interval, step: int = 1) -> tuple[int, int]:
    """Return an interval of proportions in whole percentage points, rounded away from its middle.

    Parameters
    ----------
    interval : Interval
        Proportions, or a difference of proportions.
    step : int
        Step in percentage points.

    Returns
    -------
    tuple of int
        Lower end rounded down and upper end rounded up to the step.
    """
    # A billionth of a step absorbs binary fractions such as 0.07 * 100; it is far below any reading.
    low = math.floor(interval.low * 100 / step + 1e-9) * step
    high = math.ceil(interval.high * 100 / step - 1e-9) * step
    return low, high
