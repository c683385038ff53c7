"""What a copy of the store without some persons keeps, and the proofs that they are not in it."""

from collections.abc import Sequence
from pathlib import Path

import duckdb

from etl.bytesearch import holds
from etl.errors import EvenhandError
from etl.person_rows import aside_sql, named_persons, names_sql, person_tables
from etl.rebuild import Keep
from etl.tombstones import digest


def keeps_without(
    con: duckdb.DuckDBPyConnection, gone: Sequence[str], unique: Sequence[str]
) -> dict[str, Keep]:
    """Say what a copy of the store without some persons keeps of each table.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    gone : sequence of str
        Persons to take out.
    unique : sequence of str
        Those of them whose text can be looked for inside other text, from `sought`.

    Returns
    -------
    dict of str to Keep
        By table. Of rows set aside the value goes where it names a person, or stands in a row that does.
    """
    keeps = {
        name: Keep("not list_contains($gone, person)", parameters={"gone": list(gone)})
        for name in person_tables(con)
    }
    emptied = f"* replace (case when {aside_sql('store.')} then null else value end as value)"
    return keeps | {
        "core.set_aside": Keep("true", emptied, named_persons(gone, unique)),
        "core.conflict_key": Keep(
            "person_digest is null or not list_contains($digests, person_digest)",
            parameters={"digests": [digest(person) for person in gone]},
        ),
    }


def refuse_leftovers(con: duckdb.DuckDBPyConnection, gone: Sequence[str], unique: Sequence[str]) -> None:
    """Read every text column of the current database, and refuse one that still names a person.

    A table that this module does not know of must not hide anybody.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection with the rebuilt store as the current database.
    gone, unique : sequence of str
        As for `keeps_without`.

    Raises
    ------
    EvenhandError
        Naming table and column, not the person.
    """
    columns = con.execute(
        "select schema_name, table_name, column_name from duckdb_columns() "
        "where database_name = current_database() and data_type in ('VARCHAR', 'VARCHAR[]')"
    ).fetchall()
    for schema, table, column in columns:
        value = f'"{column}"::varchar'
        if con.execute(
            f"select 1 from {schema}.{table} where {names_sql(value)} limit 1", named_persons(gone, unique)
        ).fetchall():
            raise EvenhandError(
                f"Column {column} of {schema}.{table} would still hold the pseudonym",
                "person store",
                "The store is unchanged. This is a fault: please report it.",
            )


def refuse_bytes(fresh: Path, needles: Sequence[bytes]) -> None:
    """Refuse a rebuilt store in which a pseudonym's bytes are found.

    Parameters
    ----------
    fresh : Path
        The rebuilt, closed file.
    needles : sequence of bytes
        Pseudonyms.

    Raises
    ------
    EvenhandError
        If one is found; the store is unchanged then.
    """
    if holds(fresh, needles):
        raise EvenhandError(
            "The rebuilt store would still hold the pseudonym",
            "person store",
            "The store is unchanged. This is a fault: please report it.",
        )
