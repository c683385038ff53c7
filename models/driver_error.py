"""How strong something unmeasured would have to be, and what error in exposure does to a ratio."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri
from scipy.stats import f as f_distribution

from models.driver_data import DriverData
from models.driver_design import design_of
from models.driver_fit import t_estimate
from models.driver_records import Effect, Refusal, Refused

RELIABILITIES = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Where nothing is known about reliability, the ratio is shown over these."""

_LEAST_PAIRS = 10


@dataclass(frozen=True)
class Reliability:
    """Share of the variance of reported exposure that is true.

    Attributes
    ----------
    value, low, high : float
        Intraclass correlation of single reports, with its 95 % interval.
    error : float
        Standard error that the interval implies; 0 where the value is taken as known.
    people : int
        People who reported twice.
    """

    value: float
    low: float
    high: float
    error: float
    people: int


def e_value(ratio: float) -> float:
    """Return how strongly an unmeasured thing would have to go with both exposure and discomfort.

    ``RR + sqrt(RR (RR - 1))``, of the inverse for a ratio below 1; VanderWeele and Ding 2017, Ann Intern Med
    167:268. As a ratio of prevalences on both sides, beyond what is adjusted for.

    Parameters
    ----------
    ratio : float
        Prevalence or risk ratio for the contrast told, more than 0.

    Returns
    -------
    float
        At least 1.

    Raises
    ------
    ValueError
        If the ratio is not positive.
    """
    if not ratio > 0:
        raise ValueError(f"ratio {ratio} is not positive")
    up = max(ratio, 1 / ratio)
    return float(up + np.sqrt(up * (up - 1)))


def e_value_of_limit(low: float, high: float) -> float:
    """Return the E-value of the limit nearer to 1.

    Parameters
    ----------
    low, high : float
        Interval of the ratio.

    Returns
    -------
    float
        1 where the interval holds 1.
    """
    return 1.0 if low <= 1 <= high else e_value(low if low > 1 else high)


def reliability_of(reports: npt.ArrayLike, level: float = 0.95) -> Reliability:
    """Return the reliability of one report from people who reported several times.

    One-way intraclass correlation ``(B - W) / (B + (k - 1) W)`` of mean squares between and within people
    with the F interval; Shrout and Fleiss 1979, Psychol Bull 86:420, case 1.

    Parameters
    ----------
    reports : array_like, shape (people, k)
        Reports of the same exposure; k at least 2.
    level : float
        Confidence level.

    Returns
    -------
    Reliability
        With its interval.

    Raises
    ------
    Refused
        With too few people, or none who differ.
    """
    x = np.asarray(reports, float)
    if x.ndim != 2 or x.shape[1] < 2 or len(x) < 3 or not np.isfinite(x).all() or np.ptp(x.mean(1)) == 0:
        why = "duplicate reports are missing or do not differ between people"
        raise Refused(Refusal("The reliability of exposure", why, f"{_LEAST_PAIRS} people who report twice"))
    n, k = x.shape
    between = k * x.mean(1).var(ddof=1)
    within = x.var(axis=1, ddof=1).mean()
    if within == 0:
        return Reliability(1.0, 1.0, 1.0, 0.0, n)
    tail, found = (1 + level) / 2, between / within
    down = found / f_distribution.ppf(tail, n - 1, n * (k - 1))
    up = found * f_distribution.ppf(tail, n * (k - 1), n - 1)
    value, low, high = ((r - 1) / (r + k - 1) for r in (found, down, up))
    return Reliability(float(value), float(low), float(high), float((high - low) / 2 / ndtri(tail)), n)


def known_reliability(value: float) -> Reliability:
    """Return a reliability taken from elsewhere as if it were exact.

    Parameters
    ----------
    value : float
        More than 0, at most 1.

    Returns
    -------
    Reliability
        Without an interval.

    Raises
    ------
    ValueError
        If it is out of range.
    """
    if not 0 < value <= 1:
        raise ValueError(f"reliability {value} is outside (0, 1]")
    return Reliability(value, value, value, 0.0, 0)


