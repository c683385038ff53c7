"""Ratio of expected shares for a step more of an exposure, and what one person can be worth in it."""

import numpy as np
import numpy.typing as npt

from models.driver_fit import Estimate, GroupFit, t_estimate
from models.driver_solve import mean_of, variance_of


def standardised_ratio(fit: GroupFit, low: np.ndarray, high: np.ndarray) -> Estimate:
    """Return the ratio of expected shares when everybody has one design or the other.

    ``mean(m(high b)) / mean(m(low b))``, the interval on the log scale by the delta method: with a logistic
    fit a prevalence ratio that stays below 1 / prevalence, where a log link is pulled about by the few who
    have most exposure (g-formula; Robins JM 1986, Math Modelling 7:1393).

    Parameters
    ----------
    fit : GroupFit
        A fit.
    low, high : numpy.ndarray, shape (answers, p)
        The two designs.

    Returns
    -------
    Estimate
        Ratio with limits; ``error`` is that of its logarithm.
    """
    sides = []
    for x in (low, high):
        mean = mean_of(fit.link, x @ fit.coefficient)
        sides.append((float(mean.mean()), x.T @ variance_of(fit.link, mean) / len(x)))
    (below, slope_low), (above, slope_high) = sides
    found = t_estimate(
        float(np.log(above / below)), fit.error(slope_high / above - slope_low / below), fit.groups - 1.0
    )
    value, least, most = (float(np.exp(v)) for v in (found.value, found.low, found.high))
    return Estimate(value, least, most, found.error, found.p, found.df)


def person_worth(exposure: npt.ArrayLike, rest: npt.ArrayLike, person: npt.ArrayLike, step: float) -> float:
    """Return how many points per step one person's answers can be worth, from exposures alone.

    In the least-squares slope of discomfort on exposure, an answer counts with weight
    ``r_i / sum(r^2)``, r the exposure less what the other columns explain. All answers of a person turned
    round move the slope by at most ``100 step max_c sum_{i in c} |r_i| / sum(r^2)`` points.

    Parameters
    ----------
    exposure : array_like, shape (answers,)
        Exposure.
    rest : array_like, shape (answers, k)
        Other columns, the constant included.
    person : array_like of int, shape (answers,)
        Whose answer.
    step : float
        Step of the exposure.

    Returns
    -------
    float
        Points; infinite where exposure is explained in full.
    """
    x, others = np.asarray(exposure, dtype=float), np.asarray(rest, dtype=float)
    left = x - others @ np.linalg.lstsq(others, x, rcond=None)[0]
    spread = float(left @ left)
    if spread <= 1e-12 * max(float(x @ x), 1.0):
        return float("inf")
    _, code = np.unique(np.asarray(person), return_inverse=True)
    return 100 * step * float(np.bincount(code, weights=np.abs(left)).max()) / spread
