"""Read every distinct text of a column once, then check all rows set-based in one narrow pass.

Temporary tables: ``read_<field>`` (text, value, reason) for each field; ``typed`` with the values, one
reason number a field, ``ok`` and ``id`` (the row's place in ``raw``).
"""

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
from etl.instants import SLOT_US, make_slots
from etl.profile import FieldMap, Profile, Source
from etl.profile_rules import Conventions
from etl.readers import quote
from etl.reasons import number_of
from etl.staging import Staged
from etl.values import ValueReader

_ARROW = {
    "integer": pa.int64(), "decimal": pa.float64(), "boolean": pa.bool_(), "date": pa.date32(),
    "month": pa.date32(), "instant": pa.int64(),
}  # fmt: skip
_LATEST_US = 7_258_118_400_000_000  # 2200-01-01
_CLOCK_SKEW_US = 300_000_000


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


def _read_column(
    con: duckdb.DuckDBPyConnection, one: Field, staged: Staged, context: Context, findings: Findings
) -> None:
    """Create ``read_<field>`` and refuse the file where a text condemns all of it."""
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
    con.unregister("read_rows")


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


def _instant_sql(one: Field) -> tuple[str, str]:
    """Return SQL of an instant's UTC microseconds and of its reason."""
    name = one.name
    offset = f"coalesce({name}__o, slot_{name}.offset_s)"
    utc = f"({name}__l - {offset}::bigint * 1000000)"
    absent = number_of("E_REQUIRED") if one.required else 0
    reason = (
        f'case when "{name}" is null then {absent}'
        f" when {name}__l is null then read_{name}.reason"
        f" when {name}__l < 0 or {name}__l >= {_LATEST_US} then {number_of('E_DATE')}"
        f" when {name}__o is null and slot_{name}.reason > 0 then slot_{name}.reason"
        f" when {utc} > $now then {number_of('E_FUTURE')} else 0 end"
    )
    return utc, reason


def _span_sql(staged: Staged) -> str:
    """Return SQL of the first span of a row that runs backwards or too long, as a reason number."""
    cases = []
    for span in staged.contract.spans:
        if span.start not in staged.fields or span.end not in staged.fields:
            continue
        start, end = (staged.contract.field(name) for name in (span.start, span.end))
        one, two = f'"{start.name}__v"', f'"{end.name}__v"'
        wrong = f"{two} < {one}" if span.may_be_empty else f"{two} <= {one}"
        if span.max_us is not None:
            wrong += f" or {two} - {one} > {span.max_us}"
        code = "E_DURATION" if start.kind == "instant" else "E_ORDER"
        cases.append(f"when {wrong} then {number_of(code)}")
    return f"case {' '.join(cases)} else 0 end" if cases else "0"


def check_rows(con: duckdb.DuckDBPyConnection, staged: Staged, context: Context) -> Findings:
    """Create the temporary table ``typed`` from ``raw``.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, with the person store current.
    staged : Staged
        What was staged.
    context : Context
        Profile, source, conventions and present time.

    Returns
    -------
    Findings
        Unknown codes, for the summary.

    Raises
    ------
    FileRefused
        E_DATE, E_DECIMAL, E_SIZE or E_PII where one text condemns the file.
    """
    findings = Findings()
    fields = [staged.contract.field(name) for name in staged.fields]
    for one in fields:
        _read_column(con, one, staged, context, findings)
    instants = [one.name for one in fields if one.kind == "instant"]
    if instants:
        make_slots(con, instants, context.way.time_zone)
    values, reasons, joins = [], [], []
    for one in fields:
        joins.append(f'left join read_{one.name} on raw."{one.name}" = read_{one.name}.text')
        if one.kind == "instant":
            joins.append(
                f"left join slots slot_{one.name} on {one.name}__l // {SLOT_US} = slot_{one.name}.slot"
            )
            value, reason = _instant_sql(one)
        else:
            absent = number_of("E_REQUIRED") if one.required else 0
            value = f"read_{one.name}.value"
            reason = f'case when "{one.name}" is null then {absent} else read_{one.name}.reason end'
        values.append(f'{value} as "{one.name}__v"')
        reasons.append(f'coalesce({reason}, {number_of("E_DATE")})::utinyint as "{one.name}__r"')
    clean = " and ".join(f'"{one.name}__r" = 0' for one in fields)
    origin = ", _from" if context.source.wide else ""
    now_us = int(context.now.timestamp() * 1e6) + _CLOCK_SKEW_US
    con.execute(
        f"create or replace temp table typed as"
        f" select *, _row = 0 and {clean} and _span = 0 as ok from ("
        f" select *, case when _row = 0 and {clean} then {_span_sql(staged)} else 0 end as _span from ("
        f" select raw.rowid as id, {staged.row_number.replace('rowid', 'raw.rowid')} as row_number,"
        f" _row{origin},"
        f" {', '.join(values)}, {', '.join(reasons)} from raw {' '.join(joins)}))".replace(
            "$now", str(now_us)
        )
    )
    return findings


def list_issues(con: duckdb.DuckDBPyConnection, staged: Staged, context: Context) -> None:
    """Create the temporary table ``issues`` with one row a reason of each row that is not ok.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load.
    staged : Staged
        What was staged.
    context : Context
        Profile, source, conventions and present time.
    """
    con.execute(
        "create or replace temp table issues"
        " (id bigint, row_number bigint, place integer, column_name varchar, reason utinyint, value varchar)"
    )
    con.execute("create or replace temp table bad as select * from typed where not ok")
    notdata, span_column = (
        number_of("E_NOTDATA"),
        "+".join(dict.fromkeys(name for span in staged.contract.spans for name in (span.start, span.end))),
    )
    con.execute(
        f"insert into issues select id, row_number, 0, '', {notdata}, null from bad where _row = 1"
        f" union all select id, row_number, 0, {quote(span_column)}, _span, null from bad where _span > 0"
    )
    for place, name in enumerate(staged.fields, start=1):
        column = quote(staged.columns.get(name, name))
        if context.source.wide and name in ("score", "hindered"):
            column = "bad._from"
        con.execute(
            f'insert into issues select bad.id, bad.row_number, {place}, {column}, bad."{name}__r",'
            f" left(replace(raw.\"{name}\", chr(31), ' '), 80) from bad join raw on raw.rowid = bad.id"
            f' where bad._row = 0 and bad."{name}__r" > 0'
        )
    # Of a withdrawn person's row nothing is kept but that there was one, whatever else is wrong with it.
    gone = f"(select id from issues where reason = {number_of('X_WITHDRAWN')})"
    con.execute(f"delete from issues where id in {gone} and reason <> {number_of('X_WITHDRAWN')}")
    con.execute(f"update issues set value = null where id in {gone}")
