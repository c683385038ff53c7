"""What goes with discomfort: the declared main question, its curve, the months back and the budget."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.dose_curve import CurvePlot
from dashboards.kinds import Frame, Row
from dashboards.labels import interval, missing, month_label, number, region_label, spelled
from dashboards.readings.base import Answer, Fact, Reading, quarter_until
from dashboards.readings.exposure import method_words
from dashboards.state import Chosen
from dashboards.tables import Column

NONE = (
    "No statement on what goes with discomfort is published up to this month: it takes twelve months of "
    "answers and is made at the close of a quarter."
)
EARLIER = "stated earlier"
RULE = "one statement a year, and only as many as the number of people allows"
ASSOCIATION = (
    "An association, not a cause: people who pipette more may differ in other ways, and people in pain may "
    "pipette less."
)
CURVE_COLUMNS = (
    Column("x", "Hours a week", "1"),
    Column("percent", "With discomfort, %", "0"),
    Column("low", "95 % interval", "interval"),
    Column("kind", "Curve"),
    Column("people_band", "People"),
)


def quarter(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return the newest quarter stated by the chosen month, held until the next; empty if none."""
    rows = frames.frame("driver_statement")
    return quarter_until(chosen.period, list(rows.loc[rows["word"] != EARLIER, "period"]))


def held_over(frames: ReleaseFrames, chosen: Chosen, at: str) -> str:
    """Return why the numbers shown are those of an earlier quarter; empty where they are not.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    at : str
        Quarter stated.

    Returns
    -------
    str
        One sentence.
    """
    rows = frames.frame("driver_statement")
    newest = quarter_until(chosen.period, list(rows["period"]))
    if newest <= at:
        return ""
    why = str(rows.loc[rows["period"] == newest, "reason"].iloc[0]).partition("; ")[2]
    more = f" It is {why}." if why.startswith("said again") else ""
    return f" Stated for {quarter_words(at)}; {RULE}.{more}"


def quarter_words(at: str) -> str:
    """Return a quarter in words, ``Q3 2025``."""
    return f"{at[5:]} {at[:4]}"


