"""From logged bouts to what each person's days come to within every unit, before anything is published."""

from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from etl.release_rows import Job
from etl.settings_dose import DoseSettings
from etl.sqlfiles import sql
from models.day_dose import FORCE_CLASSES, DoseRule, day_doses
from models.efforts import Work
from models.fatigue import StressLifeLine
from models.hand_activity import EDITIONS
from models.pinch_norms import THUMB_PUSH, Pinch, Sex, Strength, pinch_strength
from models.strength import strength_percentile

REST = "REST"
UNKNOWN = "UNKNOWN"
CLASS_NAMES = (
    REST,
    *(f"{low:g}-{high:g}" for low, high in pairwise(FORCE_CLASSES)),
    f"OVER {FORCE_CLASSES[-1]:g}",
)
"""Classes of thumb force in percent of strength, as parts of the pipetting time."""

_SUMS = (
    "hand_activity",
    "peak_force",
    "over_threshold",
    "strain",
    "strain_over",
    "effort_of_acceptable",
    "damage",
)


def strength_of(settings: DoseSettings) -> float:
    """Return the strength that forces are held against.

    Parameters
    ----------
    settings : DoseSettings
        Norm, percentile and the site's share of women.

    Returns
    -------
    float
        Newtons.
    """
    women, men = (_norm(settings, sex) for sex in ("F", "M"))
    return float(
        strength_percentile(settings.strength_percentile, settings.share_women, women=women, men=men)
    )


def _norm(settings: DoseSettings, sex: Sex) -> Strength:
    if settings.pinch == "thumb":
        return THUMB_PUSH[sex]
    pinch: Pinch = settings.pinch
    return pinch_strength(pinch, sex)


def dose_rule(settings: DoseSettings) -> DoseRule:
    """Return the rule of the day's figures.

    Parameters
    ----------
    settings : DoseSettings
        Settings of the institute.

    Returns
    -------
    DoseRule
        What `models.day_dose` needs.
    """
    return DoseRule(
        strength_n=strength_of(settings),
        edition=EDITIONS[settings.hand_activity_edition],
        least_hours=settings.hand_activity_least_hours,
        wrist_angle=settings.wrist_degrees,
        strain_limit=settings.strain_limit,
        strain_order=settings.strain_order,
        shift_hours=settings.shift_hours,
        line=StressLifeLine(settings.damage_intercept, settings.damage_slope),
        reference_percent=settings.kept_up_percent,
    )


def dose_of_people(job: Job, first: date, after: date) -> pd.DataFrame:
    """Sum up the figures of each person's days by unit of the temporary table ``release_place``.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.
    first, after : date
        First day of the span, and the day after its last.

    Returns
    -------
    pandas.DataFrame
        One row a unit and person: ``known_days`` and the sums of the figures over them, seconds known and in
        all, ``load`` (%MVC s), ``within`` (s) and the seconds in each of `CLASS_NAMES`.
    """
    settings = job.settings.dose
    rows = job.con.execute(
        sql("release/510_dose_work"),
        {"from": first, "to": after, "due_us": round(settings.rest_due_minutes * 60e6)},
    ).df()
    days: Any = _day_frame(rows, dose_rule(settings))
    places = job.con.execute("select team, level, unit from release_place").df()
    by_team: Any = days.groupby(["person", "team"], sort=False).sum().reset_index()
    placed: Any = by_team.merge(places, on="team").drop(columns="team")
    return placed.groupby(["level", "unit", "person"], sort=True).sum().reset_index()


def _day_frame(rows: pd.DataFrame, rule: DoseRule) -> pd.DataFrame:
    """One row a person-day, its sums zero where it is not known."""
    day = rows["day"].to_numpy(dtype=np.int64)
    whole = len(rows) and int(day[-1]) + 1
    found = day_doses(_work(rows, day, whole), rule)
    opens = np.flatnonzero(np.diff(day, prepend=-1))
    known = found.known
    columns = {name: getattr(found, name) for name in _SUMS if name != "strain_over"}
    columns["strain_over"] = (found.strain > rule.strain_limit).astype(float)
    frame = {name: np.where(known, values, 0.0) for name, values in columns.items()}
    frame |= {
        "known_days": known.astype(float),
        "days": np.ones(whole),
        "seconds": found.seconds,
        "known_seconds": found.known_seconds,
        "known_day_seconds": np.where(known, found.seconds, 0.0),
        "load": found.load,
        "too_many": found.too_many,
        "within": np.bincount(day, weights=rows["within_us"].to_numpy(dtype=float), minlength=whole) / 1e6,
        **dict(zip(CLASS_NAMES, found.classes.T, strict=True)),
    }
    head = rows.iloc[opens][["person", "team"]].reset_index(drop=True)
    return head.assign(**frame)


def _work(rows: pd.DataFrame, day: np.ndarray, days: int) -> Work:
    def column(name: str, scale: float) -> np.ndarray:
        # A missing measurement arrives as NA and stays unknown.
        return rows[name].to_numpy(dtype=float, na_value=np.nan) / scale

    return Work(
        day=day,
        days=days,
        seconds=column("us", 1e6),
        strokes=column("strokes", 1),
        tips=column("tips", 1),
        plunger_n=column("plunger_mn", 1000),
        blow_out_n=column("blow_out_mn", 1000),
        ejection_n=column("ejection_mn", 1000),
        press_s=column("press_ms", 1000),
        eject_s=column("eject_ms", 1000),
    )


def class_parts(people: pd.DataFrame) -> pd.DataFrame:
    """Return the pipetting time by class of thumb force, in the columns of ``release/090_part``.

    Parameters
    ----------
    people : pandas.DataFrame
        From `dose_of_people`.

    Returns
    -------
    pandas.DataFrame
        One row a unit, person and class with any time; time whose exertions are not known is a class of its
        own.
    """
    head = ["level", "unit", "person"]
    times = people[[*head, *CLASS_NAMES]].assign(
        **{UNKNOWN: (people["seconds"] - people["known_seconds"]).clip(lower=0)}
    )
    long: Any = times.melt(head, var_name="part", value_name="time")
    long["us"] = (long["time"] * 1e6).round().astype("int64")
    return long.loc[long["us"] > 0, [*head, "part", "us"]].assign(part_kind="force_class")
