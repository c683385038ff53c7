"""The small clean institute under keyed pseudonyms, one of whom is the canary that must never be seen."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import duckdb

from etl.home import Home
from etl.keys import Key
from etl.pseudonym import pseudonym
from etl.store import open_store
from tests.support.load_files import Row, everything, load, people, write_all

KEY = Key("k1", bytes(range(248, -1, -8)))
NAMES = {person: pseudonym(KEY, person) for person in people()}
CANARY = NAMES["p001"]
# A second one who never gets into a table: only the value of a row set aside names the person.
STRANGER = pseudonym(KEY, "never in the register")


def keyed(tables: Mapping[str, Sequence[Row]]) -> dict[str, list[Row]]:
    """Replace the plain codes of persons by pseudonyms."""

    def renamed(row: Row) -> Row:
        return row | {"person": NAMES[row["person"]]} if row.get("person") in NAMES else dict(row)

    return {name: [renamed(row) for row in rows] for name, rows in tables.items()}


def institute() -> dict[str, list[Row]]:
    """Return every table, with rows of the canary and of a stranger that will be set aside."""
    tables = keyed(everything())
    first = next(row for row in tables["surveys"] if row["person"] == CANARY)
    tables["strokes"].append(tables["strokes"][0] | {"person": NAMES["p002"], "at": "2026-05-04T10:00:00Z"})
    tables["surveys"] += [
        first | {"month": "2026-06", "score": "77"},
        first | {"month": "2026-07", "person": STRANGER},
        first | {"month": "2026-08", "person": f"{CANARY} ?"},
    ]
    return tables


def without(person: str, tables: Mapping[str, Sequence[Row]]) -> dict[str, list[Row]]:
    """Return the tables without the rows that name a person."""
    return {
        name: [row for row in rows if person not in row.get("person", "")] for name, rows in tables.items()
    }


def loaded(folder: Path, tables: Mapping[str, Sequence[Row]] | None = None) -> Home:
    """Load tables into the data home ``folder/home``; the files stand in ``folder/in``."""
    summary = load(folder, write_all(folder / "in", tables or institute()))
    assert not summary.refused, str(summary)
    return Home(folder / "home")


def rows(home: Home, query: str, parameters: object = None) -> list[tuple]:
    """Ask the person store."""
    with open_store(home, write=False) as con:
        return con.execute(query, parameters).fetchall()


def every_text(con: duckdb.DuckDBPyConnection) -> str:
    """Return every cell of every table of the current database as one text: slow, and blind to nothing."""
    names = con.execute(
        "select schema_name, table_name from duckdb_tables() where database_name = current_database()"
    ).fetchall()
    return "\n".join(
        str(con.execute(f"select * from {schema}.{table}").fetchall()) for schema, table in names
    )
