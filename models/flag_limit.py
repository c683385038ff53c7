"""Decision limits of flags, found by simulation: at most so many teams falsely flagged a year.

The family that is held is the team: a team counts as falsely flagged if any of its body regions is.
"""

from dataclasses import dataclass

import numpy as np

from models.answering import Habits, simulate
from models.flag_paths import BASELINE_MONTHS, highest_scores

TEAMS = 40
FALSE_FLAGS_A_YEAR = 1.0
"""Falsely flagged teams of 40 a year that are accepted."""

WATCHED_MONTHS = 12

MONTH_LIMIT = 8.0
"""Limit for one series of monthly counts a team, teams of 10 to 40 people, in the year after the baseline. In
later years a frozen baseline ages, so a monthly baseline is to be restarted each year."""


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


def newly_flagged(paths: np.ndarray, limit: float, periods_a_year: int) -> tuple[Verdict, ...]:
    """Return how many of 40 teams are flagged for the first time in each watched year.

    Parameters
    ----------
    paths : numpy.ndarray, shape (teams, periods)
        Scores; the first year is the baseline.
    limit : float
        Decision limit.
    periods_a_year : int
        Periods in a year.

    Returns
    -------
    tuple of Verdict
        One element a watched year.
    """
    seen, out = np.zeros(len(paths), dtype=bool), []
    for begin in range(periods_a_year, paths.shape[1], periods_a_year):
        now = (paths[:, begin : begin + periods_a_year] >= limit).any(1)
        out.append(judge_limit((now & ~seen).astype(float), 0.5))
        seen |= now
    return tuple(out)


def in_control_scores(
    rng: np.random.Generator, habits: Habits, *, teams: int, sizes: tuple[int, int]
) -> np.ndarray:
    """Return highest scores, on monthly counts, of simulated teams in which nothing changed.

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

    Returns
    -------
    numpy.ndarray
        Shape (teams,).
    """
    people = rng.integers(sizes[0], sizes[1] + 1, teams)
    answers = simulate(rng, people, BASELINE_MONTHS + WATCHED_MONTHS, habits)
    return highest_scores(answers, answers)


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
