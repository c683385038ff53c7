"""Give every person of the store the pseudonym of a new key, once a year or after a key was lost.

The tokens that key the rounding stay, so the same people's numbers are not drawn anew; the ledger, and with
it what the auditor knows, stays as it is; published editions are not touched, for they name nobody. Nothing
of the crosswalk is kept. The store is rebuilt in a fresh file, so that no earlier pseudonym is left in its
bytes, and swapped in by one rename.
"""

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import duckdb
import pyarrow as pa

from etl.bytesearch import files_naming
from etl.contracts import CONTRACTS
from etl.crosswalk import Crosswalk, read_crosswalk
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.home import Home
from etl.person_rows import has_facts, person_tables, persons
from etl.rebuild import Keep, rebuild
from etl.settings import load_settings
from etl.sqlfiles import sql
from etl.store import open_store, row_text
from etl.tombstones import digest, remember, withdrawn

Progress = Callable[[str, int, int], None]
_SIGNS = "[A-Z2-7]{26}"


@dataclass(frozen=True)
class RekeySummary:
    """What was changed.

    Attributes
    ----------
    old, new : str
        Label and fingerprint of the earlier and the new key.
    persons, rows : int
        Persons of the store, and rows of loaded files that name them.
    tokens : int
        Persons whose rounding token went over to the new pseudonym.
    withdrawals : int
        Withdrawn persons who stay out under their new pseudonym too.
    forgotten : int
        Contested keys that can no longer be told, as only a hash of them was kept.
    seen_before : bool
        Whether the byte search found an earlier pseudonym in the old store.
    left_in : tuple of Path
        Files below the data home that still hold one, such as delivered copies.
    """

    old: str
    new: str
    persons: int
    rows: int
    tokens: int
    withdrawals: int
    forgotten: int
    seen_before: bool
    left_in: tuple[Path, ...]

    def __str__(self) -> str:
        said = [
            f"{self.persons} persons in {self.rows:,} rows went from key {self.old} to key {self.new}; "
            f"{self.tokens} keep their rounding token, {self.withdrawals} withdrawn stay out."
        ]
        if self.seen_before:
            said.append(
                "A byte search found earlier pseudonyms in the old store and finds none in the new one."
            )
        if self.forgotten:
            said.append(
                f"{self.forgotten} contested keys are forgotten: take back a file that repeats such a row."
            )
        if self.left_in:
            names = ", ".join(path.name for path in self.left_in)
            said.append(f"Delete these files, which still hold earlier pseudonyms: {names}.")
        said.append(
            "The crosswalk is deleted here: delete every other copy, and backups when their time is up."
        )
        return "\n".join(said)


def rekey(
    home: Home, file: Path, *, today: dt.date | None = None, progress: Progress | None = None
) -> RekeySummary:
    """Apply a crosswalk to the person store, all of it or nothing, and delete the crosswalk.

    Parameters
    ----------
    home : Home
        The data home.
    file : Path
        Crosswalk, from `etl.crosswalk.write_crosswalk`.
    today : datetime.date, optional
        Day of the change; by default the present day.
    progress : Callable, optional
        Called with a label, the steps done and the steps in all.

    Returns
    -------
    RekeySummary
        What was changed.

    Raises
    ------
    EvenhandError
        If there is no store, its pseudonyms are of another key, or the crosswalk leaves somebody out or is
        damaged: nothing is changed then. Also if it cannot be deleted afterwards.
    StoreBusy
        If another process has the store.
    """
    if not home.person_db.exists():
        raise EvenhandError("There is no person store yet", str(home.person_db), "Check --home.", "E_STORE")
    walk = read_crosswalk(file)
    tell = progress or (lambda label, done, total: None)
    with open_store(home, write=True) as con:
        summary = _apply(home, con, walk, file, today or dt.date.today(), tell)
    try:
        file.unlink()
    except OSError as error:
        raise EvenhandError(
            f"The store is re-keyed, but the crosswalk cannot be deleted: {error.strerror}",
            str(file),
            "Delete it now: with it, earlier pseudonyms can be told.",
        ) from None
    return summary


