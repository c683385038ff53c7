"""The private ledger: which people stand behind each published number, under opaque tokens."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

import duckdb

from etl.errors import ReleaseRefused
from etl.keys import SecretKey
from etl.release_calendar import Month
from etl.sqlfiles import sql

MONTH_KIND = "discomfort/month"
QUARTER_KIND = "discomfort/quarter"
TOKEN_BYTES = 16


@dataclass(frozen=True)
class HealthCell:
    """A judged health cell with its contributors.

    Attributes
    ----------
    kind : str
        `MONTH_KIND` or `QUARTER_KIND`.
    level, unit, period, region : str
        What the count is about.
    tokens : tuple of str
        Contributors, sorted.
    base : int
        Rounding base.
    published : int or None
        Rounded count, None where hidden.
    withheld : bool
        Whether the audit has hidden it, or its whole level.
    """

    kind: str
    level: str
    unit: str
    period: str
    region: str
    tokens: tuple[str, ...]
    base: int
    published: int | None
    withheld: bool = False


def prepare(con: duckdb.DuckDBPyConnection, last_edition: int) -> None:
    """Create the private tables, and drop what an interrupted release left behind.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    last_edition : int
        Number of the newest published edition, 0 before the first.
    """
    con.execute(sql("store/030_tokens"))
    for table in ("ledger", "answered", "roster", "statement", "flag_setup"):
        con.execute(f"delete from release_private.{table} where edition > ?", [last_edition])
    con.execute("delete from release_private.key_seen where first_edition > ?", [last_edition])


def give_tokens(con: duckdb.DuckDBPyConnection) -> None:
    """Give every person of the facts a random token who has none yet.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing, facts built.
    """
    rows = con.execute(
        "select person from (select person from facts.roster union select person from facts.symptom) "
        "where person not in (select person from release_private.token) order by person"
    ).fetchall()
    if rows:
        con.executemany(
            "insert into release_private.token values (?, ?)",
            [(person, secrets.token_hex(TOKEN_BYTES)) for (person,) in rows],
        )


def check_key(con: duckdb.DuckDBPyConnection, key: SecretKey, edition: int) -> None:
    """Refuse a release key other than the one the ledger was made with.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    key : SecretKey
        Release key.
    edition : int
        Edition about to be made.

    Raises
    ------
    ReleaseRefused
        If earlier editions used another key: the same people would be drawn anew.
    """
    seen = con.execute("select fingerprint from release_private.key_seen").fetchall()
    if not seen:
        con.execute("insert into release_private.key_seen values (?, ?)", [key.fingerprint, edition])
    elif seen[0][0] != key.fingerprint:
        raise ReleaseRefused(
            f"The release key ({key.fingerprint}) is not the one of earlier editions ({seen[0][0]})",
            "keys",
            "Restore the earlier key; a new one would round the same people's numbers anew.",
        )


def set_id(tokens: Sequence[str]) -> str:
    """Return the name of a set of contributors.

    Parameters
    ----------
    tokens : sequence of str
        Tokens, in any order.

    Returns
    -------
    str
        SHA-256 of the sorted tokens.
    """
    return hashlib.sha256("\x1f".join(sorted(tokens)).encode()).hexdigest()


class LedgerWriter:
    """Collects what one edition adds to the private ledger, and writes it at once."""

    def __init__(self, con: duckdb.DuckDBPyConnection, edition: int) -> None:
        self._con = con
        self._edition = edition

    def write(
        self,
        cells: Sequence[HealthCell],
        rosters: Sequence[tuple[str, str, Sequence[str]]],
        answered: Sequence[tuple[str, str, Sequence[str]]],
        period: str,
    ) -> None:
        """Replace this edition's rows of the ledger.

        Parameters
        ----------
        cells : sequence of HealthCell
            Judged cells.
        rosters : sequence of tuple
            Team, cluster and tokens.
        answered : sequence of tuple
            Month, region and tokens.
        period : str
            Month released.
        """
        for table in ("ledger", "answered", "roster"):
            self._con.execute(f"delete from release_private.{table} where edition = ?", [self._edition])
        groups = [*(c.tokens for c in cells), *(r[2] for r in rosters), *(a[2] for a in answered)]
        sets = {set_id(group): sorted(group) for group in groups}
        self._many(
            "insert into release_private.contributor_set values (?, ?) on conflict do nothing",
            [*sets.items()],
        )
        self._many(
            "insert into release_private.ledger values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (
                    self._edition, c.kind, c.level, c.unit, c.period, c.region,
                    set_id(c.tokens), len(c.tokens), c.base, c.published,
                )
                for c in cells
            ],
        )  # fmt: skip
        self._many(
            "insert into release_private.roster values (?, ?, ?, ?, ?)",
            [(self._edition, period, team, cluster, set_id(group)) for team, cluster, group in rosters],
        )
        self._many(
            "insert into release_private.answered values (?, ?, ?, ?)",
            [(self._edition, month, region, set_id(group)) for month, region, group in answered],
        )

    def _many(self, statement: str, rows: Sequence[tuple[object, ...]]) -> None:
        if rows:
            self._con.executemany(statement, rows)


def published_counts(
    con: duckdb.DuckDBPyConnection, kind: str, period: str
) -> dict[tuple[str, str, str], tuple[int, int]]:
    """Return the counts published for a period.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    kind : str
        Kind of cell.
    period : str
        Period.

    Returns
    -------
    dict
        (level, unit, region) to published count and contributors.
    """
    rows = con.execute(
        "select level, unit, region, published, n from release_private.ledger "
        "where kind = ? and period = ? and published is not null",
        [kind, period],
    ).fetchall()
    return {(level, unit, region): (published, n) for level, unit, region, published, n in rows}


def refuse_dropped_people(con: duckdb.DuckDBPyConnection, month: Month, rosters: dict[str, set[str]]) -> None:
    """Refuse a quarter in which somebody vanished from the roster of a month already released.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    month : Month
        Month being released.
    rosters : dict
        Earlier months of the quarter, as ``2026-07``, to the tokens now listed for them.

    Raises
    ------
    ReleaseRefused
        If a person listed then, and not withdrawn since, is no longer listed.
    """
    for period, now in rosters.items():
        rows = con.execute(sql("release/180_listed_then"), {"period": period}).fetchall()
        gone = {token for (token,) in rows} - now
        if gone:
            raise ReleaseRefused(
                f"{len(gone)} listed in {period} when it was released are missing from its roster now",
                f"release of {month}",
                "Load a people file that closes their spells with a leaving date; for a withdrawal use "
                "'evenhand withdraw'.",
            )
