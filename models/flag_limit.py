"""Decision limits of flags, found by simulation: at most so many teams falsely flagged a year.

The family that is held is the team: a team counts as falsely flagged if any of its body regions is.
"""

from dataclasses import dataclass

import numpy as np

from models.answering import Answers, Habits, simulate
from models.disclosure import ROUNDING_BASE
from models.flags import flag_series
from models.quarters import quarter_counts

TEAMS = 40
FALSE_FLAGS_A_YEAR = 1.0
"""Falsely flagged teams of 40 a year that are accepted."""

WATCHED_MONTHS = 12
BASELINE_MONTHS = 12

MONTH_LIMIT = 8.0
"""Limit for one series of monthly counts a team, teams of 10 to 40 people."""

QUARTER_LIMIT = 7.0
"""Limit for published quarterly counts, nine body regions a team."""


@dataclass(frozen=True)
class Verdict:
    """How a limit fared on simulated teams.

    Attributes
    ----------
    flagged : float
        Teams flagged within the watched year, per 40.
    error : float
        Monte-Carlo standard error of `flagged`.
    teams : int
        Teams simulated.
    """

    flagged: float
    error: float
    teams: int


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


def highest_scores(
    answers: Answers, rng: np.random.Generator, *, quarterly: bool, reference: Answers
) -> np.ndarray:
    """Return each team's highest CUSUM of the watched months, over its regions.

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
        Shape (teams,); 0 for a team with too few baseline answers.
    """
    best = np.zeros(answers.case.shape[1])
    for region in range(answers.case.shape[3]):
        if quarterly:
            count, base = (
                quarter_counts(answers, rng, region=region),
                quarter_counts(reference, rng, region=region),
            )
            overall = base.published[:, :4].sum() / max(base.n[:, :4].sum(), 1)
            series, periods, noise = (count.published, count.n), 4, rounding_noise()
        else:
            x, n = reference.counts(region)
            overall = x[:, :BASELINE_MONTHS].sum() / max(n[:, :BASELINE_MONTHS].sum(), 1)
            series, periods, noise = answers.counts(region), BASELINE_MONTHS, 0.0
        found = flag_series(
            *series, limit=np.inf, baseline_periods=periods, overall=overall, count_noise=noise
        )
        best = np.maximum(best, np.where(found.judged, found.score.max(1), 0.0))
    return best


def in_control_scores(
    rng: np.random.Generator, habits: Habits, *, teams: int, sizes: tuple[int, int], quarterly: bool
) -> np.ndarray:
    """Return highest scores of simulated teams in which nothing changed.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    habits : Habits
        How answers hang together.
    teams : int
        Teams simulated.
    sizes : tuple of int
        Smallest and largest team.
    quarterly : bool
        Published quarterly counts instead of monthly ones.

    Returns
    -------
    numpy.ndarray
        Shape (teams,).
    """
    people = rng.integers(sizes[0], sizes[1] + 1, teams)
    answers = simulate(rng, people, BASELINE_MONTHS + WATCHED_MONTHS, habits)
    return highest_scores(answers, rng, quarterly=quarterly, reference=answers)


def judge_limit(scores: np.ndarray, limit: float) -> Verdict:
    """Return how many of 40 teams a limit flags.

    Parameters
    ----------
    scores : numpy.ndarray, shape (teams,)
        Highest scores.
    limit : float
        Decision limit.

    Returns
    -------
    Verdict
        Flagged per 40, with its Monte-Carlo error.
    """
    share = float((scores >= limit).mean())
    return Verdict(TEAMS * share, TEAMS * float(np.sqrt(share * (1 - share) / len(scores))), len(scores))


def calibrate(scores: np.ndarray, wanted: float = FALSE_FLAGS_A_YEAR) -> float:
    """Return the smallest limit whose false flags, plus two Monte-Carlo errors, stay within what is wanted.

    Parameters
    ----------
    scores : numpy.ndarray, shape (teams,)
        Highest scores of teams in which nothing changed.
    wanted : float
        Falsely flagged teams of 40 a year.

    Returns
    -------
    float
        Limit, rounded up to a quarter.
    """
    share = wanted / TEAMS
    safe = share - 2 * float(np.sqrt(share * (1 - share) / len(scores)))
    if safe <= 0:
        raise ValueError(f"{len(scores)} simulated teams are too few to hold {wanted:g} of {TEAMS}")
    return float(np.ceil(4 * np.quantile(scores, 1 - safe)) / 4)
