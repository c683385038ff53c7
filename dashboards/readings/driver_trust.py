"""How far the main association can be trusted: asked otherwise, corrected, doubted, all from the release."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import interval, number
from dashboards.readings.base import Reading
from dashboards.readings.drivers import NONE, main_row, quarter
from dashboards.readings.exposure import method_words
from dashboards.state import Chosen
from dashboards.tables import Column

TITLE = "How far to trust it"
COLUMNS = (
    Column("way", "Looked at as"),
    Column("numbers", "5 h a week more"),
    Column("reading", "What it says"),
)
METHODS = ("driver.sensitivity", "driver.e_value", "driver.corrected", "driver.together")
_OF_EFFECTS = (
    ("prevalence", "As stated", ""),
    ("within-worker", "Workers against themselves", "What never changes about a person cancels out: "),
    ("correlated answers", "A worker's answers correlated", "Beside it, teams not allowed for: "),
    ("random intercepts", "Given a worker's own level", "Lies further from 1 by its nature: "),
)


def trust(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the main association as stated, asked otherwise, corrected, doubted, and with other regions.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        A table: ratios of different measures share no figure.
    """
    at = quarter(frames, chosen)
    stated = main_row(frames, "driver_statement", at)
    if stated is None:
        return Reading(None, NONE, "", pd.DataFrame(columns=["way", "numbers", "reading"]), COLUMNS)
    asked = frames.frame("driver_effect", period=at, label="main question", exposure="hours")
    worked_out = frames.frame("driver_trust", period=at, region=stated["region"], exposure="hours")
    rows = pd.DataFrame([*_asked(asked), *_worked_out(worked_out)], columns=["way", "numbers", "reading"])
    methods = " ".join(method_words(frames, key) for key in METHODS)
    if rows.empty:
        notice = "No numbers are published that could be looked at more closely."
        return Reading(None, str(stated["sentence"]), methods, rows, COLUMNS, notice=notice)
    return Reading(
        None,
        _sentence(worked_out),
        f"In brackets the 95 % interval. An association, however far it is trusted, is no proof of a cause. "
        f"{methods}",
        rows,
        COLUMNS,
    )


def _asked(effects: Frame) -> list[tuple[str, str, str]]:
    rows = []
    for question, way, before in _OF_EFFECTS:
        for row in effects[effects["question"] == question].to_dict("records"):
            numbers = (
                f"{row['measure']} {number(row['ratio'], 1)} ({interval(row['low'], row['high'], 1)})"
                if not row["reason"]
                else str(row["reason"])
            )
            words = row["word"] if row["reason"] else f"{before}{row['word']}"
            rows.append((way, numbers, f"{words[:1].upper()}{words[1:]}."))
    return rows


def _worked_out(rows: Frame) -> list[tuple[str, str, str]]:
    found = []
    corrected = rows[rows["way"] == "corrected for hours misreported"].sort_values("reliability")
    if len(corrected):
        found.append(_corrected(corrected))
    for row in rows[rows["way"] == "E-value"].to_dict("records"):
        numbers = f"{number(row['ratio'], 1)} (of the limit {number(row['low'], 1)})"
        found.append(("E-value", numbers, str(row["sentence"])))
    for row in rows[rows["way"] == "regions together"].to_dict("records"):
        found.append(("All regions together", _ratio(row), str(row["sentence"])))
    return found


def _corrected(rows: Frame) -> tuple[str, str, str]:
    """Return the row that spans all reliabilities told; the middle one in words."""
    first, middle, last = (rows.iloc[k] for k in (0, len(rows) // 2, -1))
    numbers = (
        f"{interval(last['ratio'], first['ratio'], 1)} times "
        f"({interval(rows['low'].min(), rows['high'].max(skipna=False), 1)})"
    )
    span = interval(100 * first["reliability"], 100 * last["reliability"], 0, "%")
    words = f"{middle['sentence']} The span is that of {span} true."
    return "Corrected for hours misreported", numbers, words


def _ratio(row: dict) -> str:
    return f"{number(row['ratio'], 1)} times ({interval(row['low'], row['high'], 1)})"


def _sentence(rows: Frame) -> str:
    doubt = rows[rows["way"] == "E-value"]
    if doubt.empty:
        return "The main association has no published ratio that could be doubted in numbers."
    first = doubt.iloc[0]
    return (
        f"To account for all of it, something not measured would have to go with hours and with discomfort "
        f"{number(first['ratio'], 1)} times each."
    )
