"""Flags: has a team worsened against its own past? One-sided binomial CUSUM with a shrunk, frozen baseline.

The decision limit is no table value. People who keep their symptoms answer every month, so counts hang
together over months and table values cry wolf: `models.flag_limit` finds the limit by simulation.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.counts import TOO_FEW
from models.ewma import ewma

ODDS_FACTOR = 2.5
"""Worsening the CUSUM is tuned to: the odds of discomfort times this."""

PSEUDO_ANSWERS = 12
"""Answers of the organisation added to a team's baseline, so that a small team's is not taken at its word."""

LEAST_BASELINE_ANSWERS = 24
"""Answers below which a baseline is not judged. Own convention."""

IN_CONTROL, FLAGGED, NOT_JUDGED = "not flagged", "flagged", TOO_FEW


@dataclass(frozen=True)
class Flags:
    """CUSUMs of many series, arrays of shape (series,) or (series, periods).

    Attributes
    ----------
    baseline : numpy.ndarray, (series,)
        Shrunk prevalence of the baseline periods.
    score : numpy.ndarray, (series, periods)
        CUSUM; 0 in the baseline periods.
    start : numpy.ndarray of int, (series, periods)
        Period in which the rise behind each score most likely began.
    line : numpy.ndarray, (series, periods)
        Exponentially weighted average of the shares, for drawing.
    judged : numpy.ndarray of bool, (series,)
        Whether there are enough baseline answers.
    flagged_at : numpy.ndarray of int, (series,)
        First period at or over the limit, -1 if none.
    since : numpy.ndarray of int, (series,)
        Period in which the rise of that flag most likely began, -1 if none.
    """

    baseline: np.ndarray
    score: np.ndarray
    start: np.ndarray
    line: np.ndarray
    judged: np.ndarray
    flagged_at: np.ndarray
    since: np.ndarray


def shrunk_baseline(
    cases: npt.ArrayLike, answers: npt.ArrayLike, overall: npt.ArrayLike, pseudo: float = PSEUDO_ANSWERS
) -> np.ndarray:
    """Return a team's own prevalence, pulled towards the organisation's.

    ``(cases + pseudo * overall) / (answers + pseudo)``, kept between 0.5 % and 95 % so that a
    log-likelihood exists.

    Parameters
    ----------
    cases, answers : array_like, shape (series,)
        Sums over the baseline periods.
    overall : array_like
        Prevalence of the organisation in the same periods.
    pseudo : float
        Weight of the organisation, in answers.

    Returns
    -------
    numpy.ndarray
        Prevalence, shape (series,).
    """
    own = (np.asarray(cases) + pseudo * np.asarray(overall)) / (np.asarray(answers) + pseudo)
    return np.clip(own, 0.005, 0.95)


def cusum_steps(
    cases: npt.ArrayLike, answers: npt.ArrayLike, baseline: npt.ArrayLike, odds: float = ODDS_FACTOR
) -> np.ndarray:
    """Return the log-likelihood ratio of each period, worsened against as before.

    ``x ln(p1/p0) + (n-x) ln((1-p1)/(1-p0))`` with ``p1`` at `odds` times the odds of ``p0``; 0 where nobody
    answered. Reynolds and Stoumbos 1999, J Qual Technol 31:87 (Bernoulli CUSUM, from memory).

    Parameters
    ----------
    cases, answers : array_like, shape (series, periods)
        Counts of each period.
    baseline : array_like, shape (series,)
        Prevalence before.
    odds : float
        Odds ratio tuned to, above 1.

    Returns
    -------
    numpy.ndarray
        Steps, shape (series, periods).

    Raises
    ------
    ValueError
        If the odds ratio is not above 1 or a count exceeds its answers.
    """
    x, n = np.asarray(cases, dtype=float), np.asarray(answers, dtype=float)
    if odds <= 1:
        raise ValueError(f"odds ratio {odds} must be above 1")
    if (x < 0).any() or (x > n).any():
        raise ValueError("a period has more cases than answers")
    p0 = np.asarray(baseline, dtype=float)[:, None]
    p1 = odds * p0 / (1 - p0 + odds * p0)
    return x * np.log(p1 / p0) + (n - x) * np.log((1 - p1) / (1 - p0))


def damped_steps(
    cases: npt.ArrayLike, answers: npt.ArrayLike, baseline: npt.ArrayLike, odds: float, count_noise: float
) -> np.ndarray:
    """Return the steps of :func:`cusum_steps`, weighted down for the random rounding of the counts.

    Parameters
    ----------
    cases, answers : array_like, shape (series, periods)
        Counts of each period.
    baseline : array_like, shape (series,)
        Prevalence before.
    odds : float
        Odds ratio tuned to.
    count_noise : float
        Variance that rounding adds to a count; a step keeps ``npq / (npq + count_noise)`` of itself.

    Returns
    -------
    numpy.ndarray
        Steps, shape (series, periods).
    """
    x, n, p0 = np.asarray(cases, float), np.asarray(answers, float), np.asarray(baseline, float)
    spread = n * (p0 * (1 - p0))[:, None]
    kept = np.divide(spread, spread + count_noise, out=np.zeros_like(x), where=spread > 0)
    return kept * cusum_steps(x, n, p0, odds)


def window_scores(steps: np.ndarray, baseline_periods: int, window: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the largest sum of steps up to each period, and where that sum begins.

    Parameters
    ----------
    steps : numpy.ndarray, shape (series, periods)
        Steps; those of the baseline count nothing.
    baseline_periods, window : int
        See :func:`flag_series`.

    Returns
    -------
    tuple of numpy.ndarray
        Scores and first periods, shape (series, periods).
    """
    own = steps.copy()
    own[:, :baseline_periods] = 0.0
    total = np.cumsum(np.column_stack([np.zeros(len(own)), own]), axis=1)
    score, start = np.zeros_like(own), np.zeros(own.shape, dtype=int)
    for period in range(baseline_periods, own.shape[1]):
        first = max(baseline_periods, period + 1 - window)
        back = total[:, first : period + 2][:, ::-1]
        # The latest lowest point: the rise is dated as late as the counts allow.
        lowest = back.argmin(1)
        score[:, period] = total[:, period + 1] - back.min(1)
        start[:, period] = period + 1 - lowest
    return score, start


