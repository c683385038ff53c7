"""Reduce one stroke log to buckets where it lies, and refuse it whole if a row cannot be taken."""

import datetime as dt
from pathlib import Path

import duckdb

from etl.contracts.codelists import STROKE_ACTIONS
from etl.errors import FileRefused
from etl.event_engines import COLUMNS, Engine
from etl.home import Home
from etl.key_mark import check_key_fingerprint, check_key_label
from etl.sqlfiles import quote, sql
from etl.tombstones import digest, withdrawn

_FIRST_US = int(dt.datetime(2000, 1, 1, tzinfo=dt.UTC).timestamp()) * 1_000_000
_DAY_US = 86_400_000_000


def reduce_log(
    home: Home, con: duckdb.DuckDBPyConnection, engine: Engine, name: str, zone: str, width_us: int
) -> tuple[int, int]:
    """Check a log and leave its buckets in the working table ``work_log_bucket``.

    The rows of a log that stays where it is cannot be set aside one by one; a log with a wrong row is
    refused, so that every event is either in the facts or in a log that was named as refused.

    Parameters
    ----------
    home : Home
        The data home, whose list of withdrawn persons holds.
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    engine : Engine
        Reads and reduces the log.
    name : str
        The log.
    zone : str
        Time zone whose clock decides the day.
    width_us : int
        Width of a bucket.

    Returns
    -------
    tuple of int
        Events reduced, and events of withdrawn persons, which are left out.

    Raises
    ------
    FileRefused
        If a column is missing or of another type, a field is empty, a code or time impossible, a person not
        in the people register, or the pseudonyms were made with another key.
    """
    found = engine.columns(name)
    wrong = [f"{column} {kind}" for column, kind in COLUMNS.items() if found.get(column) != kind]
    if wrong:
        raise _refused("E_HEADER", f"Columns missing or of another type: {', '.join(wrong)}", name,
                       "Write text, and microseconds UTC since 1970 as a 64-bit integer.")  # fmt: skip
    last_us = int(dt.datetime.now(dt.UTC).timestamp()) * 1_000_000 + _DAY_US
    actions = ", ".join(quote(action) for action in STROKE_ACTIONS)
    check = engine.check(name, {"first_us": str(_FIRST_US), "last_us": str(last_us), "actions": actions})
    for rows, code, what in (
        (check.missing, "E_REQUIRED", "with an empty field"),
        (check.strange, "E_CODE", "with an unknown action"),
        (check.untimely, "E_FUTURE", "before 2000 or not yet come"),
    ):
        if rows:
            raise _refused(code, f"{rows:,} rows of {check.events:,} {what}", name, "Correct the export.")
    buckets = engine.buckets(name, {"source": "", "bucket_us": str(width_us), "tz": quote(zone)})
    con.execute(f"create or replace temp table work_log_bucket as select * from {buckets}")
    check_key_fingerprint(con, Path(name))
    check_key_label(con, Path(name), "work_log_bucket.person")
    left_out = _leave_out_withdrawn(home, con)
    strange, unknown = con.execute(sql("events/005_codes")).fetchall()[0]
    if strange:
        raise _refused("E_CODE", f"{strange:,} codes of persons or instruments have other signs", name,
                       "Persons: letters, digits, _ . : -; instruments: A-Z, 0-9, _ -.")  # fmt: skip
    if unknown:
        raise _refused("E_PERSON", f"{unknown:,} persons are not in the people register", name,
                       "Load the people file first.")  # fmt: skip
    return check.events - left_out, left_out


def _leave_out_withdrawn(home: Home, con: duckdb.DuckDBPyConnection) -> int:
    known = withdrawn(home, con)
    persons = con.execute("select distinct person from work_log_bucket").fetchall()
    gone = [person for (person,) in persons if digest(person) in known]
    events = con.execute(
        "select coalesce(sum(events), 0)::bigint from work_log_bucket where list_contains(?, person)", [gone]
    ).fetchall()[0][0]
    con.execute("delete from work_log_bucket where list_contains(?, person)", [gone])
    return events


def _refused(code: str, what: str, name: str, remedy: str) -> FileRefused:
    return FileRefused(what, name, remedy, code)
