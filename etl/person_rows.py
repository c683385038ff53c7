"""Where persons stand in the store: which tables, how many rows, and what a copy without them keeps."""

from collections.abc import Sequence
from pathlib import Path

import duckdb

from etl.bytesearch import holds
from etl.errors import EvenhandError
from etl.rebuild import Keep

# Shorter codes stand inside other text by chance, so finding their bytes says nothing.
_SHORTEST_SOUGHT = 8
_GONE = "list_contains($gone, person)"


def person_tables(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Return every table of the store that has a person in each row.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.

    Returns
    -------
    tuple of str
        Names with schema, such as ``core.bouts``; found by their column, so that a new table is not missed.
    """
    rows = con.execute(
        "select schema_name || '.' || table_name from duckdb_columns() where column_name = 'person' "
        "and database_name = current_database() and table_name in (select table_name from duckdb_tables()) "
        "order by 1"
    ).fetchall()
    return tuple(name for (name,) in rows)


def persons(con: duckdb.DuckDBPyConnection) -> frozenset[str]:
    """Return every pseudonym in the store, fact tables and token links included.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.

    Returns
    -------
    frozenset of str
        Pseudonyms. They must not be shown.
    """
    tables = person_tables(con)
    union = " union ".join(f"select person from {name}" for name in tables)
    return frozenset(person for (person,) in con.execute(union).fetchall())


def sought(everybody: frozenset[str], gone: Sequence[str]) -> tuple[str, ...]:
    """Return the pseudonyms whose bytes can be searched for.

    Parameters
    ----------
    everybody : frozenset of str
        All pseudonyms in the store.
    gone : sequence of str
        Persons to take out.

    Returns
    -------
    tuple of str
        Those of eight signs and more that are no part of anybody else's.
    """
    others = everybody - set(gone)
    return tuple(
        person
        for person in gone
        if len(person) >= _SHORTEST_SOUGHT and not any(person in other for other in others)
    )


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
    keeps = {name: Keep(f"not {_GONE}", parameters={"gone": list(gone)}) for name in person_tables(con)}
    emptied = f"* replace (case when {_aside('store.')} then null else value end as value)"
    return keeps | {"core.set_aside": Keep("true", emptied, _named(gone, unique))}


def count_values(con: duckdb.DuckDBPyConnection, gone: Sequence[str], unique: Sequence[str]) -> int:
    """Count the values of rows set aside that go with some persons.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    gone, unique : sequence of str
        As for `keeps_without`.

    Returns
    -------
    int
        Values that are not empty yet.
    """
    return con.execute(
        f"select count(*) from core.set_aside where value is not null and {_aside()}", _named(gone, unique)
    ).fetchall()[0][0]


def count_rows(con: duckdb.DuckDBPyConnection, gone: Sequence[str]) -> list[tuple[str, int | None, int]]:
    """Count the rows of some persons.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    gone : sequence of str
        Persons.

    Returns
    -------
    list of tuple
        Table with schema, file (None where rows come from no file), rows.
    """
    counted: list[tuple[str, int | None, int]] = []
    for name in person_tables(con):
        file = "file_id" if name.startswith("core.") else "null"
        rows = con.execute(
            f"select {file}, count(*) from {name} where {_GONE} group by 1 order by 1", {"gone": list(gone)}
        ).fetchall()
        counted += [(name, place, number) for place, number in rows]
    return counted


def file_names(con: duckdb.DuckDBPyConnection, gone: Sequence[str], unique: Sequence[str]) -> tuple[str, ...]:
    """Return the loaded files that name some persons, in rows accepted or set aside.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    gone, unique : sequence of str
        As for `keeps_without`.

    Returns
    -------
    tuple of str
        Names as loaded, sorted.
    """
    naming = [f"select file_id from core.set_aside where {names_sql('value')}"]
    naming += [
        f"select file_id from {name} where {_GONE}" for name in person_tables(con) if name.startswith("core.")
    ]
    rows = con.execute(
        f"select distinct file_name from core.file_ledger where file_id in ({' union '.join(naming)}) order by 1",
        _named(gone, unique),
    ).fetchall()
    return tuple(name for (name,) in rows)


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
            f"select 1 from {schema}.{table} where {names_sql(value)} limit 1", _named(gone, unique)
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


def has_facts(con: duckdb.DuckDBPyConnection) -> bool:
    """Tell whether facts were built in the store.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.

    Returns
    -------
    bool
        True if schema ``facts`` has a table.
    """
    found = con.execute(
        "select 1 from duckdb_tables() where schema_name = 'facts' and database_name = current_database()"
    ).fetchall()
    return bool(found)


def _named(gone: Sequence[str], unique: Sequence[str]) -> dict[str, object]:
    return {"gone": list(gone), "unique": list(unique)}


def names_sql(value: str) -> str:
    """Return SQL that tells whether a text names one of some persons.

    Parameters
    ----------
    value : str
        SQL of the text.

    Returns
    -------
    str
        A condition with the parameters ``$gone`` (persons) and ``$unique`` (those from `sought`).
    """
    inside = f"len(list_filter($unique, lambda one: contains({value}, one))) > 0"
    return f"(list_contains($gone, trim({value})) or {inside})"


def _aside(database: str = "") -> str:
    named = f"select file_id, row_number from {database}core.set_aside where {names_sql('value')}"
    return f"(file_id, row_number) in ({named})"
