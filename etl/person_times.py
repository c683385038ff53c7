"""Rows that no single person can have worked: more than a day's hours in a day, two teams on one day.

As with contradictions, what the rows of a file show may concern rows loaded before. Both are then set aside,
each in its own file's account, and the verdict is remembered, so that it does not depend on which file came
first. To settle it, take the files back and load the right ones.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.filechecks import refuse
from etl.readers import quote
from etl.reasons import REASONS, number_of
from etl.sqlfiles import sql
from etl.staging import Staged

# A share of rows beyond which the file as a whole is in doubt, and the least number of rows.
TEAMS_LIMIT = (0.05, 3)
DAY_LIMIT = (0.50, 20)


@dataclass(frozen=True)
class _Rule:
    """How one contract's rows are found and what is remembered of them."""

    find: Callable[[duckdb.DuckDBPyConnection, Staged, str], bool]
    code: str
    column: str
    file_row: str
    store_row: str
    limit: tuple[float, int]


def _find_days(con: duckdb.DuckDBPyConnection, staged: Staged, zone: str) -> bool:
    con.execute("create or replace temp table blocked_day (person varchar, local_date date)")
    con.execute(sql("load/040_busy_day"))
    if not _any(con, "busy_day") and not _any(con, "loading.overfull_day"):
        return False
    con.execute(sql("load/050_overfull_day"), {"zone": zone})
    con.execute(
        "insert into blocked_day select person, local_date from overfull_now"
        " union select person, local_date from loading.overfull_day"
        " where person in (select person__v from typed where ok)"
    )
    return _any(con, "blocked_day")


def _find_spells(con: duckdb.DuckDBPyConnection, staged: Staged, zone: str) -> bool:
    last = "valid_to__v" if "valid_to" in staged.fields else "null::date"
    con.execute(
        "create or replace temp table file_spell as select person__v as person, team__v as team,"
        f" valid_from__v as valid_from, {last} as valid_to, id from typed where ok"
    )
    con.execute(sql("load/060_later_spell"))
    return _any(con, "later_spell")


def _any(con: duckdb.DuckDBPyConnection, table: str) -> bool:
    return bool(con.execute(f"select 1 from {table} limit 1").fetchall())


def _days_rule(zone: str) -> _Rule:
    def on_day(person: str, start: str, tz: str) -> str:
        day = f"timezone({tz}, make_timestamptz({start}))::date"
        return (
            f"exists (select 1 from blocked_day where blocked_day.person = {person}"
            f" and blocked_day.local_date = {day})"
        )

    return _Rule(
        _find_days, "E_DAY", "start+end", on_day("typed.person__v", "typed.start__v", quote(zone)),
        on_day("old.person", "old.start_us", "old.tz"), DAY_LIMIT,
    )  # fmt: skip


_SPELLS = _Rule(
    _find_spells, "E_TWOTEAMS", "valid_from",
    "exists (select 1 from later_spell where later_spell.person = typed.person__v"
    " and later_spell.valid_from = typed.valid_from__v)",
    "exists (select 1 from later_spell where later_spell.person = old.person"
    " and later_spell.valid_from = old.valid_from)", TEAMS_LIMIT,
)  # fmt: skip


def find_impossible_times(con: duckdb.DuckDBPyConnection, staged: Staged, zone: str, path: Path) -> None:
    """Add E_DAY and E_TWOTEAMS to ``issues``, and the rows of the store they concern to ``contested``.

    A bout counts whole on the local day on which it starts; where the bouts of a person and day make more
    than 24 hours, all of them leave. Of team spells of a person that overlap, each that begins later than
    another one on another team leaves.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, after `find_duplicates`.
    staged : Staged
        What was staged.
    zone : str
        Declared time zone.
    path : Path
        The file, for messages.

    Raises
    ------
    FileRefused
        With the code, where it concerns too large a share of the rows.
    """
    rule = {"bouts": _days_rule(zone), "people": _SPELLS}.get(staged.contract.name)
    if rule is None or not rule.find(con, staged, zone):
        return
    con.execute(
        f"insert into issues select id, row_number, 0, '{rule.column}', {number_of(rule.code)}, null"
        f" from typed where ok and id not in (select id from issues) and {rule.file_row}"
    )
    keys = ", ".join(f'old."{staged.contract.field(name).store_column}"' for name in staged.contract.key)
    con.execute(
        f"insert into contested select old.file_id, old.row_number, '{rule.code}', {keys}"
        f" from core.{staged.contract.name} as old where {rule.store_row}"
        " and (old.file_id, old.row_number) not in (select file_id, old_row from contested)"
    )
    _refuse_share(con, staged, rule, path)


def _refuse_share(con: duckdb.DuckDBPyConnection, staged: Staged, rule: _Rule, path: Path) -> None:
    share, least = rule.limit
    found = con.execute(
        "select (select count(*) from issues where reason = ?)"
        " + (select count(*) from contested where reason = ?)",
        [number_of(rule.code), rule.code],
    ).fetchone()
    bad = found[0] if found else 0
    if bad >= least and bad > share * staged.rows:
        known = REASONS[rule.code]
        raise refuse(
            rule.code,
            f"{bad:,} rows, beside {staged.rows:,} of the file, are {known.meaning}",
            path,
            known.remedy,
        )


def remember(con: duckdb.DuckDBPyConnection, staged: Staged, file_id: int, zone: str) -> None:
    """Write down what later files are held against; called inside the transaction of the file.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, before contested rows are deleted.
    staged : Staged
        What was staged.
    file_id : int
        Number of the file.
    zone : str
        Declared time zone.
    """
    conflict, teams = number_of("E_CONFLICT"), number_of("E_TWOTEAMS")
    if staged.contract.name == "bouts":
        con.execute(
            f"insert into loading.overfull_day select {file_id}, person, local_date from blocked_day"
            " where (person, local_date) not in (select (person, local_date) from loading.overfull_day)"
        )
        con.execute(
            f"insert into loading.contested_bout select {file_id}, person__v, start__v, end__v, {quote(zone)}"
            f" from typed join issues using (id) where reason = {conflict} union all"
            " select old.file_id, person, start_us, end_us, tz from core.bouts as old join contested"
            " on old.file_id = contested.file_id and old.row_number = contested.old_row"
            " where contested.reason = 'E_CONFLICT'"
        )
    if staged.contract.name == "people":
        con.execute(
            f"insert into loading.left_spell select {file_id}, person, team, valid_from, valid_to"
            f" from file_spell join issues using (id) where reason in ({conflict}, {teams}) union all"
            " select old.file_id, person, team, valid_from, valid_to from core.people as old join contested"
            " on old.file_id = contested.file_id and old.row_number = contested.old_row"
        )
