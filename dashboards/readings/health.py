"""Discomfort as published: which period a group has, its regions over time, groups side by side."""

from itertools import pairwise

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.figures.rows import RowsPlot
from dashboards.figures.small import SmallPlot
from dashboards.kinds import Frame
from dashboards.labels import AVERAGE, interval, month_label, number, region_label
from dashboards.readings.base import (
    INTERVAL,
    ZERO,
    Reading,
    hidden_words,
    listed,
    quarter_until,
    until,
)
from dashboards.readings.counting import case_words, counted_words, stretches
from dashboards.state import Chosen
from dashboards.tables import Column

PERCENT_AXIS = "People with discomfort, %"


HEALTH_COLUMNS = (
    Column("period", "Period", "period"),
    Column("region", "Body region", "region"),
    Column("percent", "With discomfort, %", "0"),
    Column("low", "95 % interval, %", "interval"),
    Column("n_band", "People who answered"),
)


def health_kind(unit: Unit) -> str:
    """Return the period kind in which a unit's health is published."""
    return "quarter" if unit.level == "team" else "month"


def health_period(frames: ReleaseFrames, chosen: Chosen, unit: Unit) -> str:
    """Return the period of health to show: the month, or for a team the last quarter over by then.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    unit : Unit
        Whose health.

    Returns
    -------
    str
        Period code; empty if there is none.
    """
    if unit.level != "team":
        return chosen.period
    quarters = frames.frame("health", level="team", unit=unit.code, period_kind="quarter")["period"]
    return quarter_until(chosen.period, sorted(set(quarters)))


def region_series(frames: ReleaseFrames, unit: Unit, region: str, month: str) -> Frame:
    """Return one region's published periods of a unit, in the columns of a time figure.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    unit : Unit
        Whose health.
    region : str
        Region code, or ``ALL`` for the average.
    month : str
        Last month wanted.

    Returns
    -------
    pandas.DataFrame
        Release rows with ``x``, ``value``, ``text``, ``name``, ``series`` and ``begins`` (another way of
        counting, not comparable with before) added.
    """
    where = {"level": unit.level, "unit": unit.code, "period_kind": health_kind(unit)}
    if region == AVERAGE[0]:
        rows = frames.frame("health_average", **where).assign(region=region, n_band="")
    else:
        rows = frames.frame("health", region=region, **where)
    rows = until(rows, month)
    rows = rows.assign(
        series="own",
        name=unit.name,
        value=rows["percent"].astype(float),
        low=rows["low"].astype(float),
        high=rows["high"].astype(float),
    )
    rows["smooth"] = _smooth(frames, rows, where | {"region": region})
    found = stretches(frames, rows["period"])
    begun = {b.first for a, b in pairwise(found) if a.comparable_from != b.comparable_from}
    rows["begins"] = rows["period"].isin(begun)
    rows["text"] = [
        f"{month_label(p)}: {why}" if why else f"{month_label(p)}: {number(v)} % ({interval(a, b, 0, '%')})"
        for p, why, v, a, b in zip(
            rows["period"], rows["reason"], rows["value"], rows["low"], rows["high"], strict=True
        )
    ]
    return rows


def _smooth(frames: ReleaseFrames, rows: Frame, where: dict[str, str]) -> pd.Series:
    line = frames.frame("smooth", **where)
    return (
        rows["period"]
        .map(dict(zip(line["period"], line["percent"].astype(float), strict=True)))
        .astype(float)
    )


def region(frames: ReleaseFrames, chosen: Chosen, code: str, top: float) -> Reading:
    """Return one small multiple: a region over the months, the organisation beside a cluster or team.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    code : str
        Region code.
    top : float
        Common top of the axes, %.

    Returns
    -------
    Reading
        The reading; ``title`` carries region and latest value.
    """
    unit = frames.unit(chosen.unit)
    rows = region_series(frames, unit, code, chosen.period)
    parts = [rows]
    if unit.level != "organisation":
        parts.append(region_series(frames, frames.organisation(), code, chosen.period).assign(series="other"))
    if rows.empty or rows["value"].isna().all():
        words = "; ".join(sorted(set(rows["reason"]) - {""})) or "not in this edition"
        return Reading(None, "", "", rows, HEALTH_COLUMNS, notice=words, title=region_label(code))
    last = rows[rows["value"].notna()].iloc[-1]
    span = interval(last["low"], last["high"], 0, "%")
    sentence = f"{number(last['value'])} % ({span}), {month_label(last['period'])}"
    words = f"{region_label(code)}, {len(rows)} {health_kind(unit)}s, the newest {sentence}."
    plot = SmallPlot(pd.concat(parts, ignore_index=True), top, f"{words} {hidden_words(rows)}".strip())
    return Reading(plot, sentence, hidden_words(rows), rows, HEALTH_COLUMNS, title=region_label(code))


