"""Whether a change helped: the published statement, in words and on one scale."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame
from dashboards.labels import interval, number, region_label, spelled
from dashboards.readings.base import Reading, listed
from dashboards.state import Chosen
from dashboards.tables import Column

NOT_JUDGED = (
    "Whether it helped: cannot tell. This edition describes this change and does not judge it: a statement "
    "needs six whole months after its last team had it, and is made once. A before and after of one group "
    "mixes the change with the season, with who answered and with chance."
)
NOT_YET = "No statement on this change is published yet."
COLUMNS = (
    Column("region_words", "Body region"),
    Column("sentence", "Verdict"),
    Column("method_words", "Method, set by the design"),
    Column("reach_words", "What the design can reach"),
    Column("settle", "What would settle it"),
    Column("cost", "Cost"),
)
# The word stands beside each mark; shape and hue follow those of trends.
_KIND = {
    "helped": "easing",
    "worse": "rising",
    "no clear change": "steady",
    "cannot tell": "too few answers",
}
_FOOT = (
    "Points of prevalence against the comparison, below 0 is less discomfort; rounded to 5 points (2 from "
    "50 and 1 from 100 people a side), limits outward, the word drawn before rounding. The method follows "
    "from the design, "
    "never from the result. An association in time and place; what else happened there cannot be ruled out."
)


def effect_rows(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the statement on the chosen change, one row a target region.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Rows of ``change_effect`` and columns of words; empty before a statement is made.
    """
    rows = frames.frame("change_effect", change=chosen.change)
    reach = ["" if pd.isna(p) else _smallest(p) for p in rows["smallest_p"]]
    return rows.assign(
        region_words=[region_label(str(r)) if r else "\u2013" for r in rows["region"]],
        reach_words=[". ".join(filter(None, pair)) for pair in zip(reach, rows["weaker"], strict=True)],
    )


def lead(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return the verdict in words for the first screen.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    str
        One sentence a region, or why there is none.
    """
    rows = effect_rows(frames, chosen)
    if rows.empty:
        return NOT_JUDGED
    told = []
    for sentence, same in rows.groupby("sentence", sort=False):
        regions = _regions(same)
        told.append(f"{regions[:1].upper()}{regions[1:]}: {sentence}" if regions else str(sentence))
    return " ".join(told)


def verdict(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return the published words alone, for a headline.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    str
        Such as "helped in wrist and hand, cannot tell in neck"; "cannot tell" where nothing is stated.
    """
    rows = effect_rows(frames, chosen)
    if (rows["word"] == "cannot tell").all():
        return "cannot tell"
    told = []
    for word, same in rows.groupby("word", sort=False):
        regions = _regions(same)
        told.append(f"{word} in {regions}" if regions else str(word))
    return ", ".join(told)


def _regions(rows: Frame) -> str:
    # A statement without a target region has a dash there.
    return listed([region.lower() for region in rows["region_words"] if region != "\u2013"])


def effect(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the estimates by target region with their intervals.

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
    rows = effect_rows(frames, chosen)
    if rows.empty:
        return Reading(None, "", "", rows, COLUMNS, notice=NOT_YET)
    shown = rows[rows["points"].notna()]
    if shown.empty:
        said = str(rows["sentence"].iloc[0])
        return Reading(None, said, "", rows, COLUMNS, notice="Nothing is estimated.")
    plot = pd.DataFrame(
        {
            "label": shown["region_words"],
            "value": shown["points"].astype(float),
            "low": shown["low"].astype(float),
            "high": shown["high"].astype(float),
            "kind": [_KIND[str(word)] for word in shown["word"]],
            "printed": [
                f"{number(p)} ({interval(low, high)}), {word}"
                for p, low, high, word in zip(
                    shown["points"], shown["low"], shown["high"], shown["word"], strict=True
                )
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    first = shown.iloc[0]
    others = f", {first['other_teams']} other teams ({first['others_band']} people)"
    who = f"{first['changed_teams']} ({first['changed_band']} people)"
    words = "; ".join(f"{r.lower()} {w}" for r, w in zip(rows["region_words"], rows["word"], strict=True))
    return Reading(
        RowsPlot(plot, "Change against the comparison, points", "Body region", 0.0, "no change", 34, True),
        f"{words[:1].upper()}{words[1:]}.",
        f"{who}{others if first['other_teams'] else ', no comparison'}, {spelled(first['periods'])}. {_FOOT}",
        rows,
        COLUMNS,
    )


def evidence(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return what the verdict rests on, in words.

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
    rows = effect_rows(frames, chosen)
    if rows.empty:
        return Reading(None, NOT_YET, "", rows, COLUMNS)
    expected = rows["expected_points"].dropna()
    before = (
        f"Expected before the start: {number(abs(expected.iloc[0]))} points fewer. " if len(expected) else ""
    )
    return Reading(
        None,
        f"{before}The smallest change that matters is taken as {number(rows['meaningful'].iloc[0])} points.",
        "Entries of the register with one title and kind are one change. A statement is made once and not "
        "revised when more months come in.",
        rows,
        COLUMNS if rows["cost"].astype(str).str.strip().any() else COLUMNS[:-1],
    )


def _smallest(p: float) -> str:
    return f"smallest p {p:.3f}" if p >= 0.001 else "smallest p under 0.001"
