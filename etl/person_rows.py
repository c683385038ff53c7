"""Where persons stand in the store: in which tables, in how many rows, and from which files."""

from collections.abc import Sequence

import duckdb

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


def count_values(con: duckdb.DuckDBPyConnection, gone: Sequence[str], unique: Sequence[str]) -> int:
    """Count the values of rows set aside that go with some persons.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    gone, unique : sequence of str
        Persons, and those of them from `sought`.

    Returns
    -------
    int
        Values that are not empty yet.
    """
    return con.execute(
        f"select count(*) from core.set_aside where value is not null and {aside_sql()}",
        named_persons(gone, unique),
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
        Persons, and those of them from `sought`.

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
        "select distinct file_name from core.file_ledger "
        f"where file_id in ({' union '.join(naming)}) order by 1",
        named_persons(gone, unique),
    ).fetchall()
    return tuple(name for (name,) in rows)


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


def named_persons(gone: Sequence[str], unique: Sequence[str]) -> dict[str, object]:
    """Return the parameters of `names_sql`.

    Parameters
    ----------
    gone, unique : sequence of str
        Persons, and those of them from `sought`.

    Returns
    -------
    dict of str to object
        ``gone`` and ``unique`` as lists.
    """
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


def aside_sql(database: str = "") -> str:
    """Return SQL that tells whether a row set aside names one of some persons in any of its cells.

    Parameters
    ----------
    database : str
        Database with a dot behind it; by default the current one.

    Returns
    -------
    str
        A condition with the parameters of `names_sql`.
    """
    named = f"select file_id, row_number from {database}core.set_aside where {names_sql('value')}"
    return f"(file_id, row_number) in ({named})"
