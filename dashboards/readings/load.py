"""Load: is a group overloaded, on what, and how is the work broken up; exposure only, no health."""

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.figures.parts import PartsPlot
from dashboards.figures.rows import RowsPlot
from dashboards.figures.series import SeriesPlot
from dashboards.labels import MEASURES, WEEKDAYS, Measure, interval, month_label, number
from dashboards.readings.base import INTERVAL, Answer, Reading, hidden_words, listed, until
from dashboards.state import Chosen
from dashboards.tables import Column

PARTS = {"task": "Task", "instrument": "Instrument", "weekday": "Weekday"}
PART_COLUMNS = (
    Column("part", "Part"),
    Column("hours_per_person_week", "Hours per person and week", "1"),
    Column("share_percent", "Share of hours, %", "0"),
    Column("n_band", "People"),
)


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


def value_words(row: pd.Series, measure: Measure, unit: bool = True) -> str:
    """Return ``8.1 h a week (7.2 to 9.0)`` or the reason it is hidden; the unit may be left out."""
    if row["reason"]:
        return str(row["reason"])
    return (
        f"{number(row['value'], measure.digits)} {measure.unit + ' ' if unit else ''}"
        f"({interval(row['low'], row['high'], measure.digits)})"
    )


def standing_word(row: pd.Series) -> str:
    """Return the published standing, or ``no guide``."""
    return row["standing"] if isinstance(row["standing"], str) and row["standing"] else "no guide"


