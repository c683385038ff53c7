"""Write one checked file into the person store: its rows, what was set aside and the ledger, or nothing."""

from collections.abc import Callable, Sequence
from contextlib import suppress

import duckdb

from etl.contracts import Contract
from etl.late import Note
from etl.person_times import remember
from etl.readers import quote
from etl.reasons import REASON_CODES
from etl.sqlfiles import sql
from etl.staging import Staged
from etl.store import row_text


def _reason_sql(column: str) -> str:
    listed = ", ".join(quote(code) for code in REASON_CODES)
    return f"([{listed}])[{column} + 1]"


def _insert_rows(con: duckdb.DuckDBPyConnection, staged: Staged, file_id: int, zone: str) -> None:
    contract = staged.contract
    columns, values = ["file_id", "row_number"], [str(file_id), "row_number"]
    for name in staged.fields:
        columns.append(f'"{contract.field(name).store_column}"')
        values.append(f'"{name}__v"')
    if any(field.kind == "instant" for field in contract.fields):
        columns.append("tz")
        values.append(quote(zone))
    con.execute(
        f"insert into core.{contract.name} ({', '.join(columns)})"
        f" select {', '.join(values)} from typed where ok and id not in (select id from issues)"
    )


def _withdraw_contested(con: duckdb.DuckDBPyConnection, contract: Contract, file_id: int) -> None:
    """Take rows out of the store whose key this file contradicts, and account for them in their file."""
    found = con.execute("select count(*) from contested").fetchone()
    con.execute(
        "insert into core.conflict_key by name "
        "select ? as contract, key_hash, ? as file_id, person_digest from new_conflicts",
        [contract.name, file_id],
    )
    if not found or not found[0]:
        return
    on_key = " and ".join(
        f'core.{contract.name}."{contract.field(name).store_column}" = contested."{name}__v"'
        for name in contract.key
    )
    con.execute(f"delete from core.{contract.name} using contested where {on_key}")
    con.execute(
        "insert into core.set_aside select file_id, old_row, ?, reason, null, true from contested",
        ["+".join(contract.key)],
    )
    con.execute(sql("load/020_recount_contested"))


def commit_file(
    con: duckdb.DuckDBPyConnection,
    staged: Staged,
    zone: str,
    ledger: tuple[str, str, str, str],
    notes: Sequence[Note] = (),
    also: Callable[[], None] = lambda: None,
) -> tuple[int, int]:
    """Write accepted rows, rows set aside and the ledger row in one transaction, then checkpoint.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Writing connection with the temporary tables of the checks.
    staged : Staged
        What was staged.
    zone : str
        Declared time zone, kept beside instants.
    ledger : tuple of str
        Source, profile, file name and SHA-256.
    notes : sequence of tuple
        Warnings about accepted rows: code, column, rows.
    also : callable
        What else belongs to the file; called inside the transaction.

    Returns
    -------
    tuple of int
        Rows accepted and rows set aside.
    """
    contract = staged.contract
    con.execute("begin")
    try:
        found = con.execute("select coalesce(max(file_id), 0) + 1 from core.file_ledger").fetchone()
        file_id = int(found[0]) if found else 1
        remember(con, staged, file_id, zone)
        _withdraw_contested(con, contract, file_id)
        _insert_rows(con, staged, file_id, zone)
        con.execute(sql("load/010_set_aside").format(file_id=file_id, reason=_reason_sql("reason")))
        checksum = con.execute(
            f"select count(*), coalesce(sum(md5_number_lower({row_text(contract)})::hugeint), 0)::varchar"
            f" from core.{contract.name} where file_id = ?",
            [file_id],
        ).fetchone()
        accepted, content = checksum or (0, "0")
        aside = con.execute(
            "select count(*) from core.set_aside where file_id = ? and counts_as_row", [file_id]
        ).fetchone()
        if aside is None or accepted + aside[0] != staged.rows:
            raise RuntimeError(
                f"{staged.rows} rows came in, {accepted} + {aside} went out: a fault in the checks"
            )
        source, profile, name, sha256 = ledger
        con.execute(
            "insert into core.file_ledger values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, now()::timestamp)",
            [file_id, contract.name, source, profile, name, sha256, staged.rows, accepted,
             staged.rows - accepted, content],
        )  # fmt: skip
        for code, _, rows in notes:
            con.execute("insert into loading.note values (?, ?, ?)", [file_id, code, rows])
        also()
        con.execute("commit")
    except BaseException:
        # After a full disk the engine has already given the transaction up; a second rollback is an error.
        with suppress(duckdb.TransactionException):
            con.execute("rollback")
        raise
    con.execute("checkpoint store")
    return accepted, staged.rows - accepted
