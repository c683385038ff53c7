"""An exposure measure in words and over time."""

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.figures.series import SeriesPlot
from dashboards.kinds import Frame, Row
from dashboards.labels import MEASURES, Measure, guide_number, interval, month_label, number
from dashboards.readings.base import INTERVAL, Reading, hidden_words, until
from dashboards.state import Chosen
from dashboards.tables import Column


def columns(measure: Measure) -> tuple[Column, ...]:
    """Return the printed columns of an exposure table.

    Parameters
    ----------
    measure : Measure
        What is measured.

    Returns
    -------
    tuple of Column
        Period, value, interval, guide, standing, people.
    """
    return (
        Column("period", "Period", "period"),
        Column("name", "Who"),
        Column("value", f"{measure.title}, {measure.unit}", str(measure.digits)),
        Column("low", "95 % interval", "interval"),
        Column("guide", "Guide", "1"),
        Column("standing", "Standing"),
        Column("n_band", "People"),
    )


def value_words(row: Row, measure: Measure, unit: bool = True) -> str:
    """Return ``8.1 h a week (7.2 to 9.0)`` or the reason it is hidden; the unit may be left out."""
    if row["reason"]:
        return str(row["reason"])
    return (
        f"{number(row['value'], measure.digits)} {measure.unit + ' ' if unit else ''}"
        f"({interval(row['low'], row['high'], measure.digits)})"
    )


def standing_word(row: Row) -> str:
    """Return the published standing, or ``no guide``."""
    return row["standing"] if isinstance(row["standing"], str) and row["standing"] else "no guide"


def exposure_series(frames: ReleaseFrames, unit: Unit, measure: str, month: str, kind: str) -> Frame:
    """Return a measure over time in the columns of a time figure.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    unit : Unit
        Whose exposure.
    measure : str
        Measure code.
    month : str
        Last month wanted.
    kind : str
        ``month`` or ``week``.

    Returns
    -------
    pandas.DataFrame
        Release rows with ``x``, ``text``, ``name`` and ``series`` added.
    """
    rows = frames.frame("exposure", level=unit.level, unit=unit.code, measure=measure, period_kind=kind)
    rows = until(rows, month, 36 if kind == "month" else 26)
    known = MEASURES[measure]
    rows["text"] = [f"{month_label(r['period'])}: {value_words(r, known)}" for r in rows.to_dict("records")]
    return rows.assign(series="own", name=unit.name)


def trend(frames: ReleaseFrames, chosen: Chosen, kind: str = "month") -> Reading:
    """Return the chosen measure over months or weeks, the organisation beside it.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    kind : str, default "month"
        ``month`` or ``week``.

    Returns
    -------
    Reading
        The reading.
    """
    unit = frames.unit(chosen.unit)
    measure = MEASURES[chosen.measure]
    own = exposure_series(frames, unit, chosen.measure, chosen.period, kind)
    parts = [own]
    if unit.level != "organisation":
        top = frames.organisation()
        parts.append(exposure_series(frames, top, chosen.measure, chosen.period, kind).assign(series="other"))
    shown = own[own["reason"] == ""]
    if shown.empty:
        words = "; ".join(sorted(set(own["reason"]) - {""}))
        nothing = f"{measure.title} is not published by {kind} for this choice."
        return Reading(None, "", "", own, columns(measure), notice=words or nothing)
    last = shown.iloc[-1]
    guide = float(last["guide"]) if last["guide"] == last["guide"] and last["guide"] is not None else None
    plot = SeriesPlot(
        pd.concat(parts, ignore_index=True),
        measure.axis,
        time="Month" if kind == "month" else "ISO week, first day",
        guide=guide,
        guide_label="" if guide is None else f"guide {guide_number(guide)}",
        height=300 if kind == "month" else 240,
    )
    period = month_label(last["period"])
    sentence = f"{period[:1].upper()}{period[1:]}: {value_words(last, measure)}"
    sentence += f", {standing_word(last)}." if guide is not None else "; no guide exists for this measure."
    foot = " ".join(
        part
        for part in (
            f"{last['n_band']} people. {INTERVAL}",
            "" if unit.level == "organisation" else "Grey: the organisation.",
            hidden_words(own),
            method_words(frames, str(last["method"])),
            guide_words(frames, chosen.measure) if guide is not None else "",
        )
        if part
    )
    return Reading(plot, sentence, foot, own, columns(measure))


def method_words(frames: ReleaseFrames, key: str) -> str:
    """Return ``Method: title (source).`` of one method row, or the key itself."""
    rows = frames.frame("method", key=key)
    if rows.empty:
        return f"Method: {key}."
    return f"Method: {rows['title'].iloc[0]} ({rows['source'].iloc[0]}, {rows['status'].iloc[0]})."


def guide_words(frames: ReleaseFrames, measure: str) -> str:
    """Return where a guide comes from, as the release states it; empty if it does not."""
    rows = frames.frame("method", key=f"guide.{measure}")
    return "" if rows.empty else f"Guide: {rows['source'].iloc[0]}, {rows['status'].iloc[0]}."
