"""Limits of counted events: Byar's approximation, and the rule for when it replaces the exact limits."""

import math

from scipy.special import betaincinv, ndtri

from models.rates import garwood

EXACT_BELOW = 10
"""Fewer events than this take exact limits (Public Health England's rule)."""

TOO_FEW = "too few answers"


def byar(count: float, level: float = 0.95) -> tuple[float, float]:
    """Return Byar's approximate limits of a Poisson mean.

    ``c (1 - 1/(9c) - z/(3 sqrt(c)))**3`` and ``(c+1) (1 - 1/(9(c+1)) + z/(3 sqrt(c+1)))**3``; Breslow and Day
    1987, Statistical Methods in Cancer Research II, section 2.3.

    Parameters
    ----------
    count : float
        Events, zero or more; an effective count need not be whole.
    level : float
        Confidence level.

    Returns
    -------
    tuple of float
        Lower and upper limit; the lower is 0 without events.

    Raises
    ------
    ValueError
        If the count is negative or the level lies outside (0, 1).
    """
    if count < 0 or not 0 < level < 1:
        raise ValueError(f"count {count} or level {level} out of bounds")
    z = float(ndtri(0.5 + level / 2))
    low = count * (1 - 1 / (9 * count) - z / (3 * math.sqrt(count))) ** 3 if count else 0.0
    above = count + 1
    return max(0.0, low), above * (1 - 1 / (9 * above) + z / (3 * math.sqrt(above))) ** 3


def count_limits(count: int, level: float = 0.95) -> tuple[float, float]:
    """Return exact limits below ten events and Byar's from ten on.

    Parameters
    ----------
    count : int
        Events.
    level : float
        Confidence level.

    Returns
    -------
    tuple of float
        Limits of the expected number of events.
    """
    return garwood(count, level) if count < EXACT_BELOW else byar(count, level)


def clopper_pearson(count: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact limits of a proportion; wider than Wilson's, kept for comparison.

    Beta quantiles ``B(a/2; x, n-x+1)`` and ``B(1-a/2; x+1, n-x)``; Clopper and Pearson 1934, Biometrika
    26:404.

    Parameters
    ----------
    count, n : int
        People with the property, and people asked. Nobody asked gives (0, 1).
    level : float
        Confidence level.

    Returns
    -------
    tuple of float
        Lower and upper limit.

    Raises
    ------
    ValueError
        If the count lies outside 0 to `n`.
    """
    if not 0 <= count <= n:
        raise ValueError(f"count {count} outside 0..{n}")
    tail = (1 - level) / 2
    low = float(betaincinv(count, n - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, n - count, 1 - tail)) if count < n else 1.0
    return low, high
