"""Ways to reduce stroke events that the benchmark sets side by side, each returning the same four totals."""

from pathlib import Path

import duckdb

from etl.event_engines import DuckEngine
from etl.facts_layers import MADE_BY
from etl.sqlfiles import sql

REST_US = 180_000_000
DAY_US = 86_400_000_000
CATALOGUE = """
    select 'P' || n as instrument, (30000 + 10 * n) * 300::bigint as stroke_mn_ms,
        15000 * 200::bigint as tip_mn_ms, (20000 + n)::integer as peak_force_mn
    from range(40) t(n)
"""
SMALL = {
    "work_setting": f"""
        select {REST_US}::bigint as rest_us, {REST_US}::bigint as bucket_us,
            300000000::bigint as long_rest_us, 1200000000::bigint as guide_us
    """,
    "work_instrument": CATALOGUE,
    "work_event_person": """
        select person, 1::bigint as zone, cast(row_number() over (order by person) as integer) as no
        from work_event_bucket group by person
    """,
    "work_local_day": """
        select 1::bigint as zone, d::date as local_date, epoch_us(timezone('Europe/Zurich', d)) as from_us,
            epoch_us(timezone('Europe/Zurich', d + interval 1 day)) as to_us
        from generate_series(timestamp '2026-01-01', timestamp '2027-12-31', interval 1 day) t(d)
    """,
    "work_local_key": """
        select *, unnest(range(from_us - from_us % 86400000000, to_us, 86400000000)) as utc_day_us
        from work_local_day
    """,
}
FORCE = "case action when 'DISPENSE' then stroke_mn_ms when 'EJECT' then tip_mn_ms else 0 end"
# Strokes, spells, their whole length and force-time.
Totals = tuple[int, ...]


def connect(limit: str | None, scratch: str) -> duckdb.DuckDBPyConnection:
    """Open DuckDB on two threads, with a memory limit where one is given."""
    config: dict[str, str | int] = {"threads": 2, "temp_directory": scratch}
    if limit:
        config["memory_limit"] = limit
    return duckdb.connect(config=config)


def floor(con: duckdb.DuckDBPyConnection, log: str) -> Totals:
    """Scan the same columns and sum them by person and UTC day, with the force join; no spells."""
    con.execute(f"create temp table work_instrument as {CATALOGUE}")
    con.execute(f"""
        create temp table done as
        select person, at_us // {DAY_US} as day, min(at_us) as first_us, max(at_us) as last_us,
            count(*) as events, sum(cast(action = 'DISPENSE' as int)) as strokes,
            sum(cast(action = 'EJECT' as int)) as tips, sum({FORCE}) as force,
            max(peak_force_mn) as peak
        from read_parquet('{log}') join work_instrument using (instrument) group by 1, 2
    """)
    return con.execute("select sum(strokes)::bigint, sum(force)::bigint from done").fetchall()[0]


def buckets(con: duckdb.DuckDBPyConnection, log: str) -> Totals:
    """Go the way of the facts: buckets, spells, person-days."""
    values = {"source": "", "bucket_us": str(REST_US), "tz": "'Europe/Zurich'"}
    con.execute(
        f"create temp table work_event_bucket as select * from {DuckEngine(con).buckets(log, values)}"
    )
    for name, text in SMALL.items():
        con.execute(f"create temp table {name} as {text}")
    for text, name in MADE_BY.items():
        con.execute(f"create temp table {name} as {sql(text)}")
        if name == "work_event_sequence":
            # As in a build: what is no longer read goes.
            con.execute("drop table work_event_bucket")
    return con.execute("""
        select
            (select sum(strokes)::bigint from work_event_day), (select count(*) from work_event_spell),
            (select sum(pipetting_us)::bigint from work_event_day),
            (select sum(force_time_mn_ms)::bigint from work_event_day)
    """).fetchall()[0]


def textbook(con: duckdb.DuckDBPyConnection, log: str) -> Totals:
    """Look back from each event, then number the spells by a running sum."""
    con.execute(f"create temp table work_instrument as {CATALOGUE}")
    con.execute(f"""
        create temp table spell as
        select person, spell, min(at_us) as start_us, max(at_us) as end_us, max(peak_force_mn) as peak,
            count(case when action = 'DISPENSE' then 1 end) as strokes, sum({FORCE}) as force
        from (
            select *, sum(case when gap_us < {REST_US} then 0 else 1 end) over (
                partition by person order by at_us rows unbounded preceding
            ) as spell
            from (
                select *, at_us - lag(at_us) over (partition by person order by at_us) as gap_us
                from read_parquet('{log}') join work_instrument using (instrument)
            )
        )
        group by person, spell
    """)
    con.execute(f"""
        create temp table done as
        select person, start_us // {DAY_US} as day, sum(end_us - start_us) as us,
            max(end_us - start_us) as longest, sum(strokes) as strokes, sum(force) as force, max(peak) as peak
        from spell group by 1, 2
    """)
    return con.execute("""
        select sum(strokes)::bigint, (select count(*) from spell), sum(us)::bigint, sum(force)::bigint
        from done
    """).fetchall()[0]