def common_top(frames: ReleaseFrames, chosen: Chosen) -> float:
    """Return one axis top for all nine small multiples, so that heights can be compared."""
    unit = frames.unit(chosen.unit)
    rows = frames.frame("health", level=unit.level, unit=unit.code, period_kind=health_kind(unit))
    top = float(rows["high"].max()) if rows["high"].notna().any() else 50.0
    return min(100.0, 10.0 * (int(top) // 10 + 1)) * 1.03


def regions_foot(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return who was counted in the small multiples."""
    unit = frames.unit(chosen.unit)
    period = health_period(frames, chosen, unit)
    rows = frames.frame("health", period=period, level=unit.level, unit=unit.code)
    bands = sorted(set(rows["n_band"].dropna()))
    step = "5-point steps" if unit.level == "team" else "steps that grow coarser below 100 answers"
    other = "" if unit.level == "organisation" else " Grey: the organisation by month."
    line = frames.frame("smooth", level=unit.level, unit=unit.code)
    smooth = " Line: the weighted average of published values, the newest one quarter." if len(line) else ""
    zero = f" {ZERO}" if (rows["percent"] == 0).any() else ""
    kind = health_kind(unit)
    all_rows = until(
        frames.frame("health", level=unit.level, unit=unit.code, period_kind=kind), chosen.period
    )
    counted = counted_words(frames, sorted(set(all_rows["period"])))
    return (
        f"Answers: {listed(bands) or 'none shown'} people. {INTERVAL} "
        f"Percentages are rounded before they are "
        f"published, in {step}; the interval is widened for it. "
        f"One scale for all; its axis is the share of people, in %, by {health_kind(unit)}."
        f"{smooth}{other}{zero}{' ' * bool(counted)}{counted}"
    )


def where(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the average over the regions of the organisation and each cluster this month."""
    rows = frames.frame("health_average", period=chosen.period, period_kind="month")
    names = {u.key: u for u in frames.units("organisation", "cluster")}
    rows = rows.assign(key=rows["level"] + "." + rows["unit"])
    rows = rows[rows["key"].isin(names)]
    rows = rows.assign(label=[names[k].name for k in rows["key"]])
    rows = rows.sort_values("percent", ascending=False, na_position="last").reset_index(drop=True)
    columns = (
        Column("label", "Who"),
        Column("percent", "Average over regions, %", "0"),
        Column("low", "95 % interval, %", "interval"),
        Column("regions_shown", "Regions shown", "0"),
    )
    if rows.empty:
        return Reading(None, "", "", rows, columns, notice="No average is published for this month.")
    plot = pd.DataFrame(
        {
            "label": rows["label"],
            "value": rows["percent"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": ["own" if k == chosen.unit else "plain" for k in rows["key"]],
        }
    )
    plot["printed"] = [
        why or f"{number(v)} % ({interval(a, b)})"
        for why, v, a, b in zip(rows["reason"], rows["percent"], rows["low"], rows["high"], strict=True)
    ]
    plot["text"] = plot["label"] + ": " + plot["printed"]
    known = rows[rows["percent"].notna()]
    sentence = "No average is shown this month."
    if len(known):
        top = known.iloc[0]
        sentence = (
            f"Highest: {top['label']}, {number(top['percent'])} % "
            f"({interval(top['low'], top['high'], 0, '%')}). Where intervals overlap, no order is shown."
        )
    return Reading(
        RowsPlot(plot, "With discomfort, average of regions, %", "Who"),
        sentence,
        f"Average of the published percentages of people with {case_words(frames, chosen.period)}. "
        f"{INTERVAL}",
        rows,
        columns,
    )
