"""Read every distinct text of a column once: what it says, or why it says nothing."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path

import duckdb
import pyarrow as pa

from etl.contracts import Field
from etl.dates import DateReader
from etl.filechecks import MAX_CELL, refuse
from etl.identifiers import value_kind
from etl.profile import FieldMap, Profile, Source
from etl.profile_rules import Conventions
from etl.reasons import number_of
from etl.staging import Staged
from etl.values import ValueReader

_ARROW = {
    "integer": pa.int64(), "mark": pa.float64(), "decimal": pa.float64(), "boolean": pa.bool_(),
    "date": pa.date32(), "month": pa.date32(), "instant": pa.int64(),
}  # fmt: skip


@dataclass(frozen=True)
class Context:
    """What checks need to know beside the file.

    Attributes
    ----------
    path : Path
        The file, for messages.
    profile : Profile
        The site's profile.
    source : Source
        The source in use.
    way : Conventions
        How it writes text, numbers and dates.
    now : datetime.datetime
        Present time with zone; later instants are in the future.
    withdrawn : frozenset of str
        Tombstones of persons who are not taken in again.
    """

    path: Path
    profile: Profile
    source: Source
    way: Conventions
    now: dt.datetime
    withdrawn: frozenset[str] = frozenset()


@dataclass
class Findings:
    """What reading the columns found that a person may want to know.

    Attributes
    ----------
    unknown : dict of str to list of str
        Codes that are not known, by field; never pseudonyms.
    known : dict of str to tuple of str
        The codes that are, for suggestions.
    """

    unknown: dict[str, list[str]] = field(default_factory=dict)
    known: dict[str, tuple[str, ...]] = field(default_factory=dict)


def _known_codes(con: duckdb.DuckDBPyConnection, one: Field, profile: Profile) -> tuple[str, ...] | None:
    if one.refers_to:
        table, column = one.refers_to.split(".")
        found = con.execute(f"select distinct {column} from core.{table}").fetchall()
        return tuple(str(row[0]) for row in found)
    own = profile.codes.get(one.name, ())
    return (*one.choices, *own) if one.choices or own else None


def _reader(
    con: duckdb.DuckDBPyConnection, one: Field, context: Context, known: Collection[str] | None
) -> ValueReader:
    mapped = context.source.fields.get(one.name, FieldMap(value=""))
    way = context.way
    plain = mapped.value is not None  # constants are written in the contract's own notation
    pattern = (
        "iso" if plain else mapped.format or (way.month_format if one.kind == "month" else way.date_format)
    )
    if one.kind == "instant":
        pattern = "iso" if plain else mapped.format or way.datetime_format
    dates = DateReader(
        pattern, way.date_format, context.now.date() + dt.timedelta(days=1), mapped.origin or "",
        mapped.step_months,
    )  # fmt: skip
    return ValueReader(
        one, dates, mapped.map, mapped.upper, "." if plain else way.decimal, "" if plain else way.thousands,
        one.unit if plain else mapped.unit or "", known, "E_PERSON" if one.kind == "person" else "E_CODE",
        context.withdrawn,
    )  # fmt: skip


def _arrow_type(one: Field) -> pa.DataType:
    if one.kind == "quantity":
        return pa.int64() if one.whole else pa.float64()
    return _ARROW.get(one.kind, pa.string())


def read_column(
    con: duckdb.DuckDBPyConnection, one: Field, staged: Staged, context: Context, findings: Findings
) -> None:
    """Create the temporary table ``read_<field>`` (text, value, reason) of one field.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, with the person store current.
    one : Field
        The field.
    staged : Staged
        What was staged.
    context : Context
        Profile, source, conventions and present time.
    findings : Findings
        Unknown codes are added to it.

    Raises
    ------
    FileRefused
        E_DATE, E_DECIMAL, E_SIZE or E_PII where one text condemns the file.
    """
    known = _known_codes(con, one, context.profile)
    reader = _reader(con, one, context, None if known is None else frozenset(known))
    only = f" and {one.name}__l is null" if one.kind == "instant" else ""
    texts = [
        row[0]
        for row in con.execute(
            f'select distinct "{one.name}" from raw where _row = 0 and "{one.name}" is not null{only}'
        ).fetchall()
    ]
    column = staged.columns.get(one.name, one.name)
    values: list[object] = []
    reasons: list[int] = []
    missed: list[str] = []
    for text in texts:
        if len(text) > MAX_CELL:
            raise refuse("E_SIZE", f"A cell of column {column} is over {MAX_CELL:,} characters", context.path,
                         "Export one value a cell.")  # fmt: skip
        kind = value_kind(text)
        if kind == "e-mail address" or (kind is not None and one.kind in ("code", "codes", "choice", "text")):
            raise refuse("E_PII", f"Column {column} holds what looks like a {kind}", context.path,
                         "Leave it out of the export.")  # fmt: skip
        read = reader.read(text)
        if read.contradicts:
            raise _contradiction(con, one, column, text, read.reason, context, staged)
        if read.reason == "E_CODE":
            missed.append(text)
        values.append(read.value)
        reasons.append(number_of(read.reason))
    if missed:
        findings.unknown[one.name] = sorted(missed)
        findings.known[one.name] = tuple(known or ())
    table = pa.table(
        {
            "text": pa.array(texts, pa.string()),
            "value": pa.array(values, _arrow_type(one)),
            "reason": pa.array(reasons, pa.uint8()),
        }
    )
    con.register("read_rows", table)
    con.execute(f"create or replace temp table read_{one.name} as select * from read_rows")


def _contradiction(
    con: duckdb.DuckDBPyConnection,
    one: Field,
    column: str,
    text: str,
    code: str,
    context: Context,
    staged: Staged,
) -> Exception:
    row = con.execute(
        f'select min({staged.row_number}) from raw where _row = 0 and "{one.name}" = ?', [text]
    ).fetchone()
    at = f"Row {row[0] if row else '?'}, column {column}"
    if code == "E_DECIMAL":
        what = f"a number is not written with the declared decimal sign {context.way.decimal!r}"
        return refuse(code, f"{at}: {what}", context.path,
                      "Declare the signs the export uses in the profile, or export one only.")  # fmt: skip
    return refuse(code, f"{at}: a date stands in another order than declared", context.path,
                  "Declare the format the export uses in the profile, or export ISO dates.")  # fmt: skip
