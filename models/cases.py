"""Which answer counts as a case: a rating at a mark, trouble last week, or the surveillance definition.

The person store applies them in SQL (``etl/sql/facts/180_symptom``); a test holds that both say the same.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

SCORE, SEVEN_DAYS, SURVEILLANCE = "score", "trouble_7d", "surveillance"

LASTING_DAYS = 7
MODERATE = 3

DEFINITIONS = {
    SCORE: (
        "A rating at or above the mark, worse side of the body.",
        "own convention",
        "this project",
    ),
    SEVEN_DAYS: (
        "Trouble at any time during the last 7 days, either side of the body.",
        "published (quoted)",
        "nine-site questionnaire, Kuorinka I and others 1987, Appl Ergon 18:233, as described in Occup Med "
        "2007;57:300",
    ),
    SURVEILLANCE: (
        "Pain, aching, stiffness, burning, numbness or tingling since starting this job, lasting a week or "
        "more or coming at least monthly in the past year, moderate (3 of 5) or stronger, without an acute "
        "injury of that site before.",
        "from memory",
        "US National Institute for Occupational Safety and Health, health hazard evaluations",
    ),
}
"""Definition to its text, status and source."""


@dataclass(frozen=True)
class Episodes:
    """Answers to the questions of the surveillance definition, arrays of shape (answers,).

    Attributes
    ----------
    longest_days : numpy.ndarray
        Longest episode in days.
    monthly : numpy.ndarray of bool
        At least once a month in the past year.
    severity : numpy.ndarray of int
        1 (none) to 5 (worst).
    since_job : numpy.ndarray of bool
        Began after starting this job.
    acute_injury : numpy.ndarray of bool
        Acute injury of the site before.
    """

    longest_days: np.ndarray
    monthly: np.ndarray
    severity: np.ndarray
    since_job: np.ndarray
    acute_injury: np.ndarray


def score_case(score: npt.ArrayLike, mark: int) -> np.ndarray:
    """Say which ratings are cases.

    Parameters
    ----------
    score : array_like, shape (answers,)
        Ratings 0 to 10.
    mark : int
        Smallest rating of a case.

    Returns
    -------
    numpy.ndarray of bool
        Shape (answers,).

    Raises
    ------
    ValueError
        If a rating lies outside 0 to 10.
    """
    rating = np.asarray(score, dtype=float)
    if not ((rating >= 0) & (rating <= 10)).all():
        raise ValueError("a rating lies outside 0 to 10")
    return rating >= mark


def surveillance_case(episodes: Episodes) -> np.ndarray:
    """Say which answers meet the surveillance definition.

    Parameters
    ----------
    episodes : Episodes
        Answers.

    Returns
    -------
    numpy.ndarray of bool
        Shape (answers,). Status ``from memory``: read the source before relying on it.
    """
    e = episodes
    lasting = (np.asarray(e.longest_days) >= LASTING_DAYS) | np.asarray(e.monthly, dtype=bool)
    since = np.asarray(e.since_job, dtype=bool) & ~np.asarray(e.acute_injury, dtype=bool)
    return lasting & (np.asarray(e.severity) >= MODERATE) & since