def _apply(
    home: Home, con: duckdb.DuckDBPyConnection, walk: Crosswalk, file: Path, today: dt.date, tell: Progress
) -> RekeySummary:
    everybody = persons(con)
    _refuse_unfit(con, walk, everybody, file)
    known = withdrawn(home, con)
    carried = {digest(new): known[digest(old)] for old, new in walk.pairs.items() if digest(old) in known}
    # The list comes first: killed after this line, it names more people than needed and none too few.
    remember(home, known | carried)
    earlier, named = _pattern(walk), frozenset(old.encode() for old in walk.pairs)
    tell("search", 0, 3)
    seen_before = bool(files_naming(home.person_db, earlier, named))
    tables = [name for name in person_tables(con) if not name.startswith("facts.")]
    counts = {name: con.execute(f"select count(*) from {name}").fetchall()[0][0] for name in tables}
    forgotten = con.execute(
        "select count(*) from core.conflict_key where person_digest is not null"
    ).fetchall()[0][0]
    with_facts = has_facts(con)
    con.register("crosswalk", pa.table({"old": [*walk.pairs], "new": [*walk.pairs.values()]}))

    def finish(fresh: duckdb.DuckDBPyConnection) -> None:
        for name, contract in CONTRACTS.items():
            if f"core.{name}" in tables:
                fresh.execute(sql("rekey/010_checksum").format(table=name, row=row_text(contract)), [name])
        for code, day in (known | carried).items():
            fresh.execute("insert into core.tombstone values (?, ?) on conflict do nothing", [code, day])
        fresh.execute(
            "insert into core.pseudonym_key values (?, ?, ?, ?)",
            [walk.new.label, walk.new.fingerprint, file.name, today],
        )
        if with_facts:
            build_facts(fresh, load_settings(home.settings_file))
        _refuse_leftovers(fresh, walk)
        fresh.unregister("crosswalk")

    def check(fresh: Path) -> None:
        if files_naming(fresh, earlier, named):
            raise _fault("The rebuilt store would still hold an earlier pseudonym")

    tell("rebuild", 1, 3)
    rebuild(home, con, _keeps(tables, walk), finish, check)
    tell("search", 2, 3)
    left = tuple(path for path in files_naming(home.root, earlier, named) if path != file.resolve())
    tell("done", 3, 3)
    return RekeySummary(
        str(walk.old),
        str(walk.new),
        len(everybody),
        sum(rows for name, rows in counts.items() if name.startswith("core.")),
        counts.get("release_private.token", 0),
        len(carried),
        forgotten,
        seen_before,
        left,
    )


def _refuse_unfit(
    con: duckdb.DuckDBPyConnection, walk: Crosswalk, everybody: frozenset[str], file: Path
) -> None:
    """Refuse a crosswalk between other keys than the store's, or one that leaves somebody out."""
    known = con.execute("select label, fingerprint from core.pseudonym_key").fetchall()
    if known == [(walk.new.label, walk.new.fingerprint)]:
        raise EvenhandError(
            f"The pseudonyms of this store are of key {walk.new} already", str(file), "Delete the crosswalk."
        )
    if known and known != [(walk.old.label, walk.old.fingerprint)]:
        label, fingerprint = known[0]
        raise EvenhandError(
            f"The crosswalk leads from key {walk.old}, the store holds pseudonyms of {label} ({fingerprint})",
            str(file),
            "Have it made with the key that the files were sent with.",
        )
    if not everybody:
        raise EvenhandError("Nobody is in the person store", str(file), "Load files with the new key.")
    missing = len(everybody - walk.pairs.keys())
    if missing:
        raise EvenhandError(
            f"{missing} of {len(everybody)} persons in the store are not in the crosswalk",
            str(file),
            "Have it made from a file with everybody who ever was in the register; nothing was changed.",
        )


def _keeps(tables: list[str], walk: Crosswalk) -> dict[str, Keep]:
    renamed = "* replace ((select pair.new from crosswalk pair where pair.old = person) as person)"
    # A value set aside that is a pseudonym changes with it; one that holds some sign of one is emptied.
    value = (
        "* replace (case when trim(value) in (select pair.old from crosswalk pair) "
        "then (select pair.new from crosswalk pair where pair.old = trim(value)) "
        f"when regexp_matches(value, '(^|[^a-z0-9]){walk.old.label}:[A-Z2-7]') then null "
        "else value end as value)"
    )
    return {name: Keep("true", renamed) for name in tables} | {
        "core.set_aside": Keep("true", value),
        "core.conflict_key": Keep("person_digest is null"),
        "core.pseudonym_key": Keep("false"),
    }


def _refuse_leftovers(con: duckdb.DuckDBPyConnection, walk: Crosswalk) -> None:
    """Read every text column of the rebuilt store: a table unknown to this module must hide nobody."""
    columns = con.execute(
        "select schema_name, table_name, column_name from duckdb_columns() "
        "where database_name = current_database() and data_type in ('VARCHAR', 'VARCHAR[]')"
    ).fetchall()
    for schema, table, column in columns:
        found = f"unnest(regexp_extract_all(\"{column}\"::varchar, '{walk.old.label}:{_SIGNS}'))"
        if con.execute(
            f"select 1 from (select {found} as found from {schema}.{table}) "
            "where found in (select pair.old from crosswalk pair) limit 1"
        ).fetchall():
            raise _fault(f"Column {column} of {schema}.{table} would still hold an earlier pseudonym")


def _pattern(walk: Crosswalk) -> re.Pattern[bytes]:
    """Return what an earlier pseudonym looks like; looked ahead for, as one may begin inside another."""
    return re.compile(f"(?=({walk.old.label}:{_SIGNS}))".encode())


def _fault(what: str) -> EvenhandError:
    return EvenhandError(
        what, "person store", "The store is unchanged. This is a fault: please report it, without the value."
    )