def in_pandas(con: duckdb.DuckDBPyConnection, log: str) -> Totals:
    """Sort, difference, cumulative sum and group in pandas."""
    import pandas as pd

    force = con.execute(CATALOGUE).df().set_index("instrument")
    frame = pd.concat(
        [pd.read_parquet(file) for file in sorted(Path(log).parent.glob("*.parquet"))], ignore_index=True
    )
    frame = frame.sort_values(["person", "at_us"], ignore_index=True)
    opens = (frame["person"] != frame["person"].shift()) | (frame["at_us"].diff() >= REST_US)
    frame["spell"] = opens.cumsum()
    frame["stroke"] = frame["action"] == "DISPENSE"
    frame["force"] = frame["instrument"].map(force["stroke_mn_ms"]).where(frame["stroke"], 0) + (
        frame["instrument"].map(force["tip_mn_ms"]).where(frame["action"] == "EJECT", 0)
    )
    frame["peak"] = frame["instrument"].map(force["peak_force_mn"])
    spell = frame.groupby("spell", sort=False).agg(
        person=("person", "first"), start=("at_us", "min"), end=("at_us", "max"), strokes=("stroke", "sum"),
        force=("force", "sum"), peak=("peak", "max"),
    )  # fmt: skip
    spell["us"] = spell["end"] - spell["start"]
    day = spell.groupby([spell["person"], spell["start"] // DAY_US]).agg(
        us=("us", "sum"), longest=("us", "max"), strokes=("strokes", "sum"), force=("force", "sum"),
        peak=("peak", "max"),
    )  # fmt: skip
    return int(day["strokes"].sum()), len(spell), int(day["us"].sum()), int(day["force"].sum())


def in_polars(con: duckdb.DuckDBPyConnection, log: str) -> Totals:
    """Go the way of the buckets in polars' streaming engine, its fastest form for this."""
    import polars as pl

    force = pl.LazyFrame({
        "instrument": [f"P{n}" for n in range(40)],
        "stroke_mn_ms": [(30000 + 10 * n) * 300 for n in range(40)],
        "tip_mn_ms": [15000 * 200] * 40, "peak": [20000 + n for n in range(40)],
    })  # fmt: skip
    action, stroke, tip = pl.col("action"), pl.col("stroke_mn_ms"), pl.col("tip_mn_ms")
    bucket = (
        pl.scan_parquet(log).join(force, on="instrument", how="left")
        .with_columns(
            bucket=pl.col("at_us") // REST_US, stroke=(action == "DISPENSE").cast(pl.Int64),
            force=pl.when(action == "DISPENSE").then(stroke).when(action == "EJECT").then(tip).otherwise(0),
        )
        .group_by("person", "bucket")
        .agg(
            start=pl.col("at_us").min(), end=pl.col("at_us").max(), strokes=pl.col("stroke").sum(),
            force=pl.col("force").sum(), peak=pl.col("peak").max(),
        )
        .collect(engine="streaming")
        .sort("person", "bucket")
    )  # fmt: skip
    opens = (pl.col("person") != pl.col("person").shift()) | (
        pl.col("start") - pl.col("end").shift() >= REST_US
    )
    spell = (
        bucket.with_columns(spell=opens.fill_null(True).cum_sum())
        .group_by("spell")
        .agg(
            pl.col("person").first(), pl.col("start").min(), pl.col("end").max(), pl.col("strokes").sum(),
            pl.col("force").sum(), pl.col("peak").max(),
        )
        .with_columns(us=pl.col("end") - pl.col("start"))
    )  # fmt: skip
    day = spell.group_by("person", pl.col("start") // DAY_US).agg(
        pl.col("us").sum(), pl.col("us").max().alias("longest"), pl.col("strokes").sum(),
        pl.col("force").sum(), pl.col("peak").max(),
    )  # fmt: skip
    return day["strokes"].sum(), spell.height, day["us"].sum(), day["force"].sum()


PARTS = {
    "floor": floor, "buckets": buckets, "textbook": textbook, "pandas": in_pandas, "polars": in_polars,
}  # fmt: skip
