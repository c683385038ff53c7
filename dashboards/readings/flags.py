"""Flags: which teams have worsened against their own past, since when, and what to look at next."""

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.kinds import Frame
from dashboards.labels import AVERAGE, MEASURES, interval, month_label, number, region_label
from dashboards.readings.base import Reading, listed, quarter_until
from dashboards.state import Chosen
from dashboards.tables import Column

COLUMNS = (
    Column("name", "Who"),
    Column("topic_words", "What"),
    Column("period", "Judged for", "period"),
    Column("since_words", "Since about"),
    Column("sentence", "What was seen, how sure"),
    Column("look_next", "Look next"),
)
WEIGHTED_COLUMNS = (
    Column("region", "Body region", "region"),
    Column("item", "Answered it, %"),
    Column("percent", "Of those who answered, %", "0"),
    Column("weighted_percent", "Weighted to all asked, %", "0"),
    Column("low", "If those silent differ, %", "interval"),
)
FOOT = (
    "A team is held against its own first year, never against another team. Flags on discomfort use the "
    "published, rounded quarters; the limit was found by simulation for at most one of 40 teams falsely "
    "flagged a year. A flag is a reason to look, no statement of cause; no flag is no proof of health."
)
LOAD_FOOT = (
    "Published monthly values against the unit's own first twelve months, the baseline's own error included; "
    "made for at most one of 40 teams a year falsely flagged on each measure. A flag is a reason to look, no "
    "statement of cause."
)


def flag_rows(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the newest judgement of each unit and subject, of the chosen unit and everything below it.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows of the month and of the last quarter over by then, with words added.
    """
    rows = frames.frame("flag")
    quarters = sorted(set(rows.loc[rows["period_kind"] == "quarter", "period"]))
    rows = rows[rows["period"].isin([chosen.period, quarter_until(chosen.period, quarters)])]
    below = {u.key: u for u in _below(frames, frames.unit(chosen.unit))}
    keys = rows["level"] + "." + rows["unit"]
    rows = rows[keys.isin(below)].assign(name=[below[k].name for k in keys[keys.isin(below)]])
    rows["topic_words"] = [_topic(s, t) for s, t in zip(rows["subject"], rows["topic"], strict=True)]
    rows["since_words"] = ["" if pd.isna(s) else month_label(str(s)) for s in rows["since"]]
    return rows.reset_index(drop=True)


def _below(frames: ReleaseFrames, unit: Unit) -> list[Unit]:
    if unit.level == "organisation":
        return list(frames.units())
    return [unit, *(t for t in frames.units("team") if unit.level == "cluster" and t.parent == unit.code)]


def _topic(subject: str, topic: str) -> str:
    if subject == "discomfort" and topic == AVERAGE[0]:
        return "Discomfort: all regions together"
    if subject == "discomfort":
        return f"Discomfort: {region_label(topic).lower()}"
    return f"Exposure: {MEASURES[topic].title.lower()}" if topic in MEASURES else f"Exposure: {topic}"


def flags(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the flags of the chosen unit and the units below it.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        Flagged rows in the order of the units; no order by strength.
    """
    return _told(flag_rows(frames, chosen), frames.unit(chosen.unit), FOOT)


def load_flags(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the flags on exposure alone, of the chosen unit and the units below it.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        Flagged rows in the order of the units; no order by strength.
    """
    rows = flag_rows(frames, chosen)
    rows = rows[rows["subject"] == "exposure"].reset_index(drop=True)
    return _told(rows, frames.unit(chosen.unit), LOAD_FOOT)


def _told(rows: Frame, unit: Unit, foot: str) -> Reading:
    judged = rows[rows["word"] != "too few answers"]
    raised = judged[judged["word"] == "flagged"].reset_index(drop=True)
    if rows.empty or judged.empty:
        return Reading(
            None, "", foot, raised, COLUMNS,
            notice=f"No flag can be given for {unit.name} yet: a team needs a published year of its own "
            "and a period after it.",
        )  # fmt: skip
    silent = len(rows) - len(judged)
    tail = f"{len(judged)} series judged" + (f", {silent} with too few answers or months" if silent else "")
    what = "measure" if foot == LOAD_FOOT else "measure or body region"
    series = f"A series is one {what} of one group."
    if raised.empty:
        return Reading(None, f"No flag in {unit.name}: {tail}. {series}", foot, raised, COLUMNS)
    names = listed(sorted(set(raised["name"])))
    return Reading(None, f"{len(raised)} flagged, in {names}; {tail}. {series}", foot, raised, COLUMNS)


def weighted(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the organisation's shares beside those weighted to everybody asked.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        One row a body region.
    """
    whole = frames.organisation()
    rows = frames.frame("weighted", period=chosen.period, level=whole.level, unit=whole.code)
    asked = frames.frame("item_response", period=chosen.period, level=whole.level, unit=whole.code)
    known = asked[asked["percent"].notna()]
    items = dict(zip(known["region"], known["percent"], strict=True))
    rows = rows.assign(item=[number(items[r], 0) if r in items else "\u2013" for r in rows["region"]])
    shown = rows[rows["weighted_percent"].notna()]
    foot = (
        "Answered it: of those who answered anything. Each cluster's published share counts for all its "
        "people, whether or not they answered. The last column shows where the share of everybody would lie "
        "if the odds of those silent were half, or twice, those of the others: weighting cannot tell, as "
        "people may be silent because they ache, or because they do not."
    )
    if shown.empty:
        return Reading(
            None, "", foot, rows, WEIGHTED_COLUMNS, notice="No weighted share is published for this month."
        )
    moved = (shown["weighted_percent"] - shown["percent"]).astype(float)
    most = shown.loc[moved.abs().idxmax()]
    band = interval(most["low"], most["high"], 0, "%")
    sentence = (
        f"Weighting to everybody asked moves no region by more than {number(moved.abs().max())} points; "
        f"furthest: {region_label(str(most['region'])).lower()}, {number(most['percent'])} % to "
        f"{number(most['weighted_percent'])} % ({band} if those silent differ)."
    )
    return Reading(None, sentence, foot, rows, WEIGHTED_COLUMNS)
