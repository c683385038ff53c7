"""Open the person store: one writer or several readers, migrated, bounded, and never by the dashboard."""

import datetime as dt
import fcntl
import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from etl.contracts import CONTRACTS, Contract
from etl.errors import EvenhandError, StoreBusy
from etl.home import Home
from etl.sqlfiles import sql

# Readable by every DuckDB since 1.4, so that a backup does not depend on this release of the engine.
STORAGE_VERSION = "v1.4.0"
MIGRATIONS: tuple[str, ...] = (
    "store/010_core",
    "store/011_conflicts",
    "store/040_pseudonym",
    "store/050_event_bucket",
    "store/060_loading",
    "store/070_change_history",
    "store/080_survey_items",
    "store/090_roll_out",
    "store/100_studies",
    "store/110_half_marks",
)
MEMORY_LIMIT = "3GB"
THREADS = 2


def scratch_dir(home: Home) -> Path:
    """Return the folder for intermediate files, inside the person folder because they hold person rows.

    Parameters
    ----------
    home : Home
        The data home.

    Returns
    -------
    Path
        A folder of mode 0700; its content is deleted whenever a writer opens the store.
    """
    return home.person_dir / "scratch"


@contextmanager
def _locked(home: Home, *, write: bool) -> Iterator[None]:
    """Hold the side file's lock; only a writer leaves its process id in it."""
    with (home.person_dir / "core.lock").open("a+", encoding="utf-8") as side:
        try:
            fcntl.flock(side, (fcntl.LOCK_EX if write else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except OSError as error:
            side.seek(0)
            holder = side.read().strip() or "a reader such as a release job"
            raise StoreBusy(
                f"The person store is in use by {holder}",
                str(home.person_db),
                "Try again when it has finished.",
            ) from error
        try:
            if write:
                side.truncate(0)
                now = dt.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M:%S %z")
                side.write(f"loader PID {os.getpid()} since {now}")
                side.flush()
            yield
        finally:
            if write:
                side.truncate(0)


def _make_folders(home: Home) -> None:
    for folder in (home.person_dir, scratch_dir(home)):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        folder.chmod(0o700)


def _empty_scratch(home: Home) -> None:
    """Delete what a killed loader left behind; called under the writer's lock only."""
    for path in scratch_dir(home).rglob("*"):
        if path.is_file() or path.is_symlink():
            path.unlink()


def version_of(con: duckdb.DuckDBPyConnection) -> int:
    """Return how many migrations a store has had.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection to a person store.

    Returns
    -------
    int
        0 for a new file.
    """
    known = con.execute(
        "select count(*) from duckdb_tables() where database_name = current_database()"
        " and schema_name = 'core' and table_name = 'store_version'"
    ).fetchone()
    if not known or known[0] == 0:
        return 0
    found = con.execute("select coalesce(max(version), 0) from core.store_version").fetchone()
    return int(found[0]) if found else 0


def _migrate(con: duckdb.DuckDBPyConnection) -> None:
    """Apply each missing migration with its ledger row in one transaction, then checkpoint.

    The checkpoint matters: a crash that leaves table definitions in the write-ahead log is the one
    that DuckDB has had trouble to replay.
    """
    for version in range(version_of(con) + 1, len(MIGRATIONS) + 1):
        con.execute("begin")
        con.execute(sql(MIGRATIONS[version - 1]))
        con.execute("insert into core.store_version values (?, now()::timestamp)", [version])
        con.execute("commit")
        con.execute("checkpoint store")


def _connect(path: Path, scratch: Path, *, write: bool) -> duckdb.DuckDBPyConnection:
    con = duckdb.connect(
        ":memory:",
        config={
            "autoinstall_known_extensions": False,
            "autoload_known_extensions": False,
            "allow_community_extensions": False,
            "python_enable_replacements": False,
            "memory_limit": MEMORY_LIMIT,
            "threads": THREADS,
            "temp_directory": str(scratch),
        },
    )
    quoted = str(path).replace("'", "''")
    mode = f"storage_version '{STORAGE_VERSION}'" if write else "read_only"
    try:
        con.execute(f"attach '{quoted}' as store ({mode})")
        con.execute("use store")
        version = version_of(con)
    except duckdb.Error as error:
        con.close()
        busy = "lock on file" in str(error)
        raise (StoreBusy if busy else EvenhandError)(
            str(error).splitlines()[0],
            str(path),
            "Close the program that holds it."
            if busy
            else "Restore it from a backup or load the files again.",
            "" if busy else "E_STORE",
        ) from error
    if version > len(MIGRATIONS):
        con.close()
        raise EvenhandError(
            f"The person store has version {version}, this program knows {len(MIGRATIONS)}",
            str(path),
            "Use the newer program.",
            "E_STORE",
        )
    return con


@contextmanager
def open_store(home: Home, *, write: bool) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the person store of a data home.

    The store is the current database of the connection, so tables are named ``core.bouts``. Fact
    tables are built by a writer.

    Parameters
    ----------
    home : Home
        The data home.
    write : bool
        A writer is alone; readers exclude writers but not each other.

    Yields
    ------
    duckdb.DuckDBPyConnection
        Closed on leaving the block.

    Raises
    ------
    StoreBusy
        If another process has it; the message names the process and since when.
    EvenhandError
        If there is no store to read, or its file cannot be used.
    """
    if not write and not home.person_db.exists():
        raise EvenhandError(
            "There is no person store yet", str(home.person_db), "Load files first: evenhand load.", "E_STORE"
        )
    _make_folders(home)
    with _locked(home, write=write):
        if write:
            _empty_scratch(home)
        con = _connect(home.person_db, scratch_dir(home), write=write)
        try:
            if write:
                _migrate(con)
                home.person_db.chmod(0o600)
            elif version_of(con) < len(MIGRATIONS):
                raise EvenhandError(
                    "The person store was made by an older program",
                    str(home.person_db),
                    "Load any file to bring it up to date.",
                    "E_STORE",
                )
            yield con
        finally:
            con.close()


def row_text(contract: Contract) -> str:
    """Return the SQL of one row's content as text, the same for any file and row number.

    Parameters
    ----------
    contract : Contract
        The contract of the table.

    Returns
    -------
    str
        An SQL expression over the table's columns.
    """
    columns = ", ".join(f"coalesce({field.store_column}::varchar, '~')" for field in contract.fields)
    return f"concat_ws('|', {columns})"


def content_hash(con: duckdb.DuckDBPyConnection) -> str:
    """Hash what the core tables say, whatever files said it and in which order.

    For each table the sum of the rows' MD5 numbers is taken, which does not depend on order; the sums
    and counts of all tables are hashed once more.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection to a person store.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    whole = hashlib.sha256()
    for name, contract in CONTRACTS.items():
        found = con.execute(
            f"select count(*), coalesce(sum(md5_number_lower({row_text(contract)})::hugeint), 0)"
            f" from core.{name}"
        ).fetchone()
        whole.update(f"{name} {found}\n".encode())
    return whole.hexdigest()
