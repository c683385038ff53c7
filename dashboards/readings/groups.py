"""Groups side by side on one measure, and what a group's hours are made of."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.parts import PartsPlot
from dashboards.figures.rows import RowsPlot
from dashboards.labels import MEASURES, WEEKDAYS, interval, number
from dashboards.readings.base import INTERVAL, Reading, hidden_words, listed
from dashboards.readings.exposure import columns, standing_word
from dashboards.state import Chosen
from dashboards.tables import Column

PARTS = {"task": "Task", "instrument": "Instrument", "weekday": "Weekday"}


PART_COLUMNS = (
    Column("part", "Part"),
    Column("hours_per_person_week", "Hours per person and week", "1"),
    Column("share_percent", "Share of hours, %", "0"),
    Column("n_band", "People"),
)


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
                for r in rows.to_dict("records")
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
            row_height=26,
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
    lines = _most_parts(frames, chosen, kind)
    return Reading(PartsPlot(plot, PARTS[kind], lines), sentence, foot.strip(), rows, PART_COLUMNS)


def _most_parts(frames: ReleaseFrames, chosen: Chosen, kind: str) -> int:
    # As many lines for each group: on going from one to the next nothing below changes its place.
    rows = frames.frame("exposure_part", period=chosen.period, part_kind=kind)
    return int(rows.groupby(["level", "unit"]).size().max())


def _part_label(part: str) -> str:
    return part.capitalize() if part.upper() in {d.upper() for d in WEEKDAYS} else part