def profile(frames: ReleaseFrames, chosen: Chosen) -> pd.DataFrame:
    """Return a unit's measures of the month with the organisation's value beside each.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows in the order of the measures, with ``title``, ``organisation``, ``other``
        (the organisation's value) and ``printed``.
    """
    rows = frames.frame("exposure", period=chosen.period, level=chosen.level, unit=chosen.code)
    rows = rows[rows["measure"].isin(MEASURES)]
    rows = rows.sort_values("measure", key=lambda m: m.map(list(MEASURES).index)).reset_index(drop=True)
    top = frames.organisation()
    whole = frames.frame("exposure", period=chosen.period, level=top.level, unit=top.code)
    beside = {r["measure"]: r for _, r in whole.iterrows()}
    return rows.assign(
        title=[MEASURES[m].title for m in rows["measure"]],
        organisation=[
            value_words(beside[m], MEASURES[m], unit=False) if m in beside else "\u2013"
            for m in rows["measure"]
        ],
        other=[float(beside[m]["value"]) if m in beside else float("nan") for m in rows["measure"]],
        printed=[value_words(r, MEASURES[r["measure"]]) for _, r in rows.iterrows()],
    )


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return the manager's answer: which measures stand over their guide this month.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Answer
        Words built from release rows.
    """
    unit = frames.unit(chosen.unit)
    rows = profile(frames, chosen)
    eyebrow = f"{unit.name} \u00b7 {month_label(chosen.period)} \u00b7 {unit.people_band} people"
    if rows.empty:
        return Answer(eyebrow, "No exposure is published for this choice.", "Choose another month or group.")
    over = [t.lower() for t, s in zip(rows["title"], rows["standing"], strict=True) if s == "over guide"]
    near = [t.lower() for t, s in zip(rows["title"], rows["standing"], strict=True) if s == "near guide"]
    guided = int(rows["guide"].notna().sum())
    shown = rows[rows["reason"] == ""]
    if shown.empty:
        words = str(rows["reason"].iloc[0])
        return Answer(
            eyebrow, f"{words[:1].upper()}{words[1:]}.", "Look at the cluster, which this group is part of."
        )
    if over:
        headline = f"Over guide: {listed(over)}."
    elif near:
        headline = f"Near guide: {listed(near)}."
    else:
        headline = f"Within guide on the {guided} measures that have one." if guided else "No guide applies."
    hours = rows[rows["measure"] == "hours_per_week"]
    lead = ""
    if len(hours):
        first = hours.iloc[0]
        beside = "" if unit.level == "organisation" else f"; the organisation {first['organisation']}"
        lead = f"Pipetting: {first['printed']}{beside}. "
    lead += (
        "A guide is a working value from the sources named below, not a limit of safety; work within it can "
        "still hurt, and work over it need not."
    )
    return Answer(eyebrow, headline, lead)


def exposure_series(frames: ReleaseFrames, unit: Unit, measure: str, month: str, kind: str) -> pd.DataFrame:
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
    rows["text"] = [f"{month_label(r['period'])}: {value_words(r, known)}" for _, r in rows.iterrows()]
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
        guide_label="" if guide is None else f"guide {number(guide, 1)}",
        height=300 if kind == "month" else 240,
    )
    sentence = f"{month_label(last['period'])[:1].upper()}{month_label(last['period'])[1:]}: {value_words(last, measure)}"
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


def standings(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return all groups of one level on the chosen measure, highest first.

    Teams are compared with teams; with the organisation or a cluster chosen, clusters too.

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
    measure = MEASURES[chosen.measure]
    levels = ("team",) if chosen.level in ("team", "organisation") else ("cluster",)
    names = {u.key: u.name for u in frames.units(*levels)}
    rows = frames.frame("exposure", period=chosen.period, period_kind="month", measure=chosen.measure)
    rows = rows.assign(key=rows["level"] + "." + rows["unit"])
    rows = rows[rows["key"].isin(names)]
    rows = rows.assign(name=[names[k] for k in rows["key"]])
    lower = chosen.measure == "micro_rests"
    rows = rows.sort_values("value", ascending=lower, na_position="last").reset_index(drop=True)
    if rows.empty:
        return Reading(None, "", "", rows, columns(measure), notice="Nothing is published for this choice.")
    plot = pd.DataFrame(
        {
            "label": rows["name"],
            "value": rows["value"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": ["own" if key == chosen.unit else "plain" for key in rows["key"]],
            "printed": [
                str(r["reason"])
                if r["reason"]
                else (f"{r['standing']} " if standing_word(r) != "no guide" else "")
                + f"{number(r['value'], measure.digits)} ({interval(r['low'], r['high'], measure.digits)})"
                for _, r in rows.iterrows()
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    guide = rows["guide"].dropna()
    mark = float(guide.iloc[0]) if len(guide) else None
    counts = rows["standing"].value_counts()
    sentence = (
        listed(
            [
                f"{int(counts[word])} {word}"
                for word in ("over guide", "near guide", "within guide")
                if word in counts
            ]
        )
        or f"{int((rows['reason'] == '').sum())} groups shown; no guide exists for this measure"
    )
    gone = rows[rows["reason"] != ""]
    foot = f"{INTERVAL} Where two bars overlap much, their order says little."
    if len(gone):
        foot += (
            f" {len(gone)} of {len(rows)} groups are hidden by the rules of the release; the words say why."
        )
    first = "Fewest first." if lower else "Highest first."
    return Reading(
        RowsPlot(
            plot,
            measure.axis,
            "Team" if levels == ("team",) else "Cluster",
            mark=mark,
            mark_label="" if mark is None else f"guide {number(mark, 1)}",
            row_height=24,
            from_zero=False,
        ),
        f"{sentence}. {first}",
        foot,
        rows,
        columns(measure),
    )


def parts(frames: ReleaseFrames, chosen: Chosen, kind: str) -> Reading:
    """Return what the hours of the month are made of.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    kind : str
        ``task``, ``instrument`` or ``weekday``.

    Returns
    -------
    Reading
        The reading.
    """
    rows = frames.frame(
        "exposure_part", period=chosen.period, level=chosen.level, unit=chosen.code, part_kind=kind
    )
    if kind == "weekday":
        order = {day.upper(): place for place, day in enumerate(WEEKDAYS)}
        rows = rows.assign(place=[order.get(str(p).upper(), 9) for p in rows["part"]]).sort_values("place")
        rows = rows.drop(columns="place")
    else:
        rows = rows.sort_values("hours_per_person_week", ascending=False, na_position="last")
    rows = rows.reset_index(drop=True)
    if rows.empty:
        return Reading(None, "", "", rows, PART_COLUMNS, notice=f"No hours by {kind} are published here.")
    plot = pd.DataFrame(
        {
            "label": [_part_label(str(p)) for p in rows["part"]],
            "value": rows["hours_per_person_week"].astype(float),
            "printed": [
                str(r["reason"])
                if r["reason"]
                else f"{number(r['hours_per_person_week'], 1)} h, {number(r['share_percent'])} %"
                for _, r in rows.iterrows()
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    known = rows[rows["hours_per_person_week"].notna()].sort_values("hours_per_person_week", ascending=False)
    sentence = "All parts are hidden."
    if len(known):
        top = known.iloc[0]
        sentence = f"Most: {_part_label(str(top['part']))}, {number(top['share_percent'])} % of the hours."
    bands = listed(sorted(set(known["n_band"].dropna()))) or "no group large enough"
    foot = (
        f"People behind a part: {bands}. A share of logged hours; no interval is published for a part. "
        f"{hidden_words(rows).removeprefix('Crosses: ')}"
    )
    return Reading(PartsPlot(plot, PARTS[kind]), sentence, foot.strip(), rows, PART_COLUMNS)


def _part_label(part: str) -> str:
    return part.capitalize() if part.upper() in {d.upper() for d in WEEKDAYS} else part
