"""Take a loaded file back: its rows, what it set aside and its ledger rows leave the store together.

This is how a register is brought up to date (take last month's export back, load this month's: a person's
new team spell is taken only where the register closes the earlier one) and how a contradiction between two
files is settled (take both back, load the right one). It is bookkeeping, not
erasure: bytes of deleted rows may stay in the file until the store is rebuilt.
"""

from contextlib import suppress
from dataclasses import dataclass

import duckdb

from etl.contracts import CONTRACTS
from etl.errors import EvenhandError
from etl.home import Home
from etl.readers import no_space
from etl.sqlfiles import sql
from etl.store import open_store

# What the store keeps about a file beside its rows.
_ACCOUNTS = (
    "core.set_aside", "core.conflict_key", "core.file_ledger", "loading.overfull_day",
    "loading.contested_bout", "loading.left_spell", "loading.note",
)  # fmt: skip


@dataclass(frozen=True)
class TakeBackSummary:
    """What left the store with a file.

    Attributes
    ----------
    file : str
        Name of the file.
    rows : dict of str to int
        Rows that left, by contract.
    contested : tuple of str
        Other files of which rows stay set aside because this one contradicted them.
    """

    file: str
    rows: dict[str, int]
    contested: tuple[str, ...]

    def lines(self) -> tuple[str, ...]:
        """Return the summary for people.

        Returns
        -------
        tuple of str
            One line, and one more where other files are concerned.
        """
        listed = ", ".join(f"{rows:,} rows of {contract}" for contract, rows in self.rows.items())
        said = (f"{self.file}: taken back, {listed} left the person store",)
        if not self.contested:
            return said
        others = ", ".join(self.contested)
        return (*said, f"Rows it contradicted stay set aside; take back and load again: {others}")


def _find(con: duckdb.DuckDBPyConnection, home: Home, file: str) -> dict[int, str]:
    """Return the ledger numbers of a file with their contracts; the file is named or given by its hash."""
    found = con.execute(
        "select file_id, contract, file_sha256 from core.file_ledger"
        " where file_name = ? or (length(?) >= 8 and starts_with(file_sha256, ?)) order by file_id",
        [file, file, file],
    ).fetchall()
    if not found:
        raise EvenhandError(
            f"No file called {file!r} is loaded",
            str(home.person_db),
            "Give its name or hash as in the ledger.",
        )
    hashes = sorted({sha256[:12] for _, _, sha256 in found})
    if len(hashes) > 1:
        raise EvenhandError(
            f"{len(hashes)} files called {file!r} are loaded", str(home.person_db),
            f"Give the beginning of its hash: {', '.join(hashes)}.",
        )  # fmt: skip
    return {file_id: contract for file_id, contract, _ in found}


def _contested(con: duckdb.DuckDBPyConnection, ids: list[int]) -> tuple[str, ...]:
    """Return the files that lost rows to a contradiction registered by one of these."""
    found = con.execute(sql("load/030_contested_files"), {"ids": ids}).fetchall()
    return tuple(str(row[0]) for row in found)


def take_back(home: Home, file: str) -> TakeBackSummary:
    """Take one loaded file back in one transaction; the same file can be loaded again afterwards.

    Parameters
    ----------
    home : Home
        The data home.
    file : str
        Name of the file as loaded, or at least eight digits of its SHA-256.

    Returns
    -------
    TakeBackSummary
        Rows that left, by contract.

    Raises
    ------
    EvenhandError
        If no such file, or several of that name, are loaded, or the disk is full.
    StoreBusy
        If another process has the store.
    """
    if not home.person_db.exists():
        raise EvenhandError("There is no person store yet", str(home.person_db), "Check --home.", "E_STORE")
    with open_store(home, write=True) as con:
        ids = _find(con, home, file)
        name = con.execute(
            "select any_value(file_name) from core.file_ledger where file_id in (select unnest(?))",
            [list(ids)],
        ).fetchone()
        contested = _contested(con, list(ids))
        con.execute("begin")
        try:
            rows = {contract: 0 for contract in CONTRACTS if contract in ids.values()}
            for file_id, contract in ids.items():
                gone = con.execute(f"delete from core.{contract} where file_id = ?", [file_id]).fetchone()
                rows[contract] += int(gone[0]) if gone else 0
                for table in _ACCOUNTS:
                    con.execute(f"delete from {table} where file_id = ?", [file_id])
            con.execute("commit")
        except duckdb.Error as error:
            with suppress(duckdb.TransactionException):
                con.execute("rollback")
            if not no_space(error):
                raise
            raise EvenhandError(
                "The disk is full; nothing was taken back", str(home.person_dir), "Make room.", "E_DISK"
            ) from error
        con.execute("checkpoint store")
    return TakeBackSummary(str(name[0]) if name else file, rows, contested)
