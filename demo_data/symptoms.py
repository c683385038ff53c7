"""How people feel: true log-odds of discomfort, scores of nine regions, and who answers the survey."""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit, ndtr

from demo_data.changes import Change
from demo_data.institute import REGIONS, Plan
from demo_data.people import People
from demo_data.work import Dose

# Log-odds of a score of 4 or more at 6 h/week, 25 N, age 30-39, no change.
INTERCEPT = np.array([-0.90, -1.10, -1.50, -2.00, -1.20, -1.20, -2.40, -2.10, -2.50])
# Log-odds for 5 h/week more pipetting, and for 10 N more peak thumb force.
HOURS_EFFECT = np.array([0.35, 0.45, 0.25, 0.45, 0.80, 0.10, 0.0, 0.0, 0.0])
FORCE_EFFECT = np.array([0.0, 0.05, 0.0, 0.15, 0.35, 0.0, 0.0, 0.0, 0.0])
AGE_EFFECT = np.array([-0.10, 0.0, 0.10, 0.20, 0.25])
HOURS_CENTRE, HOURS_UNIT, FORCE_CENTRE, FORCE_UNIT = 6.0, 5.0, 25.0, 10.0
# A score of k or more means: log-odds plus noise above CUTS[k - 1].
CUTS = np.array([-2.2, -1.4, -0.7, 0.0, 0.6, 1.2, 1.8, 2.5, 3.3, 4.2])
CASE = 4
# Shares of the noise's variance: person, person and region, team and month, person and month, rest.
SHARES = {"person": 0.25, "person_region": 0.27, "team_month": 0.01, "person_month": 0.15, "rest": 0.32}
PERSISTENCE = 0.6
CHANCE_MONTHS, CHANCE_DRAWS = 3, 300
# Each point by which last month's worst score exceeds 3 takes this off the log-odds of answering.
SCORE_ON_ANSWER = -0.12
HABIT_SD = 0.5
SURVEY_DAY = 15


@dataclass(frozen=True)
class Health:
    """Latent and observed health, arrays (people, months) or (people, months, regions).

    Attributes
    ----------
    eta : numpy.ndarray of float
        True log-odds of a score of 4 or more.
    score : numpy.ndarray of int8
        What everybody would answer, 0 to 10.
    team : numpy.ndarray of int
        Team on the survey day, -1 when not employed and so not asked.
    answered : numpy.ndarray of bool
        Asked and answered.
    team_rate : numpy.ndarray of float
        Base rate of response of each team.
    chance_rank : float
        Mean score of the chance team's chosen draw in standard deviations of all draws made for it.
    """

    eta: np.ndarray
    score: np.ndarray
    team: np.ndarray
    answered: np.ndarray
    team_rate: np.ndarray
    chance_rank: float


def direct_effects(changes: tuple[Change, ...], team: np.ndarray) -> np.ndarray:
    """Return the direct log-odds effect of all changes.

    Parameters
    ----------
    changes : tuple of Change
        Changes with their true effects.
    team : numpy.ndarray of int, (people, months)
        Team of each person and month.

    Returns
    -------
    numpy.ndarray of float, (people, months, regions)
        Zero where no change is in force.
    """
    effect = np.zeros((*team.shape, len(REGIONS)))
    months = np.arange(team.shape[1])
    for change in changes:
        if change.month is not None:
            where = (team == change.team) & (months >= change.month)
            effect[where] += [change.kind.direct.get(region, 0.0) for region in REGIONS]
    return effect


def log_odds(hours: np.ndarray, force: np.ndarray, age: np.ndarray, direct: np.ndarray | float) -> np.ndarray:
    """Return the true log-odds of a score of 4 or more.

    ``intercept + b_h (hours - 6)/5 + b_f (force - 25)/10 + age + direct``; without any pipetting in a
    month the force term is 0.

    Parameters
    ----------
    hours, force : numpy.ndarray, (people, months)
        Hours a week, and time-weighted peak thumb force in N (nan without work).
    age : numpy.ndarray of int, (people,)
        Age band.
    direct : numpy.ndarray or float
        Direct effects of changes.

    Returns
    -------
    numpy.ndarray, (people, months, regions)
        Log-odds.
    """
    dose = ((hours - HOURS_CENTRE) / HOURS_UNIT)[..., None]
    push = np.nan_to_num((force - FORCE_CENTRE) / FORCE_UNIT)[..., None]
    aged = AGE_EFFECT[age][:, None, None]
    return INTERCEPT + HOURS_EFFECT * dose + FORCE_EFFECT * push + aged + direct


