"""Instants: strict text to local microseconds in SQL, then to UTC by the declared zone's own rules.

The zone's rules come from the IANA data in Python (`zoneinfo`), not from the database engine, which
moves a skipped time forward and picks one side of a repeated one without saying so.
"""

import datetime as dt
from zoneinfo import ZoneInfo

import duckdb
import pyarrow as pa

from etl.profile_rules import format_regex
from etl.reasons import number_of

# Changes of offset in use since 1970 start on a quarter of an hour, so one look-up a quarter is enough.
SLOT_US = 900_000_000
_ISO = r"^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?)(Z|[+-](?:0\d|1[0-4]):?[0-5]\d)?$"
_EPOCH_FACTOR = {"epoch-s": 1_000_000, "epoch-ms": 1_000}


def _iso_sql(text: str) -> tuple[str, str]:
    parts = f"regexp_extract({text}, '{_ISO}', ['d', 't', 'z'])"
    # '24:00' passes a cast as the next midnight; it is no time of day of ISO 8601:2019.
    local = (
        f"epoch_us(case when {parts}.t < '24' then try_cast({parts}.d || ' ' || {parts}.t as timestamp) end)"
    )
    zone = f"{parts}.z"
    sign = f"case when {zone}[1] = '-' then -1 else 1 end"
    hours, minutes = f"try_cast({zone}[2:3] as integer)", f"try_cast({zone}[-2:] as integer)"
    offset = (
        f"case when {zone} = '' then null when {zone} = 'Z' then 0"
        f" else {sign} * ({hours} * 3600 + {minutes} * 60) end"
    )
    return local, offset


def instant_columns(name: str, text: str, pattern: str) -> list[str]:
    """Return the SQL columns that read an instant: local microseconds and offset in seconds.

    Parameters
    ----------
    name : str
        Field name; the columns are called ``<name>__l`` and ``<name>__o``.
    text : str
        SQL of the trimmed text.
    pattern : str
        Declared format.

    Returns
    -------
    list of str
        Two select items. The first is null where the text is not an instant, the second where it names
        no offset.
    """
    local, offset = _iso_sql(text)
    if pattern in _EPOCH_FACTOR:
        whole = f"case when regexp_full_match({text}, '\\d{{1,15}}') then try_cast({text} as bigint) end"
        epoch = f"({whole}) * {_EPOCH_FACTOR[pattern]}"
        local = f"coalesce({epoch}, {local})"
        offset = f"case when {epoch} is not null then 0 else {offset} end"
    elif pattern != "iso":
        regex = format_regex(pattern).replace("'", "''")
        wanted = pattern.replace("'", "''")
        own = f"case when regexp_matches({text}, '{regex}') then try_strptime({text}, '{wanted}') end"
        local = f"coalesce(epoch_us({own}), {local})"
    return [f"{local} as {name}__l", f"({offset})::integer as {name}__o"]


def slot_rule(slot: int, zone: ZoneInfo) -> tuple[int, int]:
    """Return what a quarter of an hour of local time is in a zone.

    Parameters
    ----------
    slot : int
        Local microseconds since 1970-01-01 divided by `SLOT_US`, rounded down.
    zone : ZoneInfo
        The declared zone.

    Returns
    -------
    tuple of int
        Offset from UTC in seconds and number of the reason code, 0 where the time exists once.
    """
    local = dt.datetime(1970, 1, 1) + dt.timedelta(microseconds=slot * SLOT_US)
    early, late = (local.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
    if early is None or late is None or early == late:
        return int(early.total_seconds()) if early else 0, 0
    # A skipped time has the larger offset after it (PEP 495): the earlier reading is the smaller.
    return int(early.total_seconds()), number_of("E_DSTGAP" if early < late else "E_DSTFOLD")


def make_slots(con: duckdb.DuckDBPyConnection, fields: list[str], zone_name: str) -> None:
    """Create the temporary table ``slots`` (slot, offset_s, reason) for all instants in ``raw``.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load.
    fields : list of str
        Names of the instant fields.
    zone_name : str
        IANA name of the declared zone.
    """
    zone = ZoneInfo(zone_name)
    found = " union ".join(
        f"select {name}__l // {SLOT_US} as slot from raw where {name}__o is null" for name in fields
    )
    numbers = [
        row[0]
        for row in con.execute(f"select distinct slot from ({found}) where slot is not null").fetchall()
    ]
    # Outside these years a date is refused anyway; the arithmetic must not overflow on the way there.
    ruled = [(slot, *slot_rule(slot, zone)) for slot in numbers if abs(slot) < 8_000_000]
    table = pa.table(
        {
            "slot": pa.array([one[0] for one in ruled], pa.int64()),
            "offset_s": pa.array([one[1] for one in ruled], pa.int32()),
            "reason": pa.array([one[2] for one in ruled], pa.uint8()),
        }
    )
    con.register("slot_rows", table)
    con.execute("create or replace temp table slots as select * from slot_rows")
    con.unregister("slot_rows")
