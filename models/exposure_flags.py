"""Flags a manager gets: has a team's published exposure risen against its own past?"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.charts import MOVING_RANGE_MEAN
from models.ewma import ewma, ewma_limits

WEIGHT = 0.25

WIDTH = 4.0
"""Limit in standard errors of the drawn line. It holds one false flag of 40 teams a year where months hang
together (lag-1 correlation 0.3); a textbook width is about 2.9."""

LEAST_BASELINE = 6
"""Months with a value below which a baseline is not judged."""

RISEN, AS_BEFORE, FEW = "risen", "as before", "too few months"


@dataclass(frozen=True)
class ExposureFlag:
    """A team's exposure against its own baseline.

    Attributes
    ----------
    word : str
        ``risen``, ``as before`` or ``too few months``.
    baseline : float or None
        Mean of the baseline months.
    line, limit : float or None
        Newest point of the weighted average, and its upper limit.
    since : int or None
        First period of the unbroken run of the line over the baseline mean that ends in the flag.
    """

    word: str
    baseline: float | None
    line: float | None
    limit: float | None
    since: int | None


def exposure_flag(
    values: npt.ArrayLike,
    baseline_periods: int = 12,
    *,
    least: int = LEAST_BASELINE,
    weight: float = WEIGHT,
    width: float = WIDTH,
) -> ExposureFlag:
    """Judge the newest month of a series against its frozen baseline.

    The spread of one month is the larger of the baseline's standard deviation and its mean moving range /
    1.128; the line starts at the baseline mean, whose own uncertainty widens the limit by
    ``sqrt(1 + 1/m)``-like terms: ``sigma * sqrt(w/(2-w) + 1/m)``.

    Parameters
    ----------
    values : array_like, shape (periods,)
        Published values, oldest first; NaN where hidden or missing.
    baseline_periods : int
        Periods the baseline rests on.
    least : int
        Values needed among them.
    weight, width : float
        Weight of the newest value; width of the limit.

    Returns
    -------
    ExposureFlag
        Word, baseline, line and limit.
    """
    x = np.asarray(values, dtype=float)
    known = x[:baseline_periods][~np.isnan(x[:baseline_periods])]
    if len(x) <= baseline_periods or len(known) < max(least, 2) or np.isnan(x[baseline_periods:]).all():
        return ExposureFlag(FEW, None, None, None, None)
    mean = float(known.mean())
    ranges = float(np.abs(np.diff(known)).mean()) / MOVING_RANGE_MEAN
    sigma = max(float(known.std(ddof=1)), ranges)
    line = ewma(x[baseline_periods:], np.asarray(mean), weight)
    step = ewma_limits(0.0, sigma, weight, width)[1]
    limit = mean + float(np.hypot(step, width * sigma / np.sqrt(len(known))))
    newest = float(line[-1])
    if newest <= limit or np.isnan(x[-1]):
        return ExposureFlag(AS_BEFORE, mean, newest, limit, None)
    under = np.flatnonzero(line <= mean)
    since = baseline_periods + (int(under[-1]) + 1 if len(under) else 0)
    return ExposureFlag(RISEN, mean, newest, limit, since)