def explained_share(
    data: DriverData, exposure: str, adjust: Sequence[str], beside: Sequence[str] = ()
) -> float:
    """Return how much of reported exposure the rest of the model explains, R squared.

    Parameters
    ----------
    data : DriverData
        Answers.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held fixed.

    Returns
    -------
    float
        Between 0 and 1.
    """
    x = design_of(data, beside, adjust).x
    values = data.column(exposure).astype(float)
    rest = values - x @ np.linalg.lstsq(x, values, rcond=None)[0]
    return float(max(0.0, 1 - rest.var() / values.var()))


def corrected(effect: Effect, reliability: Reliability, explained: float = 0.0) -> Effect:
    """Return an effect corrected for classical error in exposure by regression calibration.

    The log ratio is divided by ``(r - R2) / (1 - R2)``, the reliability given the rest of the model; exact
    for a log link and normal exposure; Carroll and others 2006, Measurement Error in Nonlinear Models, 2nd
    edition, section 4.2. The interval carries the error of the reliability by the delta method. Exposure
    that is a group mean given to everybody (Berkson error) must not be corrected.

    Parameters
    ----------
    effect : Effect
        As estimated with exposure as reported.
    reliability : Reliability
        Share of its variance that is true.
    explained : float
        Share of its variance that the rest of the model explains.

    Returns
    -------
    Effect
        With `question` and `method` marked.

    Raises
    ------
    Refused
        If what the rest explains leaves no true exposure.
    """
    given = (reliability.value - explained) / (1 - explained)
    if not given > 0.05:
        why = f"with reliability {reliability.value:.2f} hardly any true exposure is left within the model"
        raise Refused(
            Refusal("The corrected association", why, "More reliable exposure, or fewer covariates")
        )
    naive = np.log(effect.ratio)
    width = np.log(effect.ratio_high) - np.log(effect.ratio_low)
    error = width / 2 / t_estimate(0.0, 1.0, effect.df).high
    value = naive / given
    spread = np.hypot(error / given, naive * reliability.error / (1 - explained) / given**2)
    found = t_estimate(float(value), float(spread), effect.df)
    # Points grow with the log ratio, to first order.
    per = None if effect.points is None or naive == 0 else effect.points / naive
    points = [None if per is None else float(per * v) for v in (found.value, found.low, found.high)]
    source = "duplicate reports" if reliability.people else "a value from elsewhere"
    words = (
        f"{effect.method}; corrected for error in exposure, reliability {reliability.value:.2f} from {source}"
    )
    return replace(
        effect, question=f"{effect.question}, corrected for error in exposure",
        ratio=float(np.exp(found.value)), ratio_low=float(np.exp(found.low)),
        ratio_high=float(np.exp(found.high)), points=points[0], points_low=points[1], points_high=points[2],
        p=found.p, method=f"{effect.method}; {words}",
    )  # fmt: skip


def error_band(
    effect: Effect, explained: float = 0.0, reliabilities: Sequence[float] = RELIABILITIES
) -> tuple[tuple[float, float, float, float], ...]:
    """Return the corrected ratio over assumed reliabilities, where none is known.

    Parameters
    ----------
    effect : Effect
        As estimated.
    explained : float
        Share of exposure's variance that the rest of the model explains.
    reliabilities : sequence of float
        Assumed values.

    Returns
    -------
    tuple of tuple
        Reliability, ratio and its limits; reliabilities that leave no true exposure are left out.
    """
    rows = []
    for value in reliabilities:
        if (value - explained) / (1 - explained) > 0.05:
            one = corrected(effect, known_reliability(value), explained)
            rows.append((float(value), one.ratio, one.ratio_low, one.ratio_high))
    return tuple(rows)
