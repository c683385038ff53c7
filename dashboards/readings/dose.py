"""The dose of a group as the trade measures it, and whom its stations fit; exposure only, no health."""

from typing import Any

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import interval, missing, number
from dashboards.state import Chosen
from dashboards.tables import Column
from etl.errors import EvenhandError

DOSE_COLUMNS = (
    Column("title", "Measure"),
    Column("value", "Value", "2"),
    Column("low", "95 % interval", "interval"),
    Column("value_unit", "Unit"),
    Column("guide", "Guide", "1"),
    Column("standing", "Standing"),
    Column("known_percent", "Time known, %", "0"),
    Column("basis", "Method and edition"),
    Column("status", "How sure"),
    Column("n_band", "People"),
)
STATION_COLUMNS = (
    Column("station", "Station"),
    Column("team", "Team"),
    Column("observed_on", "Seen on", "date"),
    Column("bench_height_mm", "Bench, mm", "0"),
    Column("standing_women", "Women standing, %", "0"),
    Column("standing_men", "Men standing, %", "0"),
    Column("seated_women", "Women seated, %", "0"),
    Column("seated_men", "Men seated, %", "0"),
    Column("either_low", "Either, at least, %", "0"),
    Column("either_high", "Either, at most, %", "0"),
    Column("best_change", "Would raise it most"),
    Column("best_posture", "Posture"),
    Column("best_after", "Then, %", "0"),
)


def dose(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return a group's dose figures of the month in the order of the methods.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows with ``title`` (of the method) and ``printed``; empty where the edition has none.
    """
    rows = _known(frames, "dose", period=chosen.period, level=chosen.level, unit=chosen.code)
    titles = dict(_methods(frames))
    place = {key: k for k, key in enumerate(titles)}
    rows = rows.assign(
        title=[titles.get(key, key) for key in rows["method"]],
        printed=[_printed(row) for row in rows.to_dict("records")],
        place=[place.get(key, len(place)) for key in rows["method"]],
    )
    return rows.sort_values("place", kind="stable").drop(columns="place").reset_index(drop=True)


_CLASSES = ("REST", "0-5", "5-10", "10-20", "20-30", "30-50", "50-70", "70-100", "OVER 100", "UNKNOWN")
_CLASS_WORDS = {"REST": "no press", "OVER 100": "over 100 %MVC", "UNKNOWN": "not measured"}


def force_classes(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return how the pipetting time of a group divides by class of thumb force, in words.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    str
        Empty where the edition has no such parts; hidden ones are counted.
    """
    rows = frames.frame(
        "exposure_part",
        period=chosen.period,
        level=chosen.level,
        unit=chosen.code,
        part_kind="force_class",
    )
    shown = {row["part"]: row["share_percent"] for row in rows.to_dict("records") if not row["reason"]}
    told = [
        f"{_CLASS_WORDS.get(part, f'{part} %MVC')} {number(shown[part])} %"
        for part in _CLASSES
        if part in shown
    ]
    if not told:
        return ""
    hidden = len(rows) - len(shown)
    many = "class" if hidden == 1 else "classes"
    rest = f"; {hidden} {many} not shown: group too small" if hidden else ""
    return f"Time by thumb force: {', '.join(told)}{rest}."


def _known(frames: ReleaseFrames, name: str, **equals: Any) -> Frame:
    """Return rows of a table that editions made by an earlier version do not have."""
    try:
        return frames.frame(name, **equals)
    except EvenhandError:
        columns = {
            "dose": DOSE_COLUMNS,
            "station_fit": STATION_COLUMNS,
            "reliability": (Column("period", "Period"), Column("sentence", "What is known")),
        }[name]
        return pd.DataFrame(columns=[*(column.name for column in columns), "method", "printed", "reason"])


def _methods(frames: ReleaseFrames) -> list[tuple[str, str]]:
    rows = frames.frame("method")
    # The order in which a reader meets them: hours and rest, force, hand activity, strain, damage.
    wanted = [f"dose.{key}" for key in ORDER]
    titles = dict(zip(rows["key"], rows["title"], strict=True))
    return [(key, str(titles.get(key, key))) for key in wanted]


ORDER = (
    "hours_per_year", "rest_due", "thumb_force", "mean_load", "load_static", "load_median", "load_peak",
    "acceptable_effort", "hand_activity", "peak_force", "over_threshold", "strain_index", "strain_days",
    "fatigue_damage",
)  # fmt: skip
_WHOLE = {"hours_per_year", "rest_due", "thumb_force", "acceptable_effort"}


def _printed(row: dict[str, Any]) -> str:
    if row["reason"] or missing(row["value"]):
        return str(row["reason"])
    digits = 0 if row["measure"] in _WHOLE else 2 if row["measure"] == "fatigue_damage" else 1
    value = f"{number(row['value'], digits)} {row['value_unit']}"
    return f"{value} ({interval(row['low'], row['high'], digits)})"


def stations(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the stations of a group's teams, those that fit fewest first.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows.
    """
    rows = _known(frames, "station_fit", period=chosen.period)
    unit = frames.unit(chosen.unit)
    if unit.level != "organisation":
        teams = {u.code for u in frames.units("team") if unit.code in (u.code, u.parent)}
        rows = rows[rows["team"].isin(teams)]
    return rows.sort_values(["either_low", "station"], na_position="last").reset_index(drop=True)


def reliability(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the newest statement on reported hours up to the chosen month.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows of one quarter's end; empty before the first.
    """
    rows = _known(frames, "reliability")
    rows = rows[rows["period"] <= chosen.period]
    return rows[rows["period"] == rows["period"].max()].reset_index(drop=True)
