"""Check all rows set-based in one narrow pass over the texts read before.

Temporary tables: ``read_<field>`` (text, value, reason) for each field; ``typed`` with the values, one
reason number a field, ``ok`` and ``id`` (the row's place in ``raw``).
"""

import duckdb

from etl.columns import Context, Findings, read_column
from etl.contracts import Field
from etl.instants import SLOT_US, make_slots
from etl.profile_rules import WIDE_ITEMS
from etl.readers import quote
from etl.reasons import number_of
from etl.staging import Staged

_LATEST_US = 7_258_118_400_000_000  # 2200-01-01
_CLOCK_SKEW_US = 300_000_000


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


def _halves_sql(one: Field, staged: Staged) -> str:
    """Return SQL of a case that gives the reason of a half mark on a scale of whole ones."""
    if not one.halves_where:
        return ""
    where, *codes = one.halves_where
    value = f"read_{one.name}.value"
    # A row without a code that can be read is set aside for that.
    which = f"read_{where}.value" if where in staged.fields else "null"
    listed = ", ".join(quote(code) for code in codes)
    return f"when {value} <> floor({value}) and {which} not in ({listed}) then {number_of('E_RANGE')} "


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
        read_column(con, one, staged, context, findings)
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
            reason = f'case when "{one.name}" is null then {absent} {_halves_sql(one, staged)}'
            reason += f"else read_{one.name}.reason end"
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
    tallies = ", ".join(f'count(*) filter (_row = 0 and "{name}__r" > 0)' for name in staged.fields)
    spoilt = con.execute(f"select {tallies} from bad").fetchall()[0]
    for place, name in enumerate(staged.fields, start=1):
        if not spoilt[place - 1]:
            continue
        column = quote(staged.columns.get(name, name))
        if context.source.wide and name in ("score", *WIDE_ITEMS):
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
