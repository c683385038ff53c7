"""Groups side by side on one measure, and what a group's hours are made of."""

import re

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.parts import PartsPlot
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame, Row
from dashboards.labels import MEASURES, WEEKDAYS, Measure, guide_number, number
from dashboards.readings.base import INTERVAL, Reading, hidden_words, listed
from dashboards.readings.exposure import columns, standing_word, value_words
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
    if len(names) == 1:
        # A manager sees one team; alone it would be compared with nothing.
        names |= {frames.organisation().key: frames.organisation().name}
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
            "kind": [_kind(row, chosen) for row in rows.to_dict("records")],
            "printed": [_printed(row, measure) for row in rows.to_dict("records")],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    guide = rows["guide"].dropna()
    mark = float(guide.iloc[0]) if len(guide) else None
    gone = rows[rows["reason"] != ""]
    foot = f"{INTERVAL} Where two bars overlap much, their order says little."
    if len(gone):
        foot += (
            f" {len(gone)} of {len(rows)} groups are hidden by the rules of the release; the words say why."
        )
    first = "Fewest first." if lower else "Highest first."
    what = "Team" if levels == ("team",) else "Cluster"
    return Reading(
        RowsPlot(
            plot,
            measure.axis,
            what,
            mark=mark,
            mark_label="" if mark is None else f"guide {guide_number(mark)}",
            row_height=26,
            from_zero=False,
        ),
        f"{_counted(rows, what.lower())}. {first}",
        foot,
        rows,
        columns(measure),
    )


def _kind(row: Row, chosen: Chosen) -> str:
    if row["key"] == chosen.unit:
        return "own"
    return "over guide" if standing_word(row) == "over guide" else "plain"


def _printed(row: Row, measure: Measure) -> str:
    # The value first: after "over guide" a number would be read as the guide's.
    word = standing_word(row)
    return value_words(row, measure, unit=False) + (
        "" if row["reason"] or word == "no guide" else f", {word}"
    )


def _counted(rows: Frame, what: str) -> str:
    shown = rows[rows["reason"] == ""]
    if len(rows) == 2:
        told = [f"{row['name']}: {standing_word(row)}" for row in shown.to_dict("records")]
        return "; ".join(told) or "Nothing is shown"
    counts = shown["standing"].value_counts()
    words = [word for word in ("over guide", "near guide", "within guide") if word in counts]
    if not words:
        return f"{len(shown)} {what}s shown; no guide exists for this measure"
    first = int(counts[words[0]])
    told = [f"{first} {what}{'' if first == 1 else 's'} {words[0]}"]
    return listed(told + [f"{int(counts[word])} {word}" for word in words[1:]])


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
    bands = listed(sorted(set(known["n_band"].dropna()), key=_least)) or "no group large enough"
    foot = (
        f"People behind a part: {bands}. A share of logged hours; no interval is published for a part. "
        f"{hidden_words(rows).removeprefix('Crosses: ')}"
    )
    lines = _most_parts(frames, chosen, kind)
    return Reading(PartsPlot(plot, PARTS[kind], lines), sentence, foot.strip(), rows, PART_COLUMNS)


def _least(band: str) -> int:
    """Return where a band of people begins: as text, 5-9 would stand after 100-119."""
    found = re.search(r"\d+", band)
    return int(found[0]) if found and not band.startswith("under") else 0


def _most_parts(frames: ReleaseFrames, chosen: Chosen, kind: str) -> int:
    # As many lines for each group: on going from one to the next nothing below changes its place.
    rows = frames.frame("exposure_part", period=chosen.period, part_kind=kind)
    return int(rows.groupby(["level", "unit"]).size().max())


def _part_label(part: str) -> str:
    return part.capitalize() if part.upper() in {d.upper() for d in WEEKDAYS} else part
