"""Pipetting a year and thumb force, as the trade holds them against its working rules."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import KEPT_UP_EFFORT, PEAK_THUMB_FORCE, Guide, Standing, standing
from models.sourced import measured
from models.strength import percent_of_maximum


@dataclass(frozen=True)
class ThumbForceStanding:
    """A thumb force held against both working rules.

    Attributes
    ----------
    percent_of_maximum : float
        %MVC; NaN where force or strength is unknown.
    of_maximum, of_ceiling : Standing or None
        Against 30 % of maximum, and against 2 kgf; None where unknown.
    """

    percent_of_maximum: float
    of_maximum: Standing | None
    of_ceiling: Standing | None


def yearly_hours(hours: ArrayLike, weeks: ArrayLike, *, working_weeks: float = 44.0) -> NDArray[np.float64]:
    """Return hours a year at the pace of the weeks seen.

    ``hours / weeks * working_weeks``; hold it against `models.guides.YEARLY_HOURS`, 300 h: Bjorksten, Almby
    & Jansson 1994, Appl Ergon 25(2):88-94, doi:10.1016/0003-6870(94)90069-8 (published, an association, not
    a safe limit). Status: plain proportion; 44 working weeks are an assumption.

    Parameters
    ----------
    hours : array_like
        Pipetting hours seen, not negative and no more than the weeks have; NaN where unknown.
    weeks : array_like
        Working weeks in which they were seen, in (0, 1000]; NaN where unknown.
    working_weeks : float
        Weeks worked in a year, in (0, 53].

    Returns
    -------
    ndarray
        Hours a year, broadcast shape; NaN where an input is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds or there are more hours than the weeks have.
    """
    seen = measured("pipetting hours", hours, low=0.0, high=168_000.0, remedy="Give hours, not minutes.")
    over = measured(
        "weeks seen",
        weeks,
        low=0.0,
        high=1000.0,
        low_allowed=False,
        remedy="Leave out people not seen at work.",
    )
    year = measured(
        "working weeks a year",
        working_weeks,
        low=0.0,
        high=53.0,
        low_allowed=False,
        remedy="Give weeks, such as 44.",
    )
    pace = measured(
        "pipetting hours a week", seen / over, low=0.0, high=168.0, remedy="Check the unit of the hours."
    )
    return pace * year


def thumb_force_standing(
    force_n: float,
    strength_n: float,
    *,
    effort: Guide = KEPT_UP_EFFORT,
    ceiling: Guide = PEAK_THUMB_FORCE,
) -> ThumbForceStanding:
    """Say how a thumb force stands to 30 % of maximum and to 2 kgf.

    Status: both common practice, no source. They agree: 2 kgf is 29 % of the 7 kgf that a typical woman's
    key pinch reaches.

    Parameters
    ----------
    force_n : float
        Measured peak thumb force, N; NaN where not measured.
    strength_n : float
        Maximum strength at the chosen percentile of the group, N; NaN where unknown.
    effort, ceiling : Guide
        The two guides, in % of maximum and in N.

    Returns
    -------
    ThumbForceStanding
        Unknown where an input is.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    percent = float(percent_of_maximum(force_n, strength_n))
    return ThumbForceStanding(percent, standing(percent, effort), standing(force_n, ceiling))
