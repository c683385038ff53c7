"""What moved: each body region against the same month a year before."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame
from dashboards.labels import REGIONS, interval, month_label, number, region_label
from dashboards.readings.base import (
    INTERVAL,
    Reading,
    year_before,
)
from dashboards.state import Chosen
from dashboards.tables import Column

TREND_COLUMNS = (
    Column("region", "Body region", "region"),
    Column("points", "Change, percentage points", "0"),
    Column("low", "95 % interval, points", "interval"),
    Column("word", "In a word"),
    Column("compared_with", "Against", "period"),
)


def trend_rows(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return this month's changes against a year before, one row a region in the order of the body."""
    rows = frames.frame("trend", period=chosen.period, level=chosen.level, unit=chosen.code)
    rows = rows[rows["region"].isin(REGIONS)]
    return rows.sort_values("region", key=lambda r: r.map(list(REGIONS).index)).reset_index(drop=True)


def moved(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the change of each body region against the same month a year before."""
    unit = frames.unit(chosen.unit)
    rows = trend_rows(frames, chosen)
    if rows.empty:
        why = (
            "A team's discomfort is published by quarter, so there is no monthly change; "
            "see the quarters below."
            if unit.level == "team"
            else f"No {month_label(year_before(chosen.period))} in this release to compare with."
        )
        return Reading(None, "", "", rows, TREND_COLUMNS, notice=why)
    plot = pd.DataFrame(
        {
            "label": [region_label(r) for r in rows["region"]],
            "value": rows["points"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": rows["word"],
        }
    )
    # A word that all rows share is said once, in the sentence.
    alike = rows["word"].nunique() == 1
    plot["printed"] = [
        f"{number(p)} ({interval(a, b)}){'' if alike else f', {w}'}" if p == p else str(w)
        for p, a, b, w in zip(plot["value"], plot["low"], plot["high"], rows["word"], strict=True)
    ]
    plot["text"] = [f"{a}: {b}" for a, b in zip(plot["label"], plot["printed"], strict=True)]
    before = month_label(str(rows["compared_with"].iloc[0]))
    sentence = _extremes(rows, before)
    foot = (
        f"{INTERVAL} Triangle up: rising; square: steady; triangle down: easing; diamond: "
        "too few answers to say. Nine comparisons stand side "
        "by side: were the regions independent and nothing changing, about one month in three would still "
        "show a region moving by chance. A change between two months is not evidence of a cause."
    )
    return Reading(
        RowsPlot(
            plot,
            "Change in share with discomfort, points",
            "Body region",
            mark=0.0,
            mark_label=f"as in {before}",
            symmetric=True,
        ),
        sentence,
        foot,
        rows,
        TREND_COLUMNS,
    )


def _extremes(rows: Frame, before: str) -> str:
    known = rows[rows["word"] != "too few answers"]
    if known.empty:
        return "Too few answers in either month to compare any region."
    top = known.loc[known["points"].astype(float).idxmax()]
    end = known.loc[known["points"].astype(float).idxmin()]
    return (
        f"Furthest up since {before}: {region_label(top['region']).lower()}, {number(top['points'])} points "
        f"({interval(top['low'], top['high'])}). Furthest down: {region_label(end['region']).lower()}, "
        f"{number(end['points'])} points ({interval(end['low'], end['high'])})."
    )
