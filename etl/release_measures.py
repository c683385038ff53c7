"""The exposure measures of a release: what is divided by what, in which unit, against which guide."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from etl.settings import Settings
from models.guides import PEAK_THUMB_FORCE, SPELL, Guide, weekly_hours

NOT_MEASURED = "not shown: forces not measured"
# What the annotations of pandas call a column depends on its operands; here it is always one number a person.
Column = Callable[[pd.DataFrame], Any]

HOUR_US = 3.6e9
MINUTE_US = 6e7


@dataclass(frozen=True)
class Measure:
    """One exposure measure as a ratio of sums over people.

    Attributes
    ----------
    key, unit : str
        Name, and unit as printed.
    numerator, denominator : callable
        From the frame of ``release/080_exposure`` to one number a person.
    digits : int
        Decimals published; coarse enough that no sum over people can be read back exactly.
    method : str
        Key of the row in table ``method``.
    guide : callable
        From the settings to the guide, or to None where there is no value to hold it against.
    most : float
        Natural upper bound.
    weekly : bool
        Whether it is published for ISO weeks as well.
    needs_force : bool
        Whether it rests on measured forces of the instruments.
    """

    key: str
    unit: str
    numerator: Column
    denominator: Column
    digits: int
    method: str
    guide: Callable[[Settings], Guide | None] = lambda _: None
    most: float = float("inf")
    weekly: bool = False
    needs_force: bool = False


def _weekly_guide(settings: Settings) -> Guide:
    rules = settings.exposure
    return weekly_hours(rules.yearly_hours_guide, rules.working_weeks_per_year)


def _spell_guide(settings: Settings) -> Guide:
    return replace(SPELL, value=settings.exposure.spell_guide_minutes)


def _force_guide(settings: Settings) -> Guide:
    return replace(PEAK_THUMB_FORCE, value=settings.exposure.thumb_force_guide_n)


MEASURES: tuple[Measure, ...] = (
    Measure(
        "hours_per_week",
        "h/week",
        lambda p: p["pipetting_us"] / HOUR_US,
        lambda p: p["week_days"] / 7,
        2,
        "exposure.hours_per_week",
        _weekly_guide,
        weekly=True,
    ),
    Measure(
        "strokes_per_week",
        "strokes/week",
        lambda p: p["strokes"],
        lambda p: p["week_days"] / 7,
        0,
        "exposure.strokes_per_week",
        weekly=True,
    ),
    Measure(
        "longest_spell",
        "min",
        lambda p: p["longest_us"] / MINUTE_US,
        lambda p: p["days"],
        1,
        "exposure.longest_spell",
        _spell_guide,
    ),
    Measure(
        "long_spell_days",
        "%",
        lambda p: 100 * p["long_days"],
        lambda p: p["days"],
        1,
        "exposure.long_spell_days",
        most=100.0,
    ),
    Measure(
        "beyond_guide_share",
        "%",
        lambda p: 100 * (p["beyond_us"] / HOUR_US),
        lambda p: p["pipetting_us"] / HOUR_US,
        1,
        "exposure.beyond_guide_share",
        most=100.0,
        weekly=True,
    ),
    Measure(
        "micro_rests",
        "1/h",
        lambda p: p["rests_micro"],
        lambda p: p["pipetting_us"] / HOUR_US,
        2,
        "exposure.micro_rests",
    ),
    Measure(
        "force_time",
        "N*s",
        lambda p: p["force_mn_ms"] / 1e6,
        lambda p: p["force_days"],
        0,
        "exposure.force_time",
        needs_force=True,
    ),
    Measure(
        "peak_thumb_force",
        "N",
        lambda p: p["peak_mn_us"] / p["peak_known_us"].where(p["peak_known_us"] > 0, 1) / 1000,
        lambda p: (p["peak_known_us"] > 0).astype(float),
        2,
        "exposure.peak_thumb_force",
        _force_guide,
        needs_force=True,
    ),
    Measure(
        "over_force_share",
        "%",
        lambda p: 100 * p["over_strokes"],
        lambda p: p["peak_strokes"],
        1,
        "exposure.over_force_share",
        most=100.0,
        needs_force=True,
    ),
)
"""In the order in which they are published."""
