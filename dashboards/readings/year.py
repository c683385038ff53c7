"""The year beside its months: statements on the organisation, and teams against the spread of all teams."""

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.kinds import Frame, Row
from dashboards.labels import REGIONS, interval, number, region_label, sentence_case
from dashboards.readings.base import Reading, inside, listed
from dashboards.state import Chosen
from dashboards.tables import Column

YEAR_COLUMNS = (
    Column("region", "Body region", "region"),
    Column("onset", "New per 100 person-months"),
    Column("change", "Change of ratings, points"),
    Column("age", "Difference between ages, points"),
)
SPREAD_COLUMNS = (
    Column("name", "Team"),
    Column("region", "Body region", "region"),
    Column("percent_words", "Year's share, %"),
    Column("spread_words", "Spread of all teams, %"),
    Column("standing", "Standing"),
)
YEAR_FOOT = (
    "Of the whole organisation, stated once a year on 100 people or more and rounded so that no person "
    "can be worked out; 95 % intervals in brackets. New discomfort: first of the year among those free of "
    "it at their answer before. Change: same people, against the year before; one point of 0 to 10 is the "
    "smallest that patients in pain call a change, and people at work start lower. People who ache may "
    "leave or change work before they are counted (healthy-worker effect): a falling curve is no proof of "
    "easing."
)
SPREAD_FOOT = (
    "A team's year (three published quarters at least) against what teams of its size differ by anyway, "
    "the spread between teams allowed for; named beyond three standard errors. Listed by team, not "
    "ranked: outside the spread is a reason to look at the work, and inside it is no proof that all is "
    "well."
)
OUTSIDE = ("higher", "lower")
_CELL = {"onset": ("new onset", 0), "change": ("mean change", 1), "age": ("age", 0)}


def _year(rows: Frame, chosen: Chosen) -> Frame:
    """Return the rows of the newest year that is over by the chosen month."""
    ended = pd.Series([f"{int(y)}-12" <= chosen.period for y in rows["year"]], index=rows.index, dtype=bool)
    over = rows[ended]
    return over[over["year"] == over["year"].max()] if len(over) else over


def year(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the organisation's yearly statements, one row a body region.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        The sentence tells season and leavers.
    """
    rows = _year(frames.frame("year_figure"), chosen)
    if rows.empty:
        return Reading(
            None, "", YEAR_FOOT, rows, YEAR_COLUMNS,
            notice="Stated with the December edition; no year is over yet.",
        )  # fmt: skip
    by = {(str(r["region"]), str(r["kind"])): r for _, r in rows.iterrows()}
    shown = [code for code in REGIONS if any((code, kind) in by for kind, _ in _CELL.values())]
    table = pd.DataFrame(
        [
            {
                "region": code,
                **{name: _words(by.get((code, kind)), digits) for name, (kind, digits) in _CELL.items()},
            }
            for code in shown
        ],
        columns=["region", *_CELL],
    )
    told = [str(r["sentence"] or r["reason"]) for key in ("season", "leavers") for r in [by.get(("ALL", key))]
            if r is not None]  # fmt: skip
    said = [sentence_case(text) for text in told]
    columns, silent = _spoken(table)
    head = f"{int(rows['year'].iloc[0])}."
    if len(columns) == 1:
        notice = " ".join((head, *said, *silent))
        return Reading(None, "", YEAR_FOOT, table, YEAR_COLUMNS, notice=notice)
    shown, unsaid = _shown(table, columns)
    return Reading(None, " ".join((head, *said, *silent, *unsaid)), YEAR_FOOT, shown, columns)


def _spoken(table: Frame) -> tuple[tuple[Column, ...], list[str]]:
    """Return the columns that tell something, and a sentence for each that says one reason throughout."""
    kept, silent = [], []
    for column in YEAR_COLUMNS:
        words = set(table[column.name])
        only = words.pop() if len(words) == 1 else ""
        if str(only).startswith("not shown"):
            silent.append(f"{column.head.partition(',')[0]}: {inside(only)}.")
        else:
            kept.append(column)
    return tuple(kept), silent


def _shown(table: Frame, columns: tuple[Column, ...]) -> tuple[Frame, list[str]]:
    """Return the regions that tell something, and a sentence for those that share a reason for silence."""
    names = [column.name for column in columns[1:]]
    why = table[names].agg(lambda row: row.iloc[0] if row.nunique() == 1 else "", axis=1)
    hidden = why.astype(str).str.startswith("not shown")
    told = [
        sentence_case(f"{listed([region_label(str(r)).lower() for r in rows['region']])}: {inside(reason)}")
        for reason, rows in table[hidden].groupby(why[hidden], sort=False)
    ]
    return table[~hidden].reset_index(drop=True), told


def _words(row: Row | None, digits: int) -> str:
    if row is None:
        return "\u2013"
    if row["reason"] or pd.isna(row["value"]):
        return str(row["reason"])
    word = f", {row['word']}" if row["word"] else ""
    return f"{number(row['value'], digits)} ({interval(row['low'], row['high'], digits)}){word}"


def spread(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the teams of the chosen unit whose year lies outside the spread of all teams.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        Rows in the order of the teams; all rows of the year where a team is chosen.
    """
    rows = _year(frames.frame("funnel"), chosen)
    unit = frames.unit(chosen.unit)
    teams = {u.code: u.name for u in frames.units("team") if _within(u, unit)}
    own = rows[(rows["level"] == "team") & rows["unit"].isin(list(teams))]
    own = own.assign(name=[teams[code] for code in own["unit"]])
    own = own.assign(
        percent_words=[number(p, 0) for p in own["percent"]],
        spread_words=[interval(a, b, 0) for a, b in zip(own["low"], own["high"], strict=True)],
    )
    judged = own[own["reason"] == ""]
    if judged.empty:
        words = "; ".join(sorted(set(own["reason"]) - {""})) if len(own) else "no year is over yet"
        return Reading(
            None, "", SPREAD_FOOT, own, SPREAD_COLUMNS,
            notice=f"No comparison for {unit.name}: {words}. A team needs three published quarters of the "
            "year.",
        )  # fmt: skip
    outside = judged[judged["standing"].isin(OUTSIDE)]
    order = list(REGIONS)
    shown = judged if unit.level == "team" else outside
    shown = shown.assign(at=[order.index(r) if r in order else len(order) for r in shown["region"]])
    shown = shown.sort_values(["name", "at"]).drop(columns="at").reset_index(drop=True)
    tail = f"{judged['unit'].nunique()} teams and {len(judged)} of their regions compared"
    head = f"{int(judged['year'].iloc[0])}: "
    if outside.empty:
        return Reading(None, f"{head}no team outside the spread of all teams; {tail}.", SPREAD_FOOT, shown,
                       SPREAD_COLUMNS)  # fmt: skip
    names = listed(sorted(set(outside["name"])))
    return Reading(None, f"{head}outside the spread in some region: {names}; {tail}.", SPREAD_FOOT, shown,
                   SPREAD_COLUMNS)  # fmt: skip


def _within(team: Unit, unit: Unit) -> bool:
    return unit.level == "organisation" or team.key == unit.key or team.parent == unit.code
