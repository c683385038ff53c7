"""All body regions of a team judged as one: what has risen a little everywhere shows in the sum.

The log-likelihood ratios of the regions are added up. People who ache in one region ache in others, so the
sum is no log-likelihood of its own; its limit is found by simulation like every other (`models.flag_setup`).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.flags import LEAST_BASELINE_ANSWERS, ODDS_FACTOR, damped_steps, shrunk_baseline, window_scores


@dataclass(frozen=True)
class Together:
    """Scores of teams over all their regions, arrays of shape (teams, periods).

    Attributes
    ----------
    score : numpy.ndarray
        Sum over the regions within the window; 0 in the baseline periods.
    start : numpy.ndarray of int
        Period in which the rise behind each score most likely began.
    highest : numpy.ndarray
        Highest score of the regions taken each for itself.
    judged : numpy.ndarray of bool, (teams,)
        Whether any region has enough baseline answers.
    """

    score: np.ndarray
    start: np.ndarray
    highest: np.ndarray
    judged: np.ndarray


def flag_together(
    cases: Sequence[np.ndarray],
    answers: Sequence[np.ndarray],
    overall: Sequence[float],
    *,
    baseline_periods: int,
    window: int,
    odds: float = ODDS_FACTOR,
    count_noise: float = 0.0,
) -> Together:
    """Add up the regions' steps against each region's own frozen baseline.

    Parameters
    ----------
    cases, answers : sequence of numpy.ndarray, each (teams, periods)
        Counts by region; 0 answers where a period is missing or hidden.
    overall : sequence of float
        Prevalence of the organisation over the baseline periods, by region.
    baseline_periods, window : int
        See :func:`models.flags.flag_series`.
    odds, count_noise : float
        See :func:`models.flags.damped_steps`.

    Returns
    -------
    Together
        Scores; a region with too few baseline answers adds nothing.

    Raises
    ------
    ValueError
        If there is no region.
    """
    if not len(cases):
        raise ValueError("no region to judge")
    total, highest = np.zeros(cases[0].shape), np.zeros(cases[0].shape)
    judged = np.zeros(len(total), dtype=bool)
    for x, n, share in zip(cases, answers, overall, strict=True):
        before_x, before_n = x[:, :baseline_periods].sum(1), n[:, :baseline_periods].sum(1)
        enough = before_n >= LEAST_BASELINE_ANSWERS
        p0 = shrunk_baseline(before_x, before_n, share)
        steps = damped_steps(x, n, p0, odds, count_noise) * enough[:, None]
        total += steps
        highest = np.maximum(highest, window_scores(steps, baseline_periods, window)[0])
        judged |= enough
    score, start = window_scores(total, baseline_periods, window)
    return Together(score, start, highest, judged)
