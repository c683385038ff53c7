"""Scores of flags on invented answers, monthly or as published by quarter: what limits are judged by."""

import numpy as np

from models.answering import Answers
from models.disclosure import ROUNDING_BASE
from models.flags import flag_series
from models.flags_together import Together, flag_together
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


def quarter_paths(answers: Answers, rng: np.random.Generator, *, reference: Answers) -> Together:
    """Return what flags on published quarters would see of invented answers.

    Parameters
    ----------
    answers : Answers
        Baseline year and watched months.
    rng : numpy.random.Generator
        Source of the rounding.
    reference : Answers
        In-control answers that the organisation's prevalence is taken from.

    Returns
    -------
    Together
        Scores, shape (teams, quarters).
    """
    cases, people, overall = [], [], []
    for region in range(answers.case.shape[3]):
        count = quarter_counts(answers, rng, region=region)
        base = count if reference is answers else quarter_counts(reference, rng, region=region)
        cases.append(count.published.astype(float))
        people.append(count.n.astype(float))
        overall.append(float(base.published[:, :QUARTERS].sum() / max(base.n[:, :QUARTERS].sum(), 1)))
    return flag_together(
        cases, people, overall, baseline_periods=QUARTERS, window=QUARTERS, count_noise=rounding_noise()
    )


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
    if quarterly:
        return quarter_paths(answers, rng, reference=reference).highest
    best: np.ndarray | float = 0.0
    for region in range(answers.case.shape[3]):
        x, n = reference.counts(region)
        found = flag_series(
            *answers.counts(region),
            limit=np.inf,
            baseline_periods=BASELINE_MONTHS,
            window=BASELINE_MONTHS,
            overall=x[:, :BASELINE_MONTHS].sum() / max(n[:, :BASELINE_MONTHS].sum(), 1),
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
