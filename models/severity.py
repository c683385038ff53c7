"""How strong it is: mean change of ratings against the smallest change that matters to people."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from models.counts import TOO_FEW

SMALLEST_POINTS, SMALLEST_PERCENT = 1.0, 15.0
"""Salaffi and others 2004, Eur J Pain 8:283: one point or 15 % (825 patients with chronic pain)."""

SMALLEST_ON = "NRS_0_10"
"""The scale it was found on; for another no change that matters is known here."""

MUCH_POINTS, MUCH_PERCENT = 2.0, 33.0
"""The same source, for "much better"."""

LEAST_PAIRS = 10
"""People with both ratings below which nothing is said. Own convention."""

LESS, MORE, SMALL, UNCLEAR = (
    "easier by what matters",
    "worse by what matters",
    "less than matters",
    "cannot tell",
)

CAUTION = (
    "The mark of {points:g} point or {percent:g} % comes from patients in pain. People at work start lower: "
    "from a mean of {baseline:.1f} there is little room to fall, so read the change beside where it began."
)


@dataclass(frozen=True)
class Severity:
    """Mean change of ratings of the same people.

    Attributes
    ----------
    baseline, change, low, high : float or None
        Mean before, mean change and its interval, in scale points; None where `reason` says why.
    percent : float or None
        Change in percent of the baseline; None where the baseline is 0.
    people : int
        People with both ratings.
    word : str
        ``easier by what matters``, ``worse by what matters``, ``less than matters`` or ``cannot tell``.
    caution : str
        Where the mark comes from, beside the baseline.
    reason : str or None
        ``too few answers`` where nothing is said.
    """

    baseline: float | None
    change: float | None
    low: float | None
    high: float | None
    percent: float | None
    people: int
    word: str
    caution: str
    reason: str | None = None


def mean_change(
    before: npt.ArrayLike, after: npt.ArrayLike, *, least_pairs: int = LEAST_PAIRS, level: float = 0.95
) -> Severity:
    """Return the mean change of the same people's ratings, and whether it matters.

    Paired t interval. The mark is one point: its sign reversed for worsening is a convention of our own. A
    word is given only where the whole interval lies on one side of the mark.

    Parameters
    ----------
    before, after : array_like, shape (people,)
        Ratings 0 to 10; NaN where not answered. Pairs with a gap are left out.
    least_pairs : int
        Pairs below which nothing is said.
    level : float
        Confidence level.

    Returns
    -------
    Severity
        Mean change with its baseline.

    Raises
    ------
    ValueError
        If shapes differ or a rating lies outside 0 to 10.
    """
    first, second = np.asarray(before, dtype=float), np.asarray(after, dtype=float)
    if first.shape != second.shape:
        raise ValueError(f"ratings differ in shape: {first.shape} and {second.shape}")
    for ratings in (first, second):
        if ((ratings < 0) | (ratings > 10)).any():
            raise ValueError("a rating lies outside 0 to 10")
    both = ~np.isnan(first) & ~np.isnan(second)
    first, step = first[both], (second - first)[both]
    n = int(both.sum())
    if n < max(least_pairs, 2):
        return Severity(None, None, None, None, None, n, UNCLEAR, "", TOO_FEW)
    baseline, change = float(first.mean()), float(step.mean())
    half = float(stdtrit(n - 1, 0.5 + level / 2)) * float(step.std(ddof=1)) / float(np.sqrt(n))
    low, high = change - half, change + half
    caution = CAUTION.format(points=SMALLEST_POINTS, percent=SMALLEST_PERCENT, baseline=baseline)
    percent = 100 * change / baseline if baseline > 0 else None
    return Severity(baseline, change, low, high, percent, n, change_word(low, high), caution)


def change_word(low: float, high: float) -> str:
    """Return the word for an interval of a mean change, in scale points.

    Parameters
    ----------
    low, high : float
        Ends of the interval; negative is easier.

    Returns
    -------
    str
        See :class:`Severity`.
    """
    if high <= -SMALLEST_POINTS:
        return LESS
    if low >= SMALLEST_POINTS:
        return MORE
    return SMALL if max(-low, high) < SMALLEST_POINTS else UNCLEAR
