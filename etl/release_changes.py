"""The register of changes, and whether a change reached the work: exposure before and after it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from etl.release_calendar import Month, month_of
from etl.release_exposure import exposure_rule, people_sums, protected_figures
from etl.release_measures import MEASURES
from etl.release_rows import Job, Row
from etl.sqlfiles import sql

MONTHS_EACH_SIDE = 6
LEAST_MONTHS_BEFORE = 3
WAITING = f"not shown: {MONTHS_EACH_SIDE} whole months after completion are needed"
NO_BEFORE = f"not shown: fewer than {LEAST_MONTHS_BEFORE} whole months with data before the start"
NO_OTHERS = "not shown: no other team to compare with"
CHANGED, OTHERS = "changed", "others"


@dataclass(frozen=True)
class Change:
    """A completed change.

    Attributes
    ----------
    code, kind : str
        Code and kind of change.
    teams : tuple of str
        Teams changed.
    before, after : tuple of Month
        First and last month of the two spans; `before` may be empty.
    """

    code: str
    kind: str
    teams: tuple[str, ...]
    before: tuple[Month, Month] | None
    after: tuple[Month, Month]


def change_rows(job: Job) -> list[Row]:
    """Return the register as it stands at the end of the month.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows of table ``change`` without the edition number; dates after the month are left out.
    """
    rows = job.con.execute(sql("release/110_change"), {"last_day": job.month.last_day}).fetchall()
    return [*map(tuple, rows)]


def completed_changes(job: Job) -> list[Change]:
    """List the changes complete by the end of the month, with their spans.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of Change
        Up to six whole months before the first start and six after the last completion.
    """
    rows = job.con.execute(sql("release/150_completed"), {"last_day": job.month.last_day}).fetchall()
    found = job.con.execute("select min(local_date) from facts.person_day").fetchall()
    first_data = found[0][0]
    return [
        Change(code, kind, tuple(teams), _before(started, first_data), _after(completed))
        for code, kind, teams, started, completed in rows
    ]


def _before(started: date, first_data: date | None) -> tuple[Month, Month] | None:
    last = month_of(started).plus(-1)
    if first_data is None:
        return None
    whole = month_of(first_data) if first_data.day <= 7 else month_of(first_data).plus(1)
    first = max(month_of(started).plus(-MONTHS_EACH_SIDE), whole)
    return (first, last) if first <= last else None


def _after(completed: date) -> tuple[Month, Month]:
    first = month_of(completed).plus(1)
    return first, first.plus(MONTHS_EACH_SIDE - 1)


def reach_rows(job: Job, published: frozenset[tuple[str, bool]]) -> list[Row]:
    """Return the rows of table ``change_reach`` that became due with this month.

    Each change is stated once: six whole months after completion. Until then one set of rows says what
    is awaited, under the same spans, so that the later ones take their place.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.
    published : frozenset
        Changes already in the release, each with whether a final statement was made.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    rows: list[Row] = []
    for change in completed_changes(job):
        final = change.after[1] <= job.month
        if (change.code, True) in published or (change.code, final) in published:
            continue
        rows += _statement(job, change) if final else _without_numbers(change, WAITING)
    return rows


def published_reach(rows: Sequence[tuple[str, str | None]]) -> frozenset[tuple[str, bool]]:
    """Say which changes earlier editions stated.

    Parameters
    ----------
    rows : sequence of tuple
        Change and reason of each row of ``change_reach`` so far.

    Returns
    -------
    frozenset
        (change, True) where a final statement was made, (change, False) where it was awaited.
    """
    return frozenset((change, reason != WAITING) for change, reason in rows)


def _spans(change: Change) -> list[str]:
    spans = [change.before or (change.after[0], change.after[0]), change.after]
    return [f"{first} to {last}" for first, last in (spans if change.before else spans[1:])]


def _without_numbers(change: Change, reason: str) -> list[Row]:
    return [
        (change.code, side, _listed(change.teams, side), m.key, span, None, None, None, m.unit, None, reason)
        for m in MEASURES
        for side in (CHANGED, OTHERS)
        for span in _spans(change)
    ]


def _listed(teams: Sequence[str], side: str, others: int = 0) -> str:
    if side == CHANGED:
        return ", ".join(teams)
    return f"{others} other teams" if others else "other teams"


def _statement(job: Job, change: Change) -> list[Row]:
    if change.before is None or change.before[0].plus(LEAST_MONTHS_BEFORE - 1) > change.before[1]:
        return _without_numbers(change, NO_BEFORE)
    others = other_teams(job, change)
    if not others:
        return _without_numbers(change, NO_OTHERS)
    job.con.execute("create or replace temp table release_group (team varchar, level varchar, unit varchar)")
    job.con.executemany(
        "insert into release_group values (?, 'side', ?)",
        [(t, CHANGED) for t in change.teams] + [(t, OTHERS) for t in others],
    )
    rows: list[Row] = []
    for first, last in (change.before, change.after):
        people = people_sums(job, first.first_day, last.plus(1).first_day)
        rows += _side_rows(job, change, len(others), f"{first} to {last}", people)
    return rows


def _side_rows(job: Job, change: Change, others: int, span: str, people: pd.DataFrame) -> list[Row]:
    rule = exposure_rule(job.settings)
    sides: dict[tuple[str, str], str | None] = {("side", CHANGED): None, ("side", OTHERS): None}
    rows: list[Row] = []
    for measure in MEASURES:
        figures = protected_figures(people, sides, measure, rule)
        # The organisation's figure is published: one side alone would give the other away.
        reason = next((f.reason for f in figures.values() if f.reason), None)
        for (_, side), figure in figures.items():
            numbers = (None, None, None) if reason else (figure.value, figure.low, figure.high)
            rows.append((
                change.code, side, _listed(change.teams, side, others), measure.key, span, *numbers,
                measure.unit, None if reason else figure.n_band, reason,
            ))  # fmt: skip
    return rows


def other_teams(job: Job, change: Change) -> tuple[str, ...]:
    """Return the teams a change is compared with.

    Parameters
    ----------
    job : Job
        Edition in the making.
    change : Change
        The change.

    Returns
    -------
    tuple of str
        All teams but those changed, and but those with a change of the same kind at work in the spans.
    """
    begin = (change.before or change.after)[0].first_day
    span = {"begin": begin, "end": change.after[1].last_day}
    named = {"change": change.code, "kind": change.kind}
    rows = job.con.execute(sql("release/160_other_team"), named | span).fetchall()
    return tuple(team for (team,) in rows)
