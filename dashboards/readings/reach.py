"""Whether a change reached the work, and what discomfort did meanwhile; described, not evaluated."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.figures.series import SeriesPlot
from dashboards.kinds import Day
from dashboards.labels import (
    MEASURES,
    interval,
    month_label,
    number,
    region_label,
    spelled,
)
from dashboards.readings.base import INTERVAL, Reading, hidden_words, inside
from dashboards.readings.changes import chosen_row
from dashboards.readings.health import HEALTH_COLUMNS, PERCENT_AXIS, region_series
from dashboards.state import Chosen
from dashboards.tables import Column

REACH_COLUMNS = (
    Column("measure", "Measure", "measure"),
    Column("side", "Side"),
    Column("periods", "Months"),
    Column("value", "Value", "1"),
    Column("low", "95 % interval", "interval"),
    Column("value_unit", "Unit"),
    Column("n_band", "People"),
)


def reach(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the exposure of changed and other teams before and after the start.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State; the measure falls back to the first one published for this change.

    Returns
    -------
    Reading
        The reading.
    """
    rows = frames.frame("change_reach", change=chosen.change)
    if rows.empty:
        why = "No before and after is published: the change has not started, or too few months have passed."
        return Reading(None, "", "", rows, REACH_COLUMNS, notice=why)
    published = list(dict.fromkeys(rows["measure"]))
    key = chosen.measure if chosen.measure in published else published[0]
    rows = rows[rows["measure"] == key].reset_index(drop=True)
    measure = MEASURES[key]
    # Period spans sort by their first month, so the earlier one is the time before.
    spans = sorted(set(rows["periods"]), key=_first_month)
    order = {span: place for place, span in enumerate(spans)}
    rows = rows.assign(place=[order[p] for p in rows["periods"]])
    rows = rows.sort_values(["side", "place"]).drop(columns="place").reset_index(drop=True)
    digits = measure.digits
    when = {span: "before" if order[span] == 0 else "after" for span in spans}
    plot = pd.DataFrame(
        {
            "label": [f"{_side(s)}, {when[p]}" for s, p in zip(rows["side"], rows["periods"], strict=True)],
            "value": rows["value"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": [when[p] for p in rows["periods"]],
            "printed": [
                str(r["reason"])
                if r["reason"]
                else f"{number(r['value'], digits)} ({interval(r['low'], r['high'], digits)})"
                for _, r in rows.iterrows()
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    own = rows[rows["side"].str.lower().str.startswith("chang")]
    told = [
        f"{when[r['periods']]} "
        + (inside(r["reason"]) if r["reason"] else f"{number(r['value'], digits)} {measure.unit}")
        for _, r in own.iterrows()
    ]
    sentence = f"{measure.title} of the changed teams: {'; '.join(told)}"
    bands = ", ".join(sorted(set(rows["n_band"].dropna())))
    months = "; ".join(f"{when[span]} {spelled(span)}" for span in spans)
    foot = (
        f"People: {bands or 'not shown'}. {INTERVAL} Months: {months}. "
        "Reach asks whether the work changed, not whether anybody feels better."
    )
    if key != chosen.measure:
        foot += (
            f" {MEASURES[chosen.measure].title} is not published for this change." if chosen.measure else ""
        )
    return Reading(
        RowsPlot(plot, measure.axis, "Teams", row_height=34, from_zero=False),
        f"{sentence}.",
        foot,
        rows,
        REACH_COLUMNS,
    )


def _first_month(span: str) -> tuple[int, str]:
    place = {"before": 0, "after": 1}
    word = span.split()[0].lower() if span.split() else span
    return (place.get(word, 0), span)


def _side(side: str) -> str:
    return {"changed": "Changed teams", "others": "Other teams", "other": "Other teams"}.get(
        side.lower(), side
    )


def discomfort(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the discomfort of the changed team's cluster with the start marked.

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
    row = chosen_row(frames, chosen)
    if row is None:
        empty = frames.frame("health").iloc[:0]
        return Reading(None, "", "", empty, HEALTH_COLUMNS, notice="No change is chosen.")
    team = next((u for u in frames.units("team") if u.code == row["team"]), None)
    cluster = frames.cluster_of(team) if team else frames.organisation()
    rows = region_series(frames, cluster, chosen.region, chosen.period)
    shown = rows[rows["reason"] == ""]
    if shown.empty:
        words = "; ".join(sorted(set(rows["reason"]) - {""})) or "Not in this edition."
        return Reading(None, "", "", rows, HEALTH_COLUMNS, notice=words)
    own_rows = rows
    parts = [rows]
    if cluster.level != "organisation":
        top = frames.organisation()
        parts.append(region_series(frames, top, chosen.region, chosen.period).assign(series="other"))
    started: Day = pd.Timestamp(row["started"])
    mark = ((started, "started"),) if pd.notna(row["started"]) else ()
    last = shown.iloc[-1]
    sentence = (
        f"{cluster.name}, {region_label(chosen.region).lower()}: {number(last['value'])} % "
        f"({interval(last['low'], last['high'], 0, '%')}) in {month_label(last['period'])}."
    )
    note = (
        f"The changed team is one part of {cluster.name}; a team's months are not published. "
        if cluster.level == "cluster"
        else ""
    )
    band = f"{last['n_band']} people answered. " if last["n_band"] else ""
    return Reading(
        SeriesPlot(pd.concat(parts, ignore_index=True), PERCENT_AXIS, marks=mark, height=290),
        sentence,
        f"{note}{band}{INTERVAL} {hidden_words(own_rows)} Describes, does not evaluate.",
        rows,
        HEALTH_COLUMNS,
    )
