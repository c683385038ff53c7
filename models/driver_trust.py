"""How far a published ratio can be trusted, worked out from the published numbers alone.

Nothing here sees an answer: ratio and limits come in as they were published, rounded, so that what follows
from them tells no more about anybody than they do.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from models.driver_error import e_value, e_value_of_limit
from models.driver_many import pulled

LEAST_RELIABILITY = 0.05
"""With less true exposure than this nothing can be corrected."""

LEAST_TOGETHER = 3
"""Fewest regions that say anything about the spread between regions."""


@dataclass(frozen=True)
class Ratio:
    """A published ratio.

    Attributes
    ----------
    value, low, high : float
        Ratio and 95 % limits, as rounded for publication; a limit may be 0 or infinite.
    step : float
        Step to which it was rounded.
    """

    value: float
    low: float
    high: float
    step: float = 0.1


def e_values(ratio: Ratio) -> tuple[float, float]:
    """Return the E-value of a published ratio and of its limit nearer to 1.

    Parameters
    ----------
    ratio : Ratio
        Prevalence or risk ratio.

    Returns
    -------
    tuple of float
        To a tenth, the second downward; 1 where the interval reaches 1. VanderWeele and Ding 2017, Ann Intern
        Med 167:268.
    """
    limit = e_value_of_limit(ratio.low, ratio.high)
    # Downward, as a limit that is told too strong would promise too much.
    return round(e_value(ratio.value), 1), float(np.floor(round(10 * limit, 6)) / 10)


def calibrated(ratio: Ratio, reliability: float) -> Ratio | None:
    """Return a ratio corrected for error in exposure, had this share of its spread been true.

    The log ratio and its limits are divided by the reliability (regression calibration with the reliability
    taken as known; Carroll and others 2006, Measurement Error in Nonlinear Models, 2nd edition, section 4.2;
    `models.driver_error.corrected` with nothing explained by the rest of the model).

    Parameters
    ----------
    ratio : Ratio
        As published.
    reliability : float
        Share of the spread of exposure that is true, at most 1.

    Returns
    -------
    Ratio or None
        Not rounded; None where hardly any exposure would be true.

    Raises
    ------
    ValueError
        If the reliability is more than 1.
    """
    if reliability > 1:
        raise ValueError(f"reliability {reliability} is more than 1")
    if reliability <= LEAST_RELIABILITY:
        return None
    value, low, high = (float(np.power(v, 1 / reliability)) for v in (ratio.value, ratio.low, ratio.high))
    return Ratio(value, low, high, ratio.step)


def together(ratios: Mapping[str, Ratio], df: float) -> dict[str, Ratio]:
    """Return the ratios of regions pulled towards their common mean.

    Standard errors are taken from the published limits, `models.driver_many.pulled` does the rest. Limits
    are rounded outward, so errors are a little too large and the pull a little too strong.

    Parameters
    ----------
    ratios : mapping of str to Ratio
        Published ratios by region, of one exposure.
    df : float
        Degrees of freedom of t behind the limits.

    Returns
    -------
    dict of str to Ratio
        Not rounded; regions with a limit of 0 or none are left out, and nothing is returned for fewer than
        `LEAST_TOGETHER` regions.
    """
    known = {
        region: np.log([one.value, one.low, one.high])
        for region, one in ratios.items()
        if one.low > 0 and np.isfinite(one.high) and one.high > one.low
    }
    if len(known) < LEAST_TOGETHER:
        return {}
    logs = np.array(list(known.values()))
    found = pulled(logs[:, 0], (logs[:, 2] - logs[:, 1]) / 2 / float(stdtrit(df, 0.975)))
    values = np.exp(np.stack([found.value, found.low, found.high], -1))
    return {
        region: Ratio(float(row[0]), float(row[1]), float(row[2]), ratios[region].step)
        for region, row in zip(known, values, strict=True)
    }
