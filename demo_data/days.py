"""When the institute works: days of data, holidays, and how busy each month is."""

from dataclasses import dataclass

import numpy as np

from demo_data.institute import Plan

# Days the invented institute is shut, month and day.
_SHUT = ((1, 1), (1, 6), (5, 1), (11, 1), (12, 24), (12, 25), (12, 26), (12, 31))
# Busyness of January to December: a quiet summer, a short December.
_SEASON = np.array([1.0, 1.04, 1.06, 1.0, 0.98, 0.96, 0.82, 0.74, 1.03, 1.06, 1.05, 0.84])


@dataclass(frozen=True)
class Calendar:
    """Days and months of data.

    Attributes
    ----------
    days : numpy.ndarray of datetime64[D]
        Every day of the period.
    month : numpy.ndarray of int
        Index of each day's month.
    weekday : numpy.ndarray of int
        Monday 0 to Sunday 6.
    open : numpy.ndarray of bool
        Whether the institute works on that day.
    season : numpy.ndarray of float
        Busyness of each month.
    """

    days: np.ndarray
    month: np.ndarray
    weekday: np.ndarray
    open: np.ndarray
    season: np.ndarray

    @property
    def month_length(self) -> np.ndarray:
        """Days of each month."""
        return np.bincount(self.month)


def calendar(plan: Plan) -> Calendar:
    """Lay out the period of a plan.

    Parameters
    ----------
    plan : Plan
        The institute.

    Returns
    -------
    Calendar
        All days from the first month to 2026-10-31.
    """
    last = (plan.first_month + plan.months).astype("datetime64[D]")
    days = np.arange(plan.first_month.astype("datetime64[D]"), last)
    month = (days.astype("datetime64[M]") - plan.first_month).astype(int)
    weekday = (days.astype(int) + 3) % 7
    of_year = days.astype("datetime64[M]").astype(int) % 12 + 1
    of_month = (days - days.astype("datetime64[M]")).astype(int) + 1
    shut = np.zeros(days.size, bool)
    for a_month, a_day in _SHUT:
        shut |= (of_year == a_month) & (of_month == a_day)
    season = _SEASON[plan.month_list.astype(int) % 12]
    return Calendar(days, month, weekday, (weekday < 5) & ~shut, season)