def main_row(frames: ReleaseFrames, table: str, at: str) -> Row | None:
    """Return the first row of the main question in a table, or None.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    table : str
        A ``driver_`` table.
    at : str
        Quarter.

    Returns
    -------
    pandas.Series or None
        The row.
    """
    rows = frames.frame(table, period=at)
    return None if rows.empty else rows.iloc[0]


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return the first screen's answer: does more pipetting go with more discomfort, and how much.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Answer
        Words of the release.
    """
    at = quarter(frames, chosen)
    name = frames.organisation().name
    if not at:
        return Answer(name, "What goes with discomfort is not stated yet.", NONE)
    stated = main_row(frames, "driver_statement", at)
    assert stated is not None, "a quarter is taken from this table"
    region = region_label(str(stated["region"]))
    eyebrow = f"{name} \u00b7 {month_label(at)} \u00b7 {spelled(stated['months'])}"
    if not missing(stated["people_band"]):
        eyebrow += f" \u00b7 {stated['people_band']} people, {stated['teams']} teams"
    headline = _HEADLINES[str(stated["word"])].format(region=region)
    said = f"{stated['sentence']}{_rounded(frames, at)}"
    since = held_over(frames, chosen, at)
    if since:
        eyebrow += f" \u00b7 stated for {quarter_words(at)}"
    lead = f"{said} Adjusted for {stated['adjusted']}.{since} {ASSOCIATION}"
    return Answer(eyebrow, headline, lead, tuple(_facts(frames, at)))


_HEADLINES = {
    "goes with more": "{region}: more pipetting goes with more discomfort.",
    "goes with less": "{region}: more pipetting goes with less discomfort.",
    "no clear association": "{region}: no clear association of pipetting hours with discomfort.",
    "cannot be estimated": "{region}: whether hours go with discomfort cannot be told.",
}


def _rounded(frames: ReleaseFrames, at: str) -> str:
    """Return why a limit reads as no difference although the word says more or less; else nothing."""
    rows = frames.frame("driver_effect", period=at, label="main question", question="prevalence")
    rows = rows[(rows["exposure"] == "hours") & rows["points"].notna()]
    if rows.empty:
        return ""
    word, low, high = rows[["word", "points_low", "points_high"]].iloc[0]
    if word == "goes with more" and low <= 0:
        return f" Limits are rounded outward: the lower one, above 0, reads {number(low)}."
    if word == "goes with less" and high >= 0:
        return f" Limits are rounded outward: the upper one, below 0, reads {number(high)}."
    return ""


def _facts(frames: ReleaseFrames, at: str) -> list[Fact]:
    facts = []
    effects = frames.frame("driver_effect", period=at, label="main question", question="prevalence")
    for exposure, name in (("hours", "5 h a week more"), ("thumb_force", "10 N more thumb force")):
        own = effects[(effects["exposure"] == exposure) & effects["points"].notna()]
        if len(own):
            row = own.iloc[0]
            facts.append(
                Fact(
                    name,
                    f"{_signed(row['points'])} points",
                    f"{interval(row['points_low'], row['points_high'])} (95 % interval); "
                    f"{number(row['ratio'], 1)} times",
                )
            )
    budget = main_row(frames, "driver_budget", at)
    if budget is not None and not budget["reason"]:
        known = not missing(budget["hours"])
        least = "" if missing(budget["low"]) else f"not before {number(budget['low'])} h, 95 % confidence"
        value = f"{number(budget['hours'])} h a week" if known else "cannot be estimated"
        facts.append(Fact(f"Hours to {number(budget['rise'])} points more", value, least))
    share = main_row(frames, "driver_share", at)
    if share is not None and not share["reason"]:
        facts.append(
            Fact(
                f"Goes with hours above {number(share['above_hours'], 1)}",
                f"{number(share['percent'])} %",
                f"of all discomfort ({interval(share['low'], share['high'], 0, '%')})",
            )
        )
    return facts


def _signed(value: object) -> str:
    printed = number(value)
    return printed if printed.startswith("\u2212") or printed == "0" else f"+{printed}"


def curve(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the curve over hours, with the budget, the guide and the groups' hours on it.

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
    at = quarter(frames, chosen)
    rows = frames.frame("driver_curve", period=at)
    shown = rows[(rows["kind"] == "average") & rows["percent"].notna()]
    budget = main_row(frames, "driver_budget", at)
    if shown.empty:
        why = NONE if rows.empty else str(rows["reason"].iloc[0])
        return Reading(None, why, "", rows, CURVE_COLUMNS, notice="No curve is published.")
    beside = rows[(rows["kind"] == "monotone") & rows["percent"].notna()]
    rug = _rug(frames, at)
    marks = []
    share = main_row(frames, "driver_share", at)
    if share is not None:
        marks.append((float(share["above_hours"]), f"guide {number(share['above_hours'], 1)}"))
    if budget is not None and not missing(budget["hours"]):
        marks.append((float(budget["hours"]), f"budget {number(budget['hours'])}"))
    region = region_label(str(shown["region"].iloc[0]))
    plot = CurvePlot(
        _points(shown), _points(beside), rug, tuple(marks),
        f"{region}, expected share with discomfort, %", "Pipetting, hours per person and week",
        ("average", "rising only") if len(beside) else ("", ""),
    )  # fmt: skip
    sentence = str(budget["sentence"]) if budget is not None else ""
    foot = " ".join(
        part
        for part in (
            f"{shown['people_band'].iloc[0]} people. Band: the 95 % interval at each point.",
            f"Ticks below: hours of {len(rug)} teams in the last month." if len(rug) else "",
            "Dashed: a curve that may only rise." if len(beside) else "",
            method_words(frames, "driver.curve"),
            method_words(frames, "driver.budget"),
        )
        if part
    )
    return Reading(plot, sentence, foot, rows, CURVE_COLUMNS)


def _points(rows: Frame) -> Frame:
    return pd.DataFrame(
        {
            "x": rows["x"].astype(float),
            "value": rows["percent"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "text": [
                f"{number(x, 1)} h a week: {number(p)} % ({interval(low, high, 0, '%')})"
                for x, p, low, high in zip(rows["x"], rows["percent"], rows["low"], rows["high"], strict=True)
            ],
        }
    )


def _rug(frames: ReleaseFrames, at: str) -> Frame:
    month = f"{at[:4]}-{3 * int(at[-1]):02d}"
    rows = frames.frame("exposure", period=month, level="team", measure="hours_per_week")
    rows = rows[rows["value"].notna()]
    names = {unit.code: unit.name for unit in frames.units("team")}
    words = [
        f"{names.get(u, u)}: {number(v, 1)} h a week"
        for u, v in zip(rows["unit"], rows["value"], strict=True)
    ]
    return pd.DataFrame({"x": rows["value"].astype(float), "text": words})