def flag_series(
    cases: npt.ArrayLike,
    answers: npt.ArrayLike,
    *,
    limit: float,
    baseline_periods: int,
    window: int,
    overall: npt.ArrayLike,
    odds: float = ODDS_FACTOR,
    count_noise: float = 0.0,
    least_answers: float = LEAST_BASELINE_ANSWERS,
) -> Flags:
    """Judge many series against their own frozen baselines.

    ``score_t = max over k <= window of the sum of the last k steps``, at least 0: a CUSUM within a window
    (Lai 1995, J R Stat Soc B 57:613, from memory).
    The baseline is the first `baseline_periods` periods and is never moved by later ones. To restart after a
    recorded decision, pass the series from the decision on.

    Parameters
    ----------
    cases, answers : array_like of int, shape (series, periods)
        Counts; 0 answers where a period is missing or hidden.
    limit : float
        Decision limit of the CUSUM.
    baseline_periods : int
        Periods the baseline rests on.
    window : int
        Periods the sum reaches back, a year's worth. A sum without end would in time flag every team whose
        baseline happened to be measured low.
    overall : array_like
        Prevalence of the organisation over the baseline periods, one value or one a series.
    odds : float
        Odds ratio tuned to.
    count_noise : float
        Variance that random rounding adds to a count, ``(b**2 - 1) / 6`` for base b; each step is then
        weighted by ``npq / (npq + count_noise)``, so that rounding alone does not carry the score.
    least_answers : float
        Baseline answers below which nothing is judged.

    Returns
    -------
    Flags
        Scores, drawn line and flags.

    Raises
    ------
    ValueError
        If the two arrays differ in shape, or no period is left after the baseline.
    """
    x, n = np.atleast_2d(np.asarray(cases, float)), np.atleast_2d(np.asarray(answers, float))
    if x.shape != n.shape or not 1 <= baseline_periods < x.shape[1]:
        raise ValueError(f"{x.shape} cases, {n.shape} answers, {baseline_periods} baseline periods")
    before = slice(0, baseline_periods)
    judged = n[:, before].sum(1) >= least_answers
    p0 = shrunk_baseline(x[:, before].sum(1), n[:, before].sum(1), overall)
    steps = damped_steps(x, n, p0, odds, count_noise)
    score, start = window_scores(steps, baseline_periods, window)
    over = (score >= limit) & judged[:, None]
    flagged_at = np.where(over.any(1), over.argmax(1), -1)
    since = np.where(flagged_at >= 0, start[np.arange(len(x)), flagged_at], -1)
    shares = np.divide(x, n, out=np.full_like(x, np.nan), where=n > 0)
    return Flags(p0, score, start, ewma(shares, p0), judged, flagged_at, since)