def _wander(state: np.ndarray, steps: int, rng: np.random.Generator) -> np.ndarray:
    """Continue unit-variance first-order autoregressions for some months; months come first."""
    out = np.empty((steps, *state.shape))
    for step in range(steps):
        fresh = rng.standard_normal(state.shape)
        state = PERSISTENCE * state + np.sqrt(1 - PERSISTENCE**2) * fresh
        out[step] = state
    return out


def _scores(eta: np.ndarray, noise: np.ndarray) -> np.ndarray:
    # Normal noise turned into logistic noise keeps the correlation within a person AND makes the effects
    # on the log-odds hold exactly for the population, not only given a person.
    latent = eta + logit(np.clip(ndtr(noise), 1e-12, 1 - 1e-12))
    return np.searchsorted(CUTS, latent).astype(np.int8)


def feel(
    plan: Plan, staff: People, dose: Dose, changes: tuple[Change, ...], survey_team: np.ndarray,
    rng: np.random.Generator, chance_rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray, float]:  # fmt: skip
    """Draw everybody's scores.

    Parameters
    ----------
    plan, staff, dose, changes
        The institute, people, exposure and changes.
    survey_team : numpy.ndarray of int, (people, months)
        Team on the survey day.
    rng, chance_rng : numpy.random.Generator
        Source of chance for all, and for the last months of the chance team.

    Returns
    -------
    eta : numpy.ndarray, (people, months, regions)
        True log-odds.
    score : numpy.ndarray of int8, same shape
        Scores 0 to 10.
    rank : float
        How far out the chance team's chosen draw lies, in standard deviations of the mean score.
    """
    count, months, regions = staff.drive.size, plan.months, len(REGIONS)
    eta = log_odds(dose.hours, dose.force, staff.age, direct_effects(changes, survey_team))
    steady = np.sqrt(SHARES["person"]) * rng.standard_normal((count, 1, 1))
    steady = steady + np.sqrt(SHARES["person_region"]) * rng.standard_normal((count, 1, regions))
    together = rng.standard_normal((len(plan.teams) + 1, months))[survey_team, np.arange(months)]
    steady = steady + np.sqrt(SHARES["team_month"]) * together[..., None]
    mood = _wander(rng.standard_normal((count, 1)), months, rng)
    rest = _wander(rng.standard_normal((count, regions)), months, rng)
    moving = np.sqrt(SHARES["person_month"]) * mood + np.sqrt(SHARES["rest"]) * rest
    noise = steady + moving.transpose(1, 0, 2)
    score = _scores(eta, noise)

    since = months - CHANCE_MONTHS
    members = np.flatnonzero((survey_team[:, since:] == plan.of_part("chance")[0]).all(1))
    tries = []
    for _ in range(CHANCE_DRAWS):
        new_mood = _wander(mood[since - 1, members], CHANCE_MONTHS, chance_rng)
        new_rest = _wander(rest[since - 1, members], CHANCE_MONTHS, chance_rng)
        moved = np.sqrt(SHARES["person_month"]) * new_mood + np.sqrt(SHARES["rest"]) * new_rest
        tries.append(_scores(eta[members, since:], steady[members, since:] + moved.transpose(1, 0, 2)))
    means = np.array([draw.mean() for draw in tries])
    worst = int(np.argmax(means))
    score[members, since:] = tries[worst]
    return eta, score, float((means[worst] - means.mean()) / means.std())


def respond(
    plan: Plan, survey_team: np.ndarray, score: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Draw who answers; those who felt worse last month answer less often.

    Parameters
    ----------
    plan : Plan
        The institute.
    survey_team : numpy.ndarray of int, (people, months)
        Team on the survey day, -1 = not asked.
    score : numpy.ndarray, (people, months, regions)
        Scores.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    answered : numpy.ndarray of bool, (people, months)
        Asked and answered.
    rate : numpy.ndarray of float
        Base rate of each team.
    """
    rate = rng.uniform(0.68, 0.86, len(plan.teams))
    worst = score.max(2).astype(float)
    before = np.concatenate([np.full((len(worst), 1), 3.0), worst[:, :-1]], axis=1)
    habit = HABIT_SD * rng.standard_normal((len(worst), 1))
    chance = expit(logit(rate)[survey_team] + habit + SCORE_ON_ANSWER * (before - 3.0))
    return (survey_team >= 0) & (rng.random(chance.shape) < chance), rate
