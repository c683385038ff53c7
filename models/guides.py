"""Guides that pipetting exposure is held against, each with its source, and the word for the standing."""

import math
from dataclasses import dataclass
from typing import Literal

Standing = Literal["within guide", "near guide", "over guide"]
Direction = Literal["higher is more load", "lower is more load"]

PUBLISHED = "published"
COMMON_PRACTICE = "common practice, no source"
COMPUTED = "computed from the formula"

NEAR_FRACTION = 0.8


@dataclass(frozen=True)
class Guide:
    """A value that exposure should not pass.

    Attributes
    ----------
    key : str
        Short name.
    value : float
        The guide, in ``unit``.
    unit : str
        Unit of the guide and of what is held against it.
    direction : {"higher is more load", "lower is more load"}
        Which side of the guide is the loaded one.
    source : str
        Where the value comes from, or what it rests on.
    status : str
        ``published``, ``computed from the formula`` or ``common practice, no source``.
    """

    key: str
    value: float
    unit: str
    direction: Direction
    source: str
    status: str


_HIGHER: Direction = "higher is more load"
_BJORKSTEN = (
    "Bjorksten MG, Almby B, Jansson ES. Appl Ergon 1994;25(2):88-94: women who pipetted more than 300 h a "
    "year reported more hand (OR 5.0) and shoulder (OR 2.4) ailments; an association, not a safe limit"
)
_DAVID_BUCKLE = (
    "David G, Buckle P. Appl Ergon 1997;28(4):257-262: nearly 90 % hand complaints among those who pipette "
    "more than 60 min on end; a mark for counting, not a safe limit"
)

YEARLY_HOURS = Guide("yearly_hours", 300.0, "h/year", _HIGHER, _BJORKSTEN, PUBLISHED)
LONG_SPELL = Guide("long_spell", 60.0, "min", _HIGHER, _DAVID_BUCKLE, PUBLISHED)
SPELL = Guide("longest_spell", 20.0, "min", _HIGHER, "longest pipetting without a break", COMMON_PRACTICE)
EJECTION_FORCE = Guide(
    "ejection_force", 2.0, "kgf", _HIGHER, "ceiling of tip-ejection force", COMMON_PRACTICE
)
PEAK_THUMB_FORCE = Guide(
    "peak_thumb_force", 19.6133, "N", _HIGHER, "2 kgf, the ceiling of tip-ejection force", COMMON_PRACTICE
)
KEPT_UP_EFFORT = Guide(
    "kept_up_effort", 30.0, "% of maximum strength", _HIGHER, "effort that is kept up", COMMON_PRACTICE
)
MICRO_RESTS = Guide(
    "micro_rests",
    2.0,
    "1/h",
    "lower is more load",
    "a rest of 3-5 min every 20-30 min, so at least two an hour of pipetting",
    COMMON_PRACTICE,
)


def weekly_hours(yearly_hours: float = 300.0, working_weeks: float = 44.0) -> Guide:
    """Guide for pipetting hours a week that add up to a yearly guide.

    Parameters
    ----------
    yearly_hours : float, default 300
        Yearly guide, h.
    working_weeks : float, default 44
        Weeks worked in a year.

    Returns
    -------
    Guide
        ``yearly_hours / working_weeks``, h/week.

    Raises
    ------
    ValueError
        If either is not above zero.
    """
    value = _spread(yearly_hours, working_weeks)
    source = f"{yearly_hours:g} h a year over {working_weeks:g} working weeks; {_BJORKSTEN}"
    return Guide("hours_per_week", value, "h/week", _HIGHER, source, COMPUTED)


def daily_hours(yearly_hours: float = 300.0, working_days: float = 220.0) -> Guide:
    """Guide for pipetting hours a day that add up to a yearly guide.

    Parameters
    ----------
    yearly_hours : float, default 300
        Yearly guide, h.
    working_days : float, default 220
        Days worked in a year.

    Returns
    -------
    Guide
        ``yearly_hours / working_days``, h/day.

    Raises
    ------
    ValueError
        If either is not above zero.
    """
    value = _spread(yearly_hours, working_days)
    source = f"{yearly_hours:g} h a year over {working_days:g} working days; {_BJORKSTEN}"
    return Guide("hours_per_day", value, "h/day", _HIGHER, source, COMPUTED)


def standing(value: float | None, guide: Guide, near_fraction: float = NEAR_FRACTION) -> Standing | None:
    """Say how a value stands to a guide.

    Over: past the guide. Near: past ``near_fraction`` of the way (of the guide where higher is more load;
    of the guide divided by it where lower is). A value equal to the guide is not past it.

    Parameters
    ----------
    value : float or None
        Exposure, in the unit of the guide; None or NaN where unknown.
    guide : Guide
        The guide.
    near_fraction : float, default 0.8
        Where "near" begins, between 0 and 1.

    Returns
    -------
    {"within guide", "near guide", "over guide"} or None
        None where the value is unknown.

    Raises
    ------
    ValueError
        If ``near_fraction`` does not lie between 0 and 1.
    """
    if not 0 < near_fraction < 1:
        raise ValueError(f"near_fraction is {near_fraction}; it must lie between 0 and 1")
    if value is None or math.isnan(value):
        return None
    if guide.direction == "higher is more load":
        over, near = value > guide.value, value > guide.value * near_fraction
    else:
        over, near = value < guide.value, value < guide.value / near_fraction
    if over:
        return "over guide"
    return "near guide" if near else "within guide"


def _spread(total: float, parts: float) -> float:
    if not (total > 0 and parts > 0):
        raise ValueError(f"Cannot spread {total} over {parts}: both must be above zero")
    return total / parts
