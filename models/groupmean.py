"""Group figures of exposure: a ratio of sums over people with an interval over people."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit


@dataclass(frozen=True)
class GroupFigure:
    """A ratio over the people of a group.

    Attributes
    ----------
    value, low, high : float
        The ratio and its 95 % interval over people.
    people : int
        People it rests on.
    """

    value: float
    low: float
    high: float
    people: int


def ratio_over_people(
    numerators: npt.ArrayLike,
    denominators: npt.ArrayLike,
    *,
    least: float = 0.0,
    most: float = float("inf"),
    level: float = 0.95,
) -> GroupFigure | None:
    """Return a ratio of sums with its linearised interval over people.

    ``R = sum(y) / sum(x)``, ``SE = sqrt(n / (n - 1) * sum((y - R x)**2)) / sum(x)``, limits
    ``R -+ t(n - 1) SE``: the ratio estimator with people as sampling units (Cochran 1977, Sampling
    Techniques, chapter 6). With all ``x = 1`` it is the mean with its usual t interval. It treats the people
    logged as a sample of how this work is done; the figure for just these people in just this period carries
    no error of sampling.

    Parameters
    ----------
    numerators, denominators : array_like, shape (n,)
        What each person did, and the hours, days or weeks it refers to; people without a positive
        denominator are left out.
    least, most : float
        Natural bounds of the ratio, at which the limits are cut.
    level : float
        Confidence level.

    Returns
    -------
    GroupFigure or None
        None where fewer than two people remain.

    Raises
    ------
    ValueError
        If the two arrays differ in shape.
    """
    y, x = np.asarray(numerators, dtype=float), np.asarray(denominators, dtype=float)
    if y.shape != x.shape or y.ndim != 1:
        raise ValueError(f"shapes differ: {y.shape} and {x.shape}")
    y, x = y[x > 0], x[x > 0]
    n = len(x)
    if n < 2:
        return None
    value = float(y.sum() / x.sum())
    residual = y - value * x
    error = float(np.sqrt(n / (n - 1) * (residual @ residual)) / x.sum())
    half = float(stdtrit(n - 1, 0.5 + level / 2)) * error
    return GroupFigure(value, max(least, value - half), min(most, value + half), n)
