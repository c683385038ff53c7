"""Copy the person store into a fresh file without some rows, and put the fresh file in its place.

DuckDB marks deleted rows as free and leaves their bytes in the file, also after a checkpoint and VACUUM.
Only a file that never held the rows is free of them. So nothing is deleted: every table is copied row by
row under a condition, the copy is checked, flushed to disk and renamed over the old file in one step. A
process killed before that step leaves the old store, one killed after it the new one.
"""

import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.errors import EvenhandError
from etl.home import Home
from etl.store import STORAGE_VERSION, scratch_dir

# The copy is about as large as the store; the facts are built in it once more.
_ROOM = 2.0


@dataclass(frozen=True)
class Keep:
    """What a table's copy keeps.

    Attributes
    ----------
    where : str
        SQL condition of the rows kept, ``true`` for all.
    columns : str
        SQL select list, ``*`` for the columns as they are.
    parameters : dict
        Named parameters of both.
    """

    where: str
    columns: str = "*"
    parameters: Mapping[str, object] | None = None


def rebuild(
    home: Home,
    con: duckdb.DuckDBPyConnection,
    keeps: Mapping[str, Keep],
    finish: Callable[[duckdb.DuckDBPyConnection], None],
    check: Callable[[Path], None],
) -> None:
    """Rebuild the person store in a fresh file and swap it in.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        The writing connection of `etl.store.open_store`; only good for closing afterwards.
    keeps : Mapping of str to Keep
        What is kept of a table, by name with schema; tables not named are copied whole. Tables of schema
        ``facts`` are never copied, because `finish` builds them again.
    finish : Callable
        Called with the connection while the fresh file is the current database.
    check : Callable
        Called with the fresh, closed file; raises where it may not take the store's place.

    Raises
    ------
    EvenhandError
        If there is not enough room, or the old store's log could not be folded in. The store is unchanged.
    """
    _refuse_full_disk(home)
    fresh = scratch_dir(home) / "rebuild.duckdb"
    try:
        con.execute("checkpoint store")
        _copy(con, fresh, keeps)
        con.execute("use fresh")
        finish(con)
        con.execute("checkpoint fresh")
        con.execute("use memory")
        con.execute("detach fresh")
        con.execute("detach store")
        if _log_of(home.person_db).exists():
            # It would be replayed into the new file, and bring the rows back.
            raise EvenhandError(
                "The log of the store could not be folded in", str(home.person_db), "Run the command again."
            )
        check(fresh)
        _flush(fresh)
        fresh.replace(home.person_db)
        _flush(home.person_dir)
    finally:
        fresh.unlink(missing_ok=True)
        _log_of(fresh).unlink(missing_ok=True)


def _copy(con: duckdb.DuckDBPyConnection, fresh: Path, keeps: Mapping[str, Keep]) -> None:
    quoted = str(fresh).replace("'", "''")
    con.execute(f"attach '{quoted}' as fresh (storage_version '{STORAGE_VERSION}')")
    fresh.chmod(0o600)
    con.execute("copy from database store to fresh (schema)")
    for name in _tables(con):
        keep = keeps.get(name, Keep("true"))
        con.execute(
            f"insert into fresh.{name} select {keep.columns} from store.{name} where {keep.where}",
            dict(keep.parameters or {}),
        )


def _tables(con: duckdb.DuckDBPyConnection) -> list[str]:
    rows = con.execute(
        "select schema_name || '.' || table_name from duckdb_tables() "
        "where database_name = 'store' and schema_name <> 'facts' order by 1"
    ).fetchall()
    return [name for (name,) in rows]


def _log_of(path: Path) -> Path:
    return path.with_name(f"{path.name}.wal")


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _refuse_full_disk(home: Home) -> None:
    needed = int(home.person_db.stat().st_size * _ROOM)
    free = shutil.disk_usage(home.person_dir).free
    if free < needed:
        raise EvenhandError(
            f"The store is rebuilt in a second file: {needed >> 20} MB are needed, {free >> 20} MB are free",
            str(home.person_dir),
            "Make room and run the command again.",
            "E_DISK",
        )
