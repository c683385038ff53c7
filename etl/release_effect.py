"""Whether a change helped: which changes are due, on which months and teams, by which method."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pandas as pd

from etl.case_rules import series_start
from etl.release_calendar import Month, month_of
from etl.release_chain import open_release_file, tables_of
from etl.release_effect_rows import Statement, statement
from etl.release_register import Entry, apart
from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.change_design import (
    CANNOT,
    ONE_SERIES,
    SERIES_MONTHS,
    STAGGERED,
    Design,
    TeamRecord,
    decide,
)

MONTHS_BEFORE = 12
MONTHS_AFTER = 6
"""Whole months after the last team's start that a statement waits for."""

NO_TARGET = "no target region was written down before"
BY_LOT = "LOT_ORDER"
NO_RECORD = (
    "The order is said to be by lot, but where the lot is on record is not known for every team: it is "
    "judged as an order of choice"
)
JOINED_LATER = "it joined a change that had been stated already"


def published_effects(file: Path | None) -> frozenset[str]:
    """Return the changes that earlier editions stated.

    Parameters
    ----------
    file : Path or None
        Newest published file.

    Returns
    -------
    frozenset of str
        Codes.
    """
    if file is None:
        return frozenset()
    with open_release_file(file) as con:
        # Releases begun before evaluations were published have no such table.
        if "change_effect" not in tables_of(con):
            return frozenset()
        return frozenset(
            code for (code,) in con.execute("select distinct change from change_effect").fetchall()
        )


def effect_rows(job: Job, stated: frozenset[str]) -> list[Row]:
    """Return the rows of table ``change_effect`` that became due with this month.

    A change, that is all entries of the register with one title and kind, is stated once, when its last team
    has had it for six whole months (twelve without a team to compare with).

    Parameters
    ----------
    job : Job
        Edition in the making, facts built.
    stated : frozenset of str
        Codes stated by earlier editions.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    return effect_tables(job, stated).effect


def effect_tables(job: Job, stated: frozenset[str]) -> Statement:
    """Return the statements that became due with this month, and what stands beside them.

    Parameters
    ----------
    job : Job
        Edition in the making, facts built.
    stated : frozenset of str
        Codes stated by earlier editions.

    Returns
    -------
    Statement
        Rows of ``change_effect``, ``change_event`` and ``change_check`` without the edition number.
    """
    made = Statement()
    entries = _entries(job)
    if all(entry.change in stated for entry in entries):
        return made
    # Nothing is compared across a change of the case definition.
    start = series_start(job.settings.symptoms, job.month) or "0001-01"
    found = job.con.execute(
        "select min(month) from facts.symptom where team is not null and month >= (? || '-01')::date", [start]
    ).fetchall()[0][0]
    if found is None or month_of(found) > job.month:
        return made
    first = month_of(found)
    changes: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        changes.setdefault((entry.title, entry.kind), []).append(entry)
    frame: pd.DataFrame | None = None
    for group in changes.values():
        new = [entry for entry in group if entry.change not in stated]
        starts = [start for entry in group if (start := entry.start(first)) is not None]
        if not new or len(starts) < len(group):
            continue
        since = apart(first, job.month) - max(starts) + 1
        if since < MONTHS_AFTER:
            continue
        if frame is None:
            frame = _answers(job, first)
        if len(new) < len(group):
            made.add(statement(job, first, new, (), None, frame, (0, 0), JOINED_LATER))
            continue
        window = (max(0, min(starts) - MONTHS_BEFORE), min(apart(first, job.month), max(starts) + 11))
        targets = tuple(dict.fromkeys(region for entry in group for region in entry.targets))
        if not targets:
            made.add(statement(job, first, group, (), None, frame, window, NO_TARGET))
            continue
        records = _records(job, first, group, entries, frame, window)
        design = _decided(records, window, group)
        if since < SERIES_MONTHS and _waits_for_series(design):
            continue
        made.add(statement(job, first, group, targets, design, frame, window, None))
    return made


def _waits_for_series(design: Design) -> bool:
    alone = any(refusal.code == "NO_COMPARISON" for refusal in design.refusals)
    return design.method == ONE_SERIES or (design.method == CANNOT and alone)


def _decided(records: tuple[TeamRecord, ...], window: tuple[int, int], group: Sequence[Entry]) -> Design:
    """Decide the method; an order counts as random only with the lot on record for every team."""
    drawn = all(entry.allocation == BY_LOT and entry.lot for entry in group)
    design = decide(
        records, window[1] + 1, chosen_on_outcome=any(entry.chosen for entry in group), random_order=drawn
    )
    if design.method == STAGGERED and any(entry.allocation == BY_LOT for entry in group):
        design = replace(design, weaker=(*design.weaker, NO_RECORD))
    return design


def _entries(job: Job) -> list[Entry]:
    rows = job.con.execute(sql("release/400_effect_change"), {"last_day": job.month.last_day}).fetchall()
    return [
        Entry(
            change, title, kind, team, bool(chosen),
            tuple(r for r in (regions or "").replace(",", ";").split(";") if r), expected,
            None if adherence is None else adherence / 100, cost, allocation, lot, started, completed,
        )
        for (
            change, title, kind, team, chosen, regions, expected, adherence, cost, allocation, lot,
            started, completed,
        ) in rows
    ]  # fmt: skip


def _answers(job: Job, first: Month) -> pd.DataFrame:
    span = {"first": first.first_day, "month": job.month.first_day}
    return job.con.execute(sql("release/410_effect_answer"), span).df()


def _records(
    job: Job,
    first: Month,
    group: list[Entry],
    entries: list[Entry],
    frame: pd.DataFrame,
    window: tuple[int, int],
) -> tuple[TeamRecord, ...]:
    span = {"first": first.first_day, "month": job.month.first_day}
    last = dict(job.con.execute(sql("release/420_effect_team"), span).fetchall())
    inside = frame[(frame["month"] >= window[0]) & (frame["month"] <= window[1])]
    months = inside.groupby("team")["month"].agg(["min", "max"])
    own = {entry.team: entry for entry in group}
    busy = _busy(first, group, entries, window)
    records = []
    for team in sorted(set(last) | set(own)):
        answered = team in months.index
        ended = last.get(team)
        mine = own.get(team)
        records.append(
            TeamRecord(
                team,
                int(months.loc[team, "min"]) if answered else None,
                int(months.loc[team, "max"]) if answered else None,
                ended if ended is not None and ended < window[1] else None,
                mine.start(first) if mine else None,
                mine is not None,
                mine.adherence if mine else None,
                team in busy,
            )
        )
    return tuple(records)


def _busy(first: Month, group: list[Entry], entries: list[Entry], window: tuple[int, int]) -> frozenset[str]:
    """Return the teams where another change came into force, or was being made, in the months judged."""
    codes: Mapping[str, Entry] = {entry.change: entry for entry in group}
    teams = set()
    for entry in entries:
        if entry.change in codes or entry.started is None:
            continue
        begun, done = apart(first, month_of(entry.started)), entry.start(first)
        if begun <= window[1] and (done is None or done > window[0]):
            teams.add(entry.team)
    return frozenset(teams)
