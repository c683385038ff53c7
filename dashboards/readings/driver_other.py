"""Beside the main question: other ways to ask it, the other regions, prediction, checks, the diagram."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.labels import interval, number, region_label
from dashboards.readings.base import Reading, listed
from dashboards.readings.drivers import NONE, quarter
from dashboards.readings.exposure import method_words
from dashboards.state import Chosen
from dashboards.tables import Column

EFFECT_COLUMNS = (
    Column("asked", "Asked"),
    Column("numbers", "For that much more"),
    Column("word", "Finding"),
    Column("people_band", "People"),
)
REGION_COLUMNS = (
    Column("region", "Body region", "region"),
    Column("points", "Points for 5 h a week more", "0"),
    Column("range", "95 % interval"),
    Column("label", "Question"),
    Column("fdr", "Among all regions"),
    Column("people_band", "People"),
)
CHECK_COLUMNS = (
    Column("check_name", "Check"),
    Column("verdict", "Outcome"),
    Column("sentence", "What was found"),
)
STEPS = {
    "hours": "5 h a week more",
    "thumb_force": "10 N more thumb force",
    "force": "5 kN\u00b7s a week more force-time",
}
ORDER = (
    ("prevalence", "hours"), ("new onset", "hours"), ("within-worker", "hours"),
    ("prevalence", "thumb_force"), ("prevalence", "force"),
)  # fmt: skip
QUESTIONS = {
    "prevalence": "{}",
    "new onset": "{}, new discomfort only",
    "within-worker": "{}, workers against themselves",
}
KIND = {"goes with more": "rising", "goes with less": "easing", "no clear association": "steady"}


def effects(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the main question asked in other ways: force, dose, new onset, within workers.

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
    rows = frames.frame("driver_effect", period=quarter(frames, chosen), label="main question")
    rows = rows[rows["question"].isin(QUESTIONS)]
    if rows.empty:
        return Reading(None, NONE, "", rows, EFFECT_COLUMNS)
    rows = rows.assign(
        asked=[
            QUESTIONS.get(q, "{}").format(STEPS.get(e, e))
            for q, e in zip(rows["question"], rows["exposure"], strict=True)
        ],
        numbers=[_numbers(row) for row in rows.to_dict("records")],
        order=[ORDER.index((q, e)) for q, e in zip(rows["question"], rows["exposure"], strict=True)],
    ).sort_values("order", ignore_index=True)
    words = rows.loc[rows["exposure"] == "hours", "word"].tolist()
    agree = len(set(words)) == 1
    sentence = (
        "Asked in three ways, hours come out alike."
        if agree
        else "Asked in three ways, hours do not come out alike: be careful with the headline."
    )
    return Reading(
        None,
        sentence,
        f"In brackets the 95 % interval, rounded outward. {method_words(frames, 'driver.effect')} "
        f"{method_words(frames, 'driver.other')}",
        rows,
        EFFECT_COLUMNS,
    )


def _numbers(row: dict) -> str:
    if row["reason"]:
        return str(row["reason"])
    told = f"{row['measure']} {number(row['ratio'], 1)} ({interval(row['low'], row['high'], 1)})"
    if row["points"] == row["points"] and row["points"] is not None:
        points = f"{number(row['points'])} points ({interval(row['points_low'], row['points_high'])})"
        return f"{points}; {told}"
    return told


def regions(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return all regions beside the declared one, each labelled.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        The reading.
    """
    rows = frames.frame(
        "driver_effect", period=quarter(frames, chosen), question="prevalence", exposure="hours"
    )
    rows = rows.assign(
        range=[interval(a, b) for a, b in zip(rows["points_low"], rows["points_high"], strict=True)],
        order=[0 if label == "main question" else 1 for label in rows["label"]],
    ).sort_values(["order", "region"])
    shown = rows[rows["points"].notna()]
    if shown.empty:
        return Reading(None, NONE, "", rows, REGION_COLUMNS, notice="No region is published.")
    plot = pd.DataFrame(
        {
            "label": [_named(r, main) for r, main in zip(shown["region"], shown["order"] == 0, strict=True)],
            "value": shown["points"], "low": shown["points_low"], "high": shown["points_high"],
            "kind": [
                "own" if order == 0 else KIND.get(str(word), "plain")
                for order, word in zip(shown["order"], shown["word"], strict=True)
            ],
            "printed": [
                f"{number(p)} ({r})" + (" \u2022 stands out" if str(f).startswith("stands out") else "")
                for p, r, f in zip(shown["points"], shown["range"], shown["fdr"], strict=True)
            ],
        }
    )  # fmt: skip
    plot["text"] = plot["label"] + ": " + plot["printed"]
    out = [
        region_label(str(r)).lower()
        for r, f in zip(rows["region"], rows["fdr"], strict=True)
        if str(f).startswith("stands out")
    ]
    return Reading(
        RowsPlot(plot, "Points more for 5 h a week more", "Body region", 0.0, "no difference", 30),
        f"Exploratory: {listed(out) if out else 'no other region'} stand{'' if len(out) > 1 else 's'} out "
        "among all regions looked at.",
        f"{shown['people_band'].iloc[0]} people. Only the first region was declared beforehand; the others "
        f"are exploratory. Bars show the 95 % interval. {method_words(frames, 'driver.regions')}",
        rows,
        REGION_COLUMNS,
    )


def _named(region: object, main: bool) -> str:
    return f"{region_label(str(region))}{' (declared)' if main else ''}"


def checks(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the checks of the main question in words.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        A table without a figure.
    """
    rows = frames.frame("driver_check", period=quarter(frames, chosen))
    failed = rows[rows["verdict"] == "fails"]
    if rows.empty:
        sentence = NONE
    elif failed.empty:
        sentence = "No check fails."
    else:
        sentence = f"{len(failed)} of {len(rows)} checks fail; the headline is withheld."
    return Reading(
        None,
        sentence,
        "A failed check withholds the headline; one that informs asks for care.",
        rows,
        CHECK_COLUMNS,
    )
