"""The calendar in monthly counts: season, partial months, and who left (healthy-worker effect)."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit, fdtrc

from models.prevalence import Interval, newcombe
from models.weights import logistic_fit

LEAST_MONTHS = 24
"""Months below which a season cannot be told from a passing rise."""

WHOLE_MONTH_SHARE = 0.5
"""A month with less than this share of the usual days or answers is called partial. Own convention."""


@dataclass(frozen=True)
class Season:
    """A yearly wave in monthly shares.

    Attributes
    ----------
    amplitude : float or None
        Half the distance of peak and trough on the log-odds; None where `reason` says why.
    peak_month : int or None
        Month of the peak, 1 to 12.
    p_value : float or None
        Chance of a wave as large without any season (F test, over-dispersion allowed for).
    dispersion : float
        Pearson chi-square over its degrees of freedom.
    adjusted : numpy.ndarray
        Shares with the season taken out, shape (months,).
    reason : str or None
        Why no season is given.
    """

    amplitude: float | None
    peak_month: int | None
    p_value: float | None
    dispersion: float
    adjusted: np.ndarray
    reason: str | None = None


def season(cases: npt.ArrayLike, answers: npt.ArrayLike, first_month: int, harmonics: int = 1) -> Season:
    """Return the yearly wave of monthly shares beside a straight trend.

    Quasi-binomial regression on trend and ``sin, cos(2 pi k m/12)``; season judged by the F test of the
    deviance (McCullagh and Nelder 1989, section 4.5). Descriptive: a wave may be weather, holidays or the
    work's own year.

    Parameters
    ----------
    cases, answers : array_like, shape (months,)
        Counts; months without answers are left out of the fit.
    first_month : int
        Calendar month of the first count, 1 to 12.
    harmonics : int
        Waves a year; two need 36 months.

    Returns
    -------
    Season
        Amplitude, peak and adjusted shares.
    """
    x, n = np.asarray(cases, dtype=float), np.asarray(answers, dtype=float)
    some = n > 0
    share = np.divide(x, n, out=np.zeros_like(x), where=some)
    used = int(some.sum())
    needed = LEAST_MONTHS if harmonics == 1 else 18 * harmonics
    if used < needed:
        return Season(None, None, None, 1.0, share, f"{used} months with answers; a season needs {needed}")
    if not 0 < x.sum() < n.sum():
        return Season(None, None, None, 1.0, share, "nobody or everybody has it: there is no season to see")
    month = np.arange(len(x)) + first_month - 1
    angle = 2 * np.pi * month / 12
    waves = np.column_stack([f(k * angle) for k in range(1, harmonics + 1) for f in (np.sin, np.cos)])
    plain = np.column_stack([np.ones(len(x)), (month - month.mean()) / 12])
    full = np.column_stack([plain, waves])
    beta, without = _fit(full[some], x[some], n[some]), _fit(plain[some], x[some], n[some])
    fitted = expit(full @ beta)
    freedom = used - full.shape[1]
    pearson = float(((x - n * fitted)[some] ** 2 / (n * fitted * (1 - fitted))[some]).sum())
    dispersion = max(1.0, pearson / freedom)
    gain = _deviance(x, n, expit(plain @ without)) - _deviance(x, n, fitted)
    p_value = float(fdtrc(2 * harmonics, freedom, max(0.0, gain) / (2 * harmonics) / dispersion))
    wave = waves @ beta[2:]
    year = 2 * np.pi * np.arange(12) / 12
    cycle = (
        np.column_stack([f(k * year) for k in range(1, harmonics + 1) for f in (np.sin, np.cos)]) @ beta[2:]
    )
    safe = np.clip(share, 1e-6, 1 - 1e-6)
    flat = expit(np.log(safe / (1 - safe)) - wave)
    return Season(
        float((cycle.max() - cycle.min()) / 2), int(cycle.argmax()) + 1, p_value, dispersion,
        np.where(some, flat, 0.0),
    )  # fmt: skip


def _fit(design: np.ndarray, cases: np.ndarray, n: np.ndarray) -> np.ndarray:
    # Two weighted rows a month would do; repeating rows keeps one fitting routine for the whole project.
    rows = np.repeat(np.arange(len(n)), n.astype(int))
    order = np.concatenate([np.arange(int(k)) for k in n]) if len(n) else np.zeros(0)
    return logistic_fit(design[rows], order < cases[rows])


def _deviance(cases: np.ndarray, n: np.ndarray, fitted: np.ndarray) -> float:
    p = np.clip(fitted, 1e-12, 1 - 1e-12)
    return float(-2 * (cases * np.log(p) + (n - cases) * np.log(1 - p)).sum())


def partial_months(working_days: npt.ArrayLike, least_share: float = WHOLE_MONTH_SHARE) -> np.ndarray:
    """Say which months were cut short by a shutdown, holidays, or the ends of the data.

    Parameters
    ----------
    working_days : array_like, shape (months,)
        Person-days worked, or answers, of each month.
    least_share : float
        Share of the median month below which a month is partial.

    Returns
    -------
    numpy.ndarray of bool
        Shape (months,).
    """
    days = np.asarray(working_days, dtype=float)
    return days < least_share * float(np.median(days)) if len(days) else np.zeros(0, dtype=bool)


@dataclass(frozen=True)
class Leavers:
    """Discomfort of those who left against those who stayed, at their last answer.

    Attributes
    ----------
    points : float or None
        Leavers minus stayers, in percentage points; None with fewer than ten of either.
    interval : Interval
        Of the difference of proportions.
    sentence : str
        What it means for a falling curve.
    """

    points: float | None
    interval: Interval
    sentence: str


def leavers(cases_left: int, left: int, cases_stayed: int, stayed: int, least: int = 10) -> Leavers:
    """Compare the last answers of leavers and stayers: a curve can fall because those who ache leave.

    Parameters
    ----------
    cases_left, left : int
        Leavers with discomfort at their last answer, and leavers.
    cases_stayed, stayed : int
        The same of those who stayed.
    least : int
        Fewest people on either side.

    Returns
    -------
    Leavers
        Difference with Newcombe's interval.
    """
    found = newcombe(cases_left, left, cases_stayed, stayed)
    if min(left, stayed) < least:
        words = "Too few left or stayed to say whether those with discomfort leave more often."
        return Leavers(None, found, words)
    points = 100 * (cases_left / left - cases_stayed / stayed)
    if found.low > 0:
        words = "Those who left had discomfort more often: part of a fall may be people leaving, not easing."
    elif found.high < 0:
        words = "Those who left had discomfort less often: part of a rise may be who is left."
    else:
        words = "Leavers and stayers do not clearly differ; some effect of leaving cannot be ruled out."
    return Leavers(points, found, words)
