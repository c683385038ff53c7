"""Rows with the same natural key: the same again counts once, a contradiction counts nowhere.

A key that two rows disagree about is taken out of the store and remembered, so that the result does
not depend on which file came first.
"""

from pathlib import Path

import duckdb

from etl.contracts import Contract
from etl.filechecks import refuse
from etl.readers import quote
from etl.reasons import number_of
from etl.staging import Staged
from etl.tombstones import DOMAIN

CONFLICT_SHARE = 0.05
CONFLICT_ROWS = 3


def _key_columns(staged: Staged) -> list[str]:
    return [f'"{name}__v"' for name in staged.contract.key]


def _key_text(columns: list[str]) -> str:
    return f"md5_number_lower(concat_ws('|', {', '.join(f'{one}::varchar' for one in columns)}))::hugeint"


def _person_digest(contract: Contract) -> str:
    """Return SQL of the tombstone of the person a key names, as `etl.tombstones.digest` makes it."""
    return f"sha256('{DOMAIN}' || person__v)" if "person" in contract.key else "null::varchar"


def _add(con: duckdb.DuckDBPyConnection, staged: Staged, code: str, where: str) -> None:
    """Add an issue for the ok rows that meet a condition and have none yet."""
    column = quote("+".join(staged.contract.key))
    con.execute(
        f"insert into issues select id, row_number, 0, {column}, {number_of(code)}, null from typed"
        f" where ok and id not in (select id from issues) and ({where})"
    )


def find_duplicates(con: duckdb.DuckDBPyConnection, staged: Staged, path: Path) -> None:
    """Add D_ROW and E_CONFLICT to ``issues``; list rows of the store to withdraw in ``contested``.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load.
    staged : Staged
        What was staged.
    path : Path
        The file, for messages.

    Raises
    ------
    FileRefused
        E_CONFLICT where more than 5 % of the rows contradict rows already loaded.
    """
    contract = staged.contract
    keys = _key_columns(staged)
    others = [name for name in staged.fields if name not in contract.key]
    listed = ", ".join(keys)
    content = "hash(" + (", ".join(f'"{name}__v"' for name in others) or "0") + ")"
    con.execute(
        f"create or replace temp table repeated as select {listed}, min(row_number) as first_row,"
        f" min(id) as first_id, min({content}) <> max({content}) as differ from typed where ok"
        f" group by {listed} having count(*) > 1"
    )
    on_key = " and ".join(f"typed.{key} = repeated.{key}" for key in keys)
    _add(con, staged, "E_CONFLICT", f"exists (select 1 from repeated where differ and {on_key})")
    _add(con, staged, "D_ROW", f"exists (select 1 from repeated where {on_key} and typed.id <> first_id)")
    blocked = f"(select key_hash from core.conflict_key where contract = {quote(contract.name)})"
    any_blocked = con.execute(f"select count(*) from {blocked}").fetchone()
    if any_blocked and any_blocked[0]:
        _add(con, staged, "E_CONFLICT", f"{_key_text(keys)} in {blocked}")
    _against_store(con, staged, path, others)
    con.execute(
        "create or replace temp table new_conflicts as select distinct"
        f" {_key_text(keys)} as key_hash, {_person_digest(contract)} as person_digest"
        " from typed join issues using (id)"
        f" where issues.reason = {number_of('E_CONFLICT')}"
        f" and {_key_text(keys)} not in {blocked}"
    )


def _against_store(con: duckdb.DuckDBPyConnection, staged: Staged, path: Path, others: list[str]) -> None:
    contract = staged.contract
    table = f"core.{contract.name}"
    column = {field.name: field.store_column for field in contract.fields}
    on_store = " and ".join(f'typed."{name}__v" = old."{column[name]}"' for name in contract.key)
    same = " and ".join(
        [f'typed."{name}__v" is not distinct from old."{column[name]}"' for name in others]
        + [f'old."{column[name]}" is null' for name in column if name not in staged.fields]
    )
    con.execute(
        f"create or replace temp table seen as select typed.id, old.file_id, old.row_number as old_row,"
        f" ({same or 'true'}) as same from typed join {table} old on {on_store} where typed.ok"
    )
    counts = con.execute(
        "select (select count(*) from typed), (select count(distinct id) from seen where not same)"
    ).fetchone()
    rows, differing = counts or (0, 0)
    if differing >= CONFLICT_ROWS and differing > CONFLICT_SHARE * rows:
        raise refuse(
            "E_CONFLICT", f"{differing} of {rows} rows contradict rows already loaded", path,
            "Take the earlier file back first, or load only the one that is right.",
        )  # fmt: skip
    _add(con, staged, "D_ROW", "id in (select id from seen where same)")
    _add(con, staged, "E_CONFLICT", "id in (select id from seen where not same)")
    # Rows of one file that disagree among themselves also put the row already loaded in doubt.
    con.execute(
        "create or replace temp table contested as select distinct seen.file_id, seen.old_row,"
        " 'E_CONFLICT' as reason,"
        f" {', '.join('typed.' + key for key in _key_columns(staged))}"
        " from seen join typed using (id) join issues using (id)"
        f" where issues.reason = {number_of('E_CONFLICT')}"
    )
