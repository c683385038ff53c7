"""All body regions of a team judged as one: what has risen a little everywhere shows in the average.

People who ache in one region ache in others, so regions are no independent evidence; how far their average
strays when nothing changes is learnt by simulation (`models.flag_rise`), and so is its limit
(`models.flag_setup`).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.flag_rise import HANDICAP, Wander, average_shares, rise_scores
from models.flags import LEAST_BASELINE_ANSWERS, ODDS_FACTOR, damped_steps, shrunk_baseline, window_scores


@dataclass(frozen=True)
class Together:
    """Scores of teams over all their regions, arrays of shape (teams, periods).

    Attributes
    ----------
    score : numpy.ndarray
        Rise of the average over the regions, in standard errors; 0 in the baseline periods.
    start : numpy.ndarray of int
        Period in which the rise behind each score most likely began.
    highest : numpy.ndarray
        Highest CUSUM of the regions taken each for itself.
    judged : numpy.ndarray of bool, (teams,)
        Whether any region has enough baseline answers.
    """

    score: np.ndarray
    start: np.ndarray
    highest: np.ndarray
    judged: np.ndarray


LEAST_TOGETHER = 20
"""Baseline answers of a region below which the average leaves it out: two quarters at the floor. Fewer than a
CUSUM needs, for the score of the average knows how little a short baseline says."""


def with_baseline(answers: Sequence[np.ndarray], baseline_periods: int, least: int) -> np.ndarray:
    """Return which regions of which teams have enough baseline answers.

    Parameters
    ----------
    answers : sequence of numpy.ndarray, each (teams, periods)
        Answers by region.
    baseline_periods : int
        Periods the baseline rests on.
    least : int
        Answers that are enough.

    Returns
    -------
    numpy.ndarray of bool
        Shape (regions, teams).
    """
    return np.stack([n[:, :baseline_periods].sum(1) >= least for n in answers])


def flag_together(
    cases: Sequence[np.ndarray],
    answers: Sequence[np.ndarray],
    overall: Sequence[float],
    wander: Wander,
    *,
    baseline_periods: int,
    count_noise: float = 0.0,
    when: Sequence[int] | None = None,
) -> Together:
    """Judge the average over the regions, and each region, against the team's own frozen baseline.

    Parameters
    ----------
    cases, answers : sequence of numpy.ndarray, each (teams, periods)
        Counts by region; 0 answers where a period is missing or hidden.
    overall : sequence of float
        Prevalence of the organisation over the baseline periods, by region.
    wander : Wander
        How the average strays when nothing changes.
    baseline_periods : int
        See :func:`models.flags.flag_series`.
    count_noise : float
        See :func:`models.flags.damped_steps`.
    when : sequence of int, optional
        Place of each period in the calendar.

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
    enough = with_baseline(answers, baseline_periods, LEAST_BASELINE_ANSWERS)
    highest = np.zeros(cases[0].shape)
    for x, n, share, used in zip(cases, answers, overall, enough, strict=True):
        before_x, before_n = x[:, :baseline_periods].sum(1), n[:, :baseline_periods].sum(1)
        p0 = shrunk_baseline(before_x, before_n, share)
        steps = damped_steps(x, n, p0, ODDS_FACTOR, count_noise) * used[:, None]
        own = window_scores(steps, baseline_periods, len(HANDICAP))[0]
        # A hidden period is not judged, whatever came before it.
        highest = np.maximum(highest, own * (n > 0))
    enough = with_baseline(answers, baseline_periods, LEAST_TOGETHER)
    average, people = average_shares(cases, answers, overall, enough)
    score, start = rise_scores(average, people, wander, baseline_periods=baseline_periods, when=when)
    return Together(score, start, highest, np.asarray(enough.any(0)))
