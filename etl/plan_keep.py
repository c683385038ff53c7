"""Keep a plan with the seed of its lot, so that nobody draws again until the lot pleases."""

import datetime as dt
import math
import re
from collections.abc import Sequence

import duckdb

from etl.errors import EvenhandError
from etl.plan_draft import Draft
from etl.sqlfiles import sql

Row = tuple[object, ...]
_CODE = re.compile(r"[A-Z0-9_-]{1,32}")


def plan_row(draft: Draft, code: str, title: str, status: str, day: dt.date | dt.datetime) -> Row:
    """Return a plan in the columns of release table ``plan``, without the edition.

    Parameters
    ----------
    draft : Draft
        The plan.
    code, title, status : str
        Code and title; ``kept`` or ``proposed``.
    day : date or datetime
        When it was drawn.

    Returns
    -------
    tuple
        Unrounded.
    """
    reach, wish, price = draft.drawn.reach, draft.wish, draft.case_cost
    assert wish.first is not None
    finite = math.isfinite(reach.effect)
    return (
        code, title, status, day, draft.region, draft.kind, wish.seed, wish.steps, reach.changed,
        reach.others, wish.months, wish.first.first_day, 100 * wish.fall,
        100 * reach.effect if finite else None,
        100 * reach.error if finite and math.isfinite(reach.error) else None,
        100 * reach.found, 100 * reach.found_error, draft.drawn.worlds, reach.smallest_p, draft.case_months,
        draft.cost, price.cost if price else None, price.low if price else None,
        price.high if price else None, "; ".join(draft.cannot),
    )  # fmt: skip


def start_rows(draft: Draft, code: str) -> list[Row]:
    """Return the starts of a plan in the columns of release table ``plan_start``, without the edition."""
    return [(code, s.step, s.team, s.month.first_day, s.follows) for s in draft.starts]


def keep_plan(con: duckdb.DuckDBPyConnection, draft: Draft, code: str, title: str, now: dt.datetime) -> None:
    """Keep a plan; what is kept is never altered.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, writable.
    draft : Draft
        The plan.
    code, title : str
        Its code and title.
    now : datetime
        Present time with zone.

    Raises
    ------
    EvenhandError
        If the code is taken or no code.
    """
    if not _CODE.fullmatch(code):
        raise EvenhandError(
            f"'{code}' is no code", "evenhand plan --keep", "Use capitals, digits, - and _, 32 at most."
        )
    if con.execute("select count(*) from core.plan where plan = ?", [code]).fetchall()[0][0]:
        raise EvenhandError(
            f"Plan {code} is kept already, with its lot", "evenhand plan --keep", "Choose another code."
        )
    row = list(plan_row(draft, code, title, "kept", now.astimezone(dt.UTC).replace(tzinfo=None)))
    del row[2]
    con.execute("begin")
    con.execute(
        "insert into core.plan (plan, title, kept_at, region, kind, seed, steps, changed, others, months, "
        "first_start, fall_points, points, points_error, found_percent, found_error, worlds, smallest_p, "
        "case_months, cost, case_cost, case_low, case_high, cannot) values ("
        f"{', '.join('?' * len(row))})",
        row,
    )
    con.executemany(
        "insert into core.plan_start (plan, step, team, start, follows) values (?, ?, ?, ?, ?)",
        start_rows(draft, code),
    )
    con.execute("commit")


def kept_rows(
    con: duckdb.DuckDBPyConnection, day: dt.date, known: Sequence[str]
) -> tuple[list[Row], list[Row]]:
    """Return the plans kept by a day and not published yet, with their starts.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    day : date
        Last day.
    known : sequence of str
        Codes published by earlier editions.

    Returns
    -------
    tuple of list
        Rows of ``plan`` and of ``plan_start`` without the edition.
    """
    plans = con.execute(sql("plan/070_kept"), {"day": day}).fetchall()
    starts = con.execute(sql("plan/080_kept_start"), {"day": day}).fetchall()
    return [p for p in plans if p[0] not in known], [s for s in starts if s[0] not in known]
