"""Scores of flags on invented answers, monthly or as published by quarter: what limits are judged by."""

import numpy as np

from models.answering import Answers
from models.disclosure import ROUNDING_BASE
from models.flags import flag_series
from models.quarters import quarter_counts

BASELINE_MONTHS = 12
QUARTERS = 4
"""Quarters of a baseline, and of the window a sum reaches back."""


def rounding_noise(base: int = ROUNDING_BASE) -> float:
    """Return the variance that random rounding adds to a count, averaged over remainders.

    Parameters
    ----------
    base : int
        Rounding base.

    Returns
    -------
    float
        ``mean of r (b - r)`` over r = 0 .. b-1, which is ``(b**2 - 1) / 6``.
    """
    return (base**2 - 1) / 6


def score_paths(
    answers: Answers, rng: np.random.Generator, *, quarterly: bool, reference: Answers
) -> np.ndarray:
    """Return each team's score in every period, the highest of its regions.

    Parameters
    ----------
    answers : Answers
        Baseline year and watched months.
    rng : numpy.random.Generator
        Source of the rounding.
    quarterly : bool
        Published quarterly counts instead of monthly ones.
    reference : Answers
        In-control answers that the organisation's prevalence is taken from.

    Returns
    -------
    numpy.ndarray
        Shape (teams, periods); 0 for a team with too few baseline answers.
    """
    best: np.ndarray | float = 0.0
    for region in range(answers.case.shape[3]):
        if quarterly:
            count = quarter_counts(answers, rng, region=region)
            base = quarter_counts(reference, rng, region=region)
            overall = base.published[:, :QUARTERS].sum() / max(base.n[:, :QUARTERS].sum(), 1)
            series, periods, noise = (count.published, count.n), QUARTERS, rounding_noise()
        else:
            x, n = reference.counts(region)
            overall = x[:, :BASELINE_MONTHS].sum() / max(n[:, :BASELINE_MONTHS].sum(), 1)
            series, periods, noise = answers.counts(region), BASELINE_MONTHS, 0.0
        found = flag_series(
            *series,
            limit=np.inf,
            baseline_periods=periods,
            window=periods,
            overall=overall,
            count_noise=noise,
        )
        best = np.maximum(best, np.where(found.judged[:, None], found.score, 0.0))
    return np.asarray(best)


def highest_scores(
    answers: Answers, rng: np.random.Generator, *, quarterly: bool, reference: Answers
) -> np.ndarray:
    """Return each team's highest score of the watched months, over its regions.

    Parameters
    ----------
    answers : Answers
        Baseline year and watched months.
    rng : numpy.random.Generator
        Source of the rounding.
    quarterly : bool
        Published quarterly counts instead of monthly ones.
    reference : Answers
        In-control answers that the organisation's prevalence is taken from.

    Returns
    -------
    numpy.ndarray
        Shape (teams,).
    """
    return score_paths(answers, rng, quarterly=quarterly, reference=reference).max(1)
