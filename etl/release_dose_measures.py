"""The dose figures of a release: what is divided by what, which method and edition, against which guide."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from etl.release_measures import HOUR_US, Column
from etl.settings import Settings
from etl.settings_dose import DoseSettings
from models.effort import INTERMITTENT_ENDURANCE
from models.guides import KEPT_UP_EFFORT, YEARLY_HOURS, Guide
from models.hand_activity import EDITIONS
from models.strain_index import RSI_LIMIT

Words = Callable[[DoseSettings], str]


@dataclass(frozen=True)
class DoseMeasure:
    """One dose figure as a ratio of sums over people.

    Attributes
    ----------
    key, unit : str
        Name, and unit as printed; the method row is ``dose.<key>``.
    numerator, denominator : callable
        From one row a unit and person to a number each.
    digits : int
        Decimals published.
    basis : callable
        From the settings to method and edition in words.
    status : str
        How sure method and guide are.
    guide : callable
        From the settings to the guide, or to None.
    guide_words : callable
        What the guide says beyond its number.
    most : float
        Natural upper bound.
    needs_force : bool
        Whether it rests on measured forces; then the known share of the time is published with it.
    known : str
        Seconds whose exertions are known, as the figure needs them.
    """

    key: str
    unit: str
    numerator: Column
    denominator: Column
    digits: int
    basis: Words
    status: str
    guide: Callable[[Settings], Guide | None] = lambda _: None
    guide_words: Words = lambda _: ""
    most: float = float("inf")
    needs_force: bool = True
    known: str = "known_day_seconds"


def _per_day(name: str, factor: float = 1.0) -> tuple[Column, Column]:
    return lambda p: factor * p[name], lambda p: p["known_days"]


def strength_words(s: DoseSettings) -> str:
    """Return what forces are held against, in words.

    Parameters
    ----------
    s : DoseSettings
        Settings in force.

    Returns
    -------
    str
        Norm, percentile and mix.
    """
    norm = "key pinch, nearest to a thumb push" if s.pinch == "thumb" else f"{s.pinch} pinch"
    return (
        f"strength: {norm}, that {100 * s.strength_percentile:g} % of a population of "
        f"{100 * s.share_women:g} % women do not reach"
    )


def _edition(s: DoseSettings) -> str:
    return f"ACGIH TLV for hand activity, edition {s.hand_activity_edition}"


def _counted(s: DoseSettings) -> str:
    least = EDITIONS[s.hand_activity_edition].counted_above_percent_mvc
    return f"exertions above {least:g} % of strength" if least else "all exertions"


def _strain(s: DoseSettings) -> str:
    order = "ranked free of hours" if s.strain_order == "free" else "ranked as printed"
    return (
        f"Revised Strain Index 2017 with COSI and CUSI, {order}; wrist taken as {s.wrist_degrees:g} degrees"
    )


_TLV_STATUS = {year: edition.status for year, edition in EDITIONS.items()}

MEASURES: tuple[DoseMeasure, ...] = (
    DoseMeasure(
        "hours_per_year",
        "h/year",
        lambda p: p["pipetting_us"] / HOUR_US * p["working_weeks"],
        lambda p: p["week_days"] / 7,
        0,
        lambda _: "Bjorksten, Almby & Jansson 1994; an association, not a safe limit",
        "published",
        lambda s: replace(YEARLY_HOURS, value=s.exposure.yearly_hours_guide),
        needs_force=False,
    ),
    DoseMeasure(
        "rest_due",
        "%",
        lambda p: 100 * p["within"],
        lambda p: p["seconds"],
        0,
        lambda s: f"rests of 3-5 min every 20-30 min; time at most {s.rest_due_minutes:g} min after a rest",
        "common practice, no source",
        most=100.0,
        needs_force=False,
    ),
    DoseMeasure(
        "thumb_force",
        "%MVC",
        lambda p: 100 * p["peak_n"] / p["strength_n"],
        lambda p: (p["peak_known_us"] > 0).astype(float),
        0,
        strength_words,
        "strength from memory; guide common practice, no source",
        lambda s: replace(KEPT_UP_EFFORT, value=s.dose.kept_up_percent),
        known="peak_known_seconds",
    ),
    DoseMeasure(
        "mean_load",
        "%MVC",
        lambda p: p["load"],
        lambda p: p["known_seconds"],
        1,
        lambda _: "Bjorksten & Jonsson 1977: mean force kept up for 60 min",
        "guide published; strength from memory",
        lambda s: replace(INTERMITTENT_ENDURANCE, value=s.dose.mean_load_percent),
        lambda s: f"with pauses; {s.sustained_load_percent:g} without any",
        known="known_seconds",
    ),
    DoseMeasure(
        "acceptable_effort",
        "% of acceptable",
        *_per_day("effort_of_acceptable"),
        0,
        lambda s: f"Potvin 2012, duty cycle over {s.shift_hours:g} h; mean effort of a day",
        "formula published (quoted); strength from memory",
        lambda _: Guide("acceptable_effort", 100.0, "%", "higher is more load", "Potvin 2012", "published"),
    ),
    DoseMeasure(
        "hand_activity",
        "of 10",
        *_per_day("hand_activity"),
        1,
        lambda s: f"Radwin et al. 2015, from frequency and duty cycle; {_counted(s)}",
        "published",
        most=10.0,
    ),
    DoseMeasure(
        "peak_force",
        "of 10",
        *_per_day("peak_force"),
        1,
        lambda s: f"{_edition(s)}; for {s.hand_activity_least_hours:g} h a day and more",
        "TLV",
        most=10.0,
    ),
    DoseMeasure(
        "over_threshold",
        "% of days",
        *_per_day("over_threshold", 100.0),
        1,
        lambda s: f"{_edition(s)}; shorter days are outside it and count as not over",
        "TLV",
        most=100.0,
    ),
    DoseMeasure(
        "strain_index",
        "index",
        *_per_day("strain"),
        1,
        _strain,
        "from memory (limit, posture, sums); multipliers cross-checked",
        lambda s: replace(RSI_LIMIT, value=s.dose.strain_limit),
    ),
    DoseMeasure(
        "strain_days",
        "% of days",
        *_per_day("strain_over", 100.0),
        1,
        lambda s: f"days with a Strain Index over {s.strain_limit:g}",
        "from memory",
        most=100.0,
    ),
    DoseMeasure(
        "fatigue_damage",
        "x organisation",
        *_per_day("damage"),
        2,
        lambda s: f"Palmgren-Miner sum, S = {s.damage_intercept:g} - {s.damage_slope:g} log10 N; index only",
        "from memory",
    ),
)
"""In the order in which they are published; the levels of load follow the mean load."""


def status_of(measure: DoseMeasure, settings: DoseSettings) -> str:
    """Return how sure a figure's method and guide are.

    Parameters
    ----------
    measure : DoseMeasure
        The figure.
    settings : DoseSettings
        Says which edition is in force.

    Returns
    -------
    str
        Words for the table.
    """
    if measure.status != "TLV":
        return measure.status
    return f"limit {_TLV_STATUS[settings.hand_activity_edition]}; strength from memory"
