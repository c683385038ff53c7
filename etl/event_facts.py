"""Stroke logs read where they lie, by the engine that suits their size."""

import shutil
from collections.abc import Callable
from pathlib import Path

import duckdb

from etl.event_engines import DuckEngine
from etl.event_logs import LogSummary, local_logs, take_in
from etl.event_spark import SPARK_OUT, SparkEngine, spark_session
from etl.facts import setting_values
from etl.home import Home
from etl.settings import Settings
from etl.store import scratch_dir

# A bucket no wider than the shortest rest cannot hide a rest; more than three minutes gain nothing.
_WIDEST_US = 180_000_000


def read_in_place(
    home: Home,
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    place: str,
    zone: str,
    engine: str = "duckdb",
    progress: Callable[[str, int, int], None] | None = None,
) -> LogSummary:
    """Reduce stroke logs to buckets where they lie, and keep the buckets in the store.

    A log is Parquet with the columns person, at_us (microseconds UTC since 1970, 64-bit integer), instrument
    and action. It joins what is loaded as any file of strokes would: persons by pseudonym, forces by
    instrument, teams by person and local day. With DuckDB each file of a folder is known by its content, so
    only new files are read. Spark reads the whole place anew each time.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    settings : Settings
        The institute's settings.
    place : str
        Parquet file or folder; with Spark any path that it reads.
    zone : str
        Time zone whose clock decides the day.
    engine : {"duckdb", "spark"}
        What reads the events.
    progress : callable, optional
        Called with a log's name, its number from 1 and how many there are.

    Returns
    -------
    LogSummary
        Logs and events read, known and taken out.

    Raises
    ------
    EvenhandError
        If there is no log, it cannot be taken, or the engine is not installed.
    """
    width_us = min(setting_values(settings)["rest_us"], _WIDEST_US)
    # The same name from either engine, or a log read by both would count twice.
    name = place if "://" in place else str(Path(place).expanduser().resolve())
    if engine == "duckdb":
        return take_in(home, con, DuckEngine(con), local_logs(name), name, zone, width_us, progress)
    scratch = scratch_dir(home)
    try:
        with spark_session(scratch) as spark:
            return take_in(home, con, SparkEngine(spark, scratch), {name: ""}, name, zone, width_us, progress)
    finally:
        # Spark's files hold persons; they go as soon as the store has the buckets.
        shutil.rmtree(scratch / SPARK_OUT, ignore_errors=True)
