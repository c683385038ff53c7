"""Stage a relation under the contract's field names, still as text, with what each row is worth as a row.

Temporary table ``raw`` has one text column a mapped field, ``_row`` (1 where the line is a repeated
header, a total or blank), two columns an instant (local microseconds and offset), and for wide surveys
one row a line and asked column.
"""

from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.contracts import Contract
from etl.filechecks import refuse
from etl.identifiers import VALUE_PATTERNS
from etl.instants import instant_columns
from etl.profile import FieldMap, Source
from etl.profile_rules import WIDE_ITEMS, Conventions
from etl.readers import Relation, quote, reading_error
from etl.values import UNIT_SEPARATOR

_TOTALS = r"^(grand |sub-?)?(total|totals|sum|summe|gesamt|somme|totale)\b"


@dataclass(frozen=True)
class Staged:
    """The staged rows of one file and contract.

    Attributes
    ----------
    contract : Contract
        The contract.
    fields : tuple of str
        Fields staged, in contract order.
    columns : dict of str to str
        The site's column of each field; the field's own name for constants.
    row_number : str
        SQL of the row number in ``raw``.
    rows : int
        Rows staged.
    """

    contract: Contract
    fields: tuple[str, ...]
    columns: dict[str, str]
    row_number: str
    rows: int


def _text_of(column: str, missing: tuple[str, ...]) -> str:
    """Return SQL of a trimmed cell, null where it is empty or marked missing."""
    empty = ", ".join(quote(text) for text in dict.fromkeys(("", *missing)))
    return f"case when trim({column}) in ({empty}) then null else trim({column}) end"


def _field_sql(one: FieldMap, relation: Relation, way: Conventions) -> str:
    if one.value is not None:
        return quote(one.value)
    text = _text_of(relation.column(str(one.column)), way.missing)
    if one.unit_column is not None:
        unit = f"coalesce(trim({relation.column(one.unit_column)}), '')"
        return f"({text}) || {quote(UNIT_SEPARATOR)} || {unit}"
    return text


def _row_sql(source: Source, relation: Relation) -> str:
    """Return SQL that is 1 for a line that holds no data."""
    columns = [name for name in relation.header if name in source.columns()]
    if not columns:
        return "0::utinyint"
    blank = " and ".join(f"coalesce(trim({relation.column(name)}), '') = ''" for name in columns)
    again = " and ".join(f"trim({relation.column(name)}) = {quote(name)}" for name in columns)
    return (
        f"(case when ({blank}) or ({again}) or regexp_matches(c0, {quote(_TOTALS)}, 'i') then 1 else 0 end)"
        "::utinyint"
    )


def _melted(source: Source, relation: Relation, way: Conventions) -> tuple[dict[str, str], str]:
    """Return the SQL of the melted fields, by item number ``i``, and of the site's column name."""

    def pick(texts: list[str]) -> str:
        return "case i " + " ".join(f"when {n} then {text}" for n, text in enumerate(texts)) + " end"

    items = list(source.wide.items())
    fields = {
        "region": pick([quote(item.region) for _, item in items]),
        "side": pick([quote(item.side) for _, item in items]),
        "score": pick([_text_of(relation.column(name), way.missing) for name, _ in items]),
    }
    for asked in WIDE_ITEMS:
        columns = [item.items()[asked] for _, item in items]
        if any(columns) or asked == "hindered":
            fields[asked] = pick(
                [_text_of(relation.column(c), way.missing) if c else "null" for c in columns]
            )
    return fields, pick([quote(name) for name, _ in items])


def stage(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, way: Conventions, relation: Relation
) -> Staged:
    """Create the temporary table ``raw`` from a relation.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load.
    path : Path
        The file, for messages.
    source : Source
        The profile's source.
    way : Conventions
        How the source writes text, numbers and dates.
    relation : Relation
        The file as text columns.

    Returns
    -------
    Staged
        What was staged.

    Raises
    ------
    FileRefused
        E_SHAPE, E_SIZE, E_ENCODING, E_EMPTY or E_PII.
    """
    contract = source.agreed
    texts = {name: _field_sql(one, relation, way) for name, one in source.fields.items()}
    columns = {name: one.column or name for name, one in source.fields.items()}
    relation_sql, from_column, number = relation.sql, "", "rn" if relation.numbered else "rowid + 2"
    try:
        if source.wide:
            con.execute(f"create or replace temp table wide as select * from {relation.sql}")
            melted, from_column = _melted(source, relation, way)
            texts |= melted
            relation_sql = f"(select *, {number} as rown from wide), range({len(source.wide)}) as items(i)"
            number = "rown"
            columns |= {name: name for name in melted}
        elif relation.numbered:
            relation_sql = f"(select *, rn as rown from {relation.sql})"
            number = "rown"
        parts = [f"{_row_sql(source, relation)} as _row"]
        if number == "rown":
            parts.append("rown")
        if from_column:
            parts.append(f"{from_column} as _from")
        staged = []
        for field in contract.fields:
            if field.name not in texts and field.default is None:
                continue
            text = texts.get(field.name, "null")
            if field.default is not None:
                text = f"coalesce({text}, {quote(field.default)})"
            staged.append(field.name)
            parts.append(f'({text})::varchar as "{field.name}"')
            if field.kind == "instant":
                pattern = source.fields[field.name].format or way.datetime_format
                parts += instant_columns(field.name, text, pattern)
        con.execute(f"create or replace temp table raw as select {', '.join(parts)} from {relation_sql}")
        _refuse_identifiers(con, path, source, relation)
    except duckdb.Error as error:
        raise reading_error(error, path) from error
    counted = con.execute("select count(*) from raw").fetchone()
    rows = int(counted[0]) if counted else 0
    if rows > contract.max_rows:
        raise refuse("E_SIZE", f"The file has {rows:,} rows", path, "Split the export.")
    return Staged(contract, tuple(staged), columns, number, rows)


def _refuse_identifiers(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, relation: Relation
) -> None:
    """Refuse the file if a column that is not loaded holds what identifies a person.

    Columns that are loaded are looked at value by value when they are read.
    """
    left_out = [name for name in relation.header if name in source.ignore and name not in source.columns()]
    for name in left_out:
        for kind, pattern in VALUE_PATTERNS.items():
            hit = con.execute(
                f"select 1 from {relation.sql} where regexp_matches({relation.column(name)}, ?) limit 1",
                [pattern],
            ).fetchone()
            if hit:
                raise refuse(
                    "E_PII", f"Column {name} holds what looks like a {kind}", path,
                    "Leave it out of the export.",
                )  # fmt: skip
