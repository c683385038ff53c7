"""Benchmark doses of a dose-response table with profile-likelihood limits.

The classical case of the hours budget: a few doses, a count of animals or people at each, no covariates.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize, minimize_scalar
from scipy.special import expit, logit, xlog1py, xlogy
from scipy.stats import chi2


class Family(StrEnum):
    """Dose-response families, each with the benchmark dose d* as a parameter.

    Logistic ``1/(1+exp(-a-b d))``; quantal linear ``g+(1-g)(1-exp(-b d))``; Weibull
    ``g+(1-g)(1-exp(-b d^p))``, p at least 1 (Crump KS 1984, Fundam Appl Toxicol 4:854).
    """

    LOGISTIC = "logistic"
    QUANTAL_LINEAR = "quantal linear"
    WEIBULL = "Weibull"


@dataclass(frozen=True)
class BenchmarkDose:
    """Dose of a given extra risk.

    Attributes
    ----------
    dose, low, high : float
        Estimate and profile limits; infinite where the profile never falls far enough.
    """

    dose: float
    low: float
    high: float


def benchmark_dose(
    doses: Sequence[float],
    cases: Sequence[int],
    n: Sequence[int],
    family: Family,
    *,
    extra: float = 0.10,
    level: float = 0.90,
) -> BenchmarkDose:
    """Return the dose at which extra risk reaches a given share, with profile limits.

    ``(P(d*) - P(0)) / (1 - P(0)) = extra``. The limits are the doses at which twice the fall of the
    log-likelihood, maximised over the other parameters, equals the chi-square quantile with 1 degree of
    freedom; each is a one-sided limit of ``(1 + level) / 2``.

    Parameters
    ----------
    doses : sequence of float
        Doses, the control's 0 among them.
    cases, n : sequence of int
        Responders, and how many there were.
    family : Family
        Curve.
    extra : float
        Extra risk, a share.
    level : float
        Two-sided level of the limits.

    Returns
    -------
    BenchmarkDose
        Dose and limits.

    Raises
    ------
    ValueError
        If the table is no dose-response, or no fit is found.
    """
    d, x, m = (np.asarray(v, dtype=float) for v in (doses, cases, n))
    if not (d.shape == x.shape == m.shape and d.ndim == 1 and len(d) > 2) or np.any(x > m) or np.any(x < 0):
        raise ValueError("doses, cases and n must be of one length, above two, and cases at most n")
    if not 0 < extra < 1 or (x / m)[d.argmax()] <= (x / m)[d.argmin()]:
        raise ValueError("the share of responders does not rise with the dose; there is no benchmark dose")
    risk = _RISK[family]
    free = 2 if family is Family.WEIBULL else 1
    start = [float(logit(np.clip(x[d.argmin()] / m[d.argmin()], 0.01, 0.5))), 0.5][:free]

    def worst(at: float) -> float:
        return _fit(risk, at, start, d, x, m, extra)

    grid = np.geomspace(d[d > 0].min() / 20, d.max() * 4, 30)
    values = np.array([worst(float(at)) for at in grid])
    best = int(values.argmin())
    if best in (0, len(grid) - 1):
        raise ValueError("the benchmark dose lies far outside the doses given")
    found: Any = minimize_scalar(
        worst, bounds=(grid[best - 1], grid[best + 1]), method="bounded", options={"xatol": 1e-6}
    )
    dose, least = float(found.x), float(found.fun)
    drop = float(chi2.ppf(level, 1)) / 2

    def over(at: float) -> float:
        return worst(at) - least - drop

    low: Any = brentq(over, grid[0], dose, xtol=1e-5) if over(float(grid[0])) > 0 else 0.0
    high: Any = brentq(over, dose, grid[-1], xtol=1e-5) if over(float(grid[-1])) > 0 else np.inf
    return BenchmarkDose(dose, float(low), float(high))


_Risk = Callable[[np.ndarray, float, np.ndarray, float], np.ndarray]


def _logistic(free: np.ndarray, at: float, dose: np.ndarray, extra: float) -> np.ndarray:
    floor = float(expit(free[0]))
    slope = (logit(floor + extra * (1 - floor)) - free[0]) / at
    return expit(free[0] + slope * dose)


def _linear(free: np.ndarray, at: float, dose: np.ndarray, extra: float) -> np.ndarray:
    floor = expit(free[0])
    return floor + (1 - floor) * -np.expm1(np.log1p(-extra) * dose / at)


def _weibull(free: np.ndarray, at: float, dose: np.ndarray, extra: float) -> np.ndarray:
    floor, power = expit(free[0]), 1 + np.exp(np.clip(free[1], -20, 5))
    return floor + (1 - floor) * -np.expm1(np.log1p(-extra) * (dose / at) ** power)


_RISK: dict[Family, _Risk] = {
    Family.LOGISTIC: _logistic,
    Family.QUANTAL_LINEAR: _linear,
    Family.WEIBULL: _weibull,
}


def _fit(
    risk: _Risk, at: float, start: list[float], d: np.ndarray, x: np.ndarray, m: np.ndarray, extra: float
) -> float:
    def loss(free: np.ndarray) -> float:
        # The floor may run to zero; a bound on its logit keeps the search from wandering off for ever.
        p = np.clip(risk(np.clip(free, -20, 20), at, d, extra), 1e-12, 1 - 1e-12)
        return -float((xlogy(x, p) + xlog1py(m - x, -p)).sum())

    found = minimize(
        loss, start, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 2000}
    )
    if not found.success:
        raise ValueError("the fit of the dose-response curve did not converge")
    return float(found.fun)
