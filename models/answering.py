"""Invented monthly answers of teams whose people keep their symptoms: the ground that rules are tried on.

A person's leaning is steady in part and wanders in part, so answers of the same person agree over months.
Used to calibrate flags at set-up and to measure how often an interval or a flag is right.
"""

from dataclasses import dataclass, field
from math import sqrt

import numpy as np
from scipy.special import expit, logit, ndtri


@dataclass(frozen=True)
class Habits:
    """How answers hang together.

    Attributes
    ----------
    prevalence : float
        Share of answers with discomfort in the long run, averaged over teams.
    steady : float
        Share of a person's leaning that never changes while on the team.
    persistence : float
        Month-to-month correlation of the part that wanders.
    answering : float
        Chance that a person answers in a month.
    turnover : float
        Chance a month that a person leaves and is replaced.
    team_sd : float
        Spread of teams' long-run log-odds.
    regions : int
        Body regions asked about.
    region_share : float
        Share of the leaning that is common to all regions of a person.
    """

    prevalence: float = 0.25
    steady: float = 0.5
    persistence: float = 0.6
    answering: float = 0.75
    turnover: float = 0.01
    team_sd: float = 0.4
    regions: int = 1
    region_share: float = 0.4


@dataclass(frozen=True)
class Answers:
    """Answers of teams, arrays of shape (months, teams, people, regions).

    Attributes
    ----------
    case : numpy.ndarray of bool
        Discomfort, whether answered or not.
    answered : numpy.ndarray of bool, shape (months, teams, people)
        Asked and answered; never true for the seats that a smaller team does not have.
    long_run : numpy.ndarray, shape (teams,)
        Long-run prevalence of each team.
    stays : numpy.ndarray of bool, shape (months, teams, people)
        Whether the person in the seat is the one of the month before.
    """

    case: np.ndarray
    answered: np.ndarray
    long_run: np.ndarray
    stays: np.ndarray = field(repr=False)

    def counts(self, region: int = 0) -> tuple[np.ndarray, np.ndarray]:
        """Return answers with discomfort and answers, each (teams, months)."""
        cases = (self.case[..., region] & self.answered).sum(2)
        return cases.T, self.answered.sum(2).T


def simulate(
    rng: np.random.Generator,
    sizes: np.ndarray,
    months: int,
    habits: Habits,
    *,
    worse_from: int | None = None,
    worse_odds: float = 1.0,
    worse_teams: np.ndarray | None = None,
    worse_regions: int | None = None,
) -> Answers:
    """Draw answers of teams.

    A person has discomfort where ``logit(team's prevalence) + logistic noise > 0`` with the noise's normal
    score ``sqrt(steady) * person + sqrt(1 - steady) * AR(1)``. The marginal prevalence is exact, so
    multiplying its odds means what it says for the whole team.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    sizes : numpy.ndarray of int, shape (teams,)
        People on each team.
    months : int
        Months drawn.
    habits : Habits
        How answers hang together.
    worse_from : int, optional
        First month in which some teams are worse.
    worse_odds : float
        Factor on their odds.
    worse_teams : numpy.ndarray of int, optional
        Which teams; all by default.
    worse_regions : int, optional
        How many regions, the first ones; all by default.

    Returns
    -------
    Answers
        The answers.
    """
    teams, most, regions = len(sizes), int(sizes.max()), habits.regions
    shape = (teams, most, regions)
    centre = logit(habits.prevalence) + habits.team_sd * rng.standard_normal(teams)
    odds = np.zeros((teams, regions))
    which = np.arange(teams) if worse_teams is None else worse_teams
    odds[which, : regions if worse_regions is None else worse_regions] = np.log(worse_odds)
    seat = np.arange(most) < np.asarray(sizes)[:, None]

    # Plain floats: a numpy scalar would turn single precision, which is enough for a threshold, into double.
    def leaning() -> np.ndarray:
        common = rng.standard_normal((teams, most, 1), dtype=np.float32)
        own = rng.standard_normal(shape, dtype=np.float32)
        return sqrt(habits.region_share) * common + sqrt(1 - habits.region_share) * own

    person, mood = leaning(), leaning()
    case = np.empty((months, *shape), dtype=bool)
    answered = np.empty((months, teams, most), dtype=bool)
    stays = np.ones((months, teams, most), dtype=bool)
    for month in range(months):
        if month:
            mood = habits.persistence * mood + sqrt(1 - habits.persistence**2) * leaning()
            if habits.turnover:
                stays[month] = rng.random((teams, most)) >= habits.turnover
                person = np.where(stays[month][..., None], person, leaning())
        level = centre[:, None] + (odds if worse_from is not None and month >= worse_from else 0.0)
        noise = sqrt(habits.steady) * person + sqrt(1 - habits.steady) * mood
        case[month] = noise > -ndtri(expit(level))[:, None, :].astype(np.float32)
        answered[month] = seat & (rng.random((teams, most)) < habits.answering)
    return Answers(case, answered, expit(centre), stays)
