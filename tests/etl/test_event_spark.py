"""The reduction of stroke events is one text for DuckDB and Apache Spark, and gives equal facts."""

import shutil
from pathlib import Path

import duckdb
import pytest

from etl.event_engines import DuckEngine
from etl.event_spark import SparkEngine, spark_session
from etl.facts_layers import MADE_BY
from etl.sqlfiles import quote, sql
from tests.support.event_files import write_events

pytest.importorskip("pyspark", reason="pyspark is not installed: pip install 'evenhand[spark]'")
pytestmark = [
    pytest.mark.spark,
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("java") is None, reason="Java is not installed; Spark needs Java 17"),
    # Spark leaves the sockets to its own Java process to the garbage collector.
    pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning"),
]

BUCKET_US = 180_000_000
VALUES = {"source": "", "bucket_us": str(BUCKET_US), "tz": "'Europe/Zurich'"}
CHECK = {"first_us": "0", "last_us": str(2**62), "actions": "'ASPIRATE', 'DISPENSE', 'TIP_MOUNT', 'EJECT'"}
# What the texts read beside the events, as the facts' layers make it.
SMALL = {
    "work_setting": f"""
        select {BUCKET_US}::bigint as rest_us, {BUCKET_US}::bigint as bucket_us,
            300000000::bigint as long_rest_us, 1200000000::bigint as guide_us
    """,
    # Every fifth instrument lacks a measurement, so unknown forces take part.
    "work_instrument": """
        select 'P' || n as instrument, 15000 * 200::bigint as tip_mn_ms,
            case when n % 5 > 0 then (30000 + n) * 300::bigint end as stroke_mn_ms,
            case when n % 5 > 0 then (20000 + n)::integer end as peak_force_mn
        from range(40) t(n)
    """,
    "work_event_person": """
        select person, 1::bigint as zone, cast(row_number() over (order by person) as integer) as no
        from work_event_bucket group by person
    """,
    "work_local_day": """
        select 1::bigint as zone, d::date as local_date, epoch_us(timezone('Europe/Zurich', d)) as from_us,
            epoch_us(timezone('Europe/Zurich', d + interval 1 day)) as to_us
        from generate_series(timestamp '2026-01-01', timestamp '2026-02-01', interval 1 day) t(d)
    """,
    "work_local_key": """
        select *, unnest(range(from_us - from_us % 86400000000, to_us, 86400000000)) as utc_day_us
        from work_local_day
    """,
}


@pytest.fixture(scope="module")
def spark(tmp_path_factory):
    with spark_session(tmp_path_factory.mktemp("spark")) as session:
        yield session


@pytest.fixture
def con():
    con = duckdb.connect(config={"threads": 2})
    yield con
    con.close()


def in_duckdb(con, log: str) -> None:
    con.execute(f"create table work_event_bucket as select * from {DuckEngine(con).buckets(log, VALUES)}")
    for name, text in SMALL.items():
        con.execute(f"create table {name} as {text}")
    for text, name in MADE_BY.items():
        con.execute(f"create table {name} as {sql(text)}")


def in_spark(spark, con, log: str, folder: Path) -> SparkEngine:
    engine = SparkEngine(spark, folder)
    con.execute(f"create table spark_bucket as select * from {engine.buckets(log, VALUES)}")
    spark.read.parquet(str(folder / "buckets")).createOrReplaceTempView("work_event_bucket")
    for name in SMALL:
        con.execute(f"copy {name} to {quote(str(folder / name))} (format parquet)")
        spark.read.parquet(str(folder / name)).createOrReplaceTempView(name)
    for text, name in MADE_BY.items():
        spark.sql(sql(text)).cache().createOrReplaceTempView(name)
    return engine


def test_a_million_events_give_the_same_facts(spark, con, tmp_path):
    write_events(con, tmp_path / "logs", people=50, days=5, strokes=4000)
    folder, files = str(tmp_path / "logs"), str(tmp_path / "logs" / "*.parquet")
    in_duckdb(con, files)
    engine = in_spark(spark, con, folder, tmp_path)
    checks = [engine.check(folder, CHECK), DuckEngine(con).check(files, CHECK)]
    assert checks[0] == checks[1]
    assert checks[0].events == 1_000_000
    columns = ", ".join(row[0] for row in con.execute("describe work_event_bucket").fetchall())
    differing = con.execute(
        f"select count(*) from (select {columns} from spark_bucket except all from work_event_bucket)"
    ).fetchall()
    assert differing == [(0,)]
    for name in ("work_event_slice", "work_event_spell", "work_event_day"):
        names = [row[0] for row in con.execute(f"describe {name}").fetchall()]
        expected = con.execute(f"select {', '.join(names)} from {name} order by all").fetchall()
        found = spark.table(name).select(*names).collect()
        assert len(expected) > 200
        # Every fact is a whole number, a date or a code: equal, not close.
        assert sorted(map(repr, map(tuple, found))) == sorted(map(repr, expected))
    # Some of the work runs over midnight in Zurich, 23:00 UTC in winter.
    nights = con.execute(
        "select count(*) from work_event_spell"
        " where (start_us + 3600000000) // 86400000000 < (end_us + 3600000000) // 86400000000"
    ).fetchall()
    assert nights[0][0] > 5
