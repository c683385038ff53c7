"""The data custodian's review of symptoms, on the person store: for analysis, never for a release.

What stands here rests on single answers rather than on published counts: onset, change of severity, weights
from people's own histories. None of it has been through the audit, so no screen and no
release reads it.
"""

from dataclasses import dataclass

import numpy as np

from etl.symptom_answers import Review
from models.history import history_columns
from models.incidence import Incidence, incidence, onsets
from models.pooled import Pooled, pooled_prevalence
from models.raking import rake
from models.response import Sensitivity, non_ignorable
from models.severity import Severity, mean_change
from models.weights import Weighted, answer_weights, weighted_prevalence

YEAR = 12
LEAST_TEAM = 10
"""People below which a team gets neither a pooled figure nor a flag, here as in the release."""


@dataclass(frozen=True)
class WeightedShare:
    """A month's prevalence weighted for who answers, and what weighting cannot rule out.

    Attributes
    ----------
    weighted : Weighted
        With and without weights.
    band : tuple of Sensitivity
        Prevalence of everybody asked if the odds of silent people were half, equal or twice.
    """

    weighted: Weighted
    band: tuple[Sensitivity, ...]


def pooled_year(review: Review, team: str, region: str) -> Pooled:
    """Return a team's pooled prevalence of the last twelve months, people being the clusters.

    Parameters
    ----------
    review : Review
        Answers and roster.
    team, region : str
        Team and body region.

    Returns
    -------
    Pooled
        ``too few answers`` for fewer than ten people.
    """
    a = review.answers
    own = a.where((a.team == team) & (a.region == region) & (a.month > review.month - YEAR))
    return pooled_prevalence(own.case, own.person, least_people=LEAST_TEAM)


def onset(review: Review, region: str) -> Incidence:
    """Return new discomfort per 100 person-months at risk over the whole organisation.

    Parameters
    ----------
    review : Review
        Answers and roster.
    region : str
        Body region.

    Returns
    -------
    Incidence
        ``too few answers`` for fewer than sixty person-months.
    """
    own = review.answers.of_region(region)
    return incidence(onsets(own.person, own.month, own.case))


def severity(review: Review, region: str) -> Severity:
    """Return the mean change of the same people's ratings against the same month a year before.

    Parameters
    ----------
    review : Review
        Answers and roster.
    region : str
        Body region.

    Returns
    -------
    Severity
        Over the whole organisation.
    """
    own = review.answers.of_region(region)
    people = int(own.person.max(initial=-1)) + 1
    ratings = np.full((2, people), np.nan)
    for row, month in enumerate((review.month - YEAR, review.month)):
        then = own.where(own.month == month)
        ratings[row, then.person] = then.score
    return mean_change(ratings[0], ratings[1])


def history_weights(review: Review) -> np.ndarray:
    """Return the newest month's weights: inverse chances of answering from the past, raked to teams.

    Parameters
    ----------
    review : Review
        Answers and roster.

    Returns
    -------
    numpy.ndarray
        One weight a person code; 0 for people who are not on the roster or did not answer.
    """
    asked = review.asked
    people = int(max(asked.person.max(initial=-1), review.answers.person.max(initial=-1))) + 1
    out = np.zeros(people)
    now = asked.month == review.month
    if not now.any():
        return out
    first = int(asked.month.min())
    said = np.zeros((people, review.month - first + 1), dtype=bool)
    score = np.zeros(said.shape)
    said[asked.person, asked.month - first] = asked.answered
    score[asked.person, asked.month - first] = asked.score
    here = asked.person[now]
    weight = answer_weights(history_columns(score[here], said[here], said.shape[1] - 1), said[here, -1])
    team = np.unique(asked.team[now], return_inverse=True)[1]
    out[here] = rake(weight, {"team": (team, {int(k): float(c) for k, c in enumerate(np.bincount(team))})})
    return out


def weighted_share(review: Review, region: str) -> WeightedShare | None:
    """Return the newest month's prevalence with and without weights, and its sensitivity to silent people.

    Parameters
    ----------
    review : Review
        Answers and roster.
    region : str
        Body region.

    Returns
    -------
    WeightedShare or None
        None where nobody answered.
    """
    own = review.answers.of_region(region)
    own = own.where(own.month == review.month)
    found = weighted_prevalence(own.case, history_weights(review)[own.person], own.person)
    if found is None:
        return None
    invited = int((review.asked.month == review.month).sum())
    answered = min(len(own.person), invited)
    return WeightedShare(
        found, non_ignorable(found.weighted, answered, invited, (-np.log(2), 0.0, np.log(2)))
    )
