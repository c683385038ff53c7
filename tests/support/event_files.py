"""Stroke events made by SQL: nights, several instruments in a bucket, rests of all lengths."""

from pathlib import Path

import duckdb

from etl.sqlfiles import quote

# From 5 January 2026, 06:00 UTC; a tenth of the persons start 14 h later and work over midnight.
EVENTS = """
with step as (
    select p, d, k, hash(p, d, k) as h
    from range({people}) a(p), range({days}) b(d), range({strokes}) c(k)
),
placed as (
    select
        p, d, k, h,
        1767592800000000 + d * 86400000000 + case when p % 10 = 0 then 50400000000 else 0 end
        + (sum(
            3000000 + (h % 6000000)::bigint
            + case when (h >> 20) % 150 = 0 then 240000000 when (h >> 20) % 400 = 1 then 1800000000 else 0 end
        ) over (partition by p, d order by k))::bigint as at_us
    from step
)
select
    'person-' || lpad(p::varchar, 5, '0') as person, at_us,
    'P' || ((p + (hash(p, d, k // 200) % 4)::integer) % 40) as instrument,
    case k % 20 when 18 then 'TIP_MOUNT' when 19 then 'EJECT' else ['ASPIRATE', 'DISPENSE'][1 + k % 2] end
        as action
from placed
"""


def write_events(
    con: duckdb.DuckDBPyConnection, folder: Path, *, people: int, days: int, strokes: int
) -> list[Path]:
    """Write one Parquet file a day, all persons interleaved in time order; return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for day in range(days):
        text = EVENTS.format(people=people, days=1, strokes=strokes).replace(
            "range(1) b(d)", f"(select {day} as d) b"
        )
        path = folder / f"day{day:04d}.parquet"
        con.execute(f"copy ({text} order by at_us) to {quote(str(path))} (format parquet, compression zstd)")
        files.append(path)
    return files
