"""What the institute records beside surveys: hours worked and recorded cases of each team and month."""

from dataclasses import dataclass

import numpy as np

from demo_data.institute import Plan
from demo_data.people import People

SHIFT_HOURS = 7.6
# Recordable cases for 200,000 hours at 6 h/week of pipetting, and the rise for 5 h/week more.
CASES_PER_200K, CASES_RISE = 4.0, 0.6
LOST_TIME_SHARE = 0.4


@dataclass(frozen=True)
class Outcomes:
    """Arrays (teams, months)."""

    hours_worked: np.ndarray
    recordable: np.ndarray
    lost_time: np.ndarray


def outcomes(plan: Plan, month_of_day: np.ndarray, staff: People, team_hours: np.ndarray,
             rng: np.random.Generator) -> Outcomes:  # fmt: skip
    """Draw hours worked and recorded cases.

    Parameters
    ----------
    plan : Plan
        The institute.
    month_of_day : numpy.ndarray of int
        Month of each day.
    staff : People
        Who worked when.
    team_hours : numpy.ndarray, (teams, months)
        Mean pipetting hours a week.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Outcomes
        Hours to a tenth; cases are Poisson with a rate that rises with pipetting hours.
    """
    hours = np.zeros((len(plan.teams), plan.months))
    person, day = np.nonzero(staff.at_work)
    np.add.at(hours, (staff.team_on[person, day].astype(int), month_of_day[day]), SHIFT_HOURS)
    rate = CASES_PER_200K / 200_000 * np.exp(CASES_RISE * (team_hours - 6.0) / 5.0)
    recordable = rng.poisson(rate * hours)
    return Outcomes(np.round(hours, 1), recordable, rng.binomial(recordable, LOST_TIME_SHARE))
