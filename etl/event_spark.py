"""Apache Spark for stroke logs that lie on a cluster or outgrow one machine."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from etl.errors import EvenhandError
from etl.event_engines import LogCheck
from etl.sqlfiles import quote, sql

if TYPE_CHECKING:
    from pyspark.sql import SparkSession

# Folder of the buckets that come back.
SPARK_OUT = "buckets"
_SPARK_TYPES = {"string": "VARCHAR", "bigint": "BIGINT"}


class SparkEngine:
    """Apache Spark; only buckets come back.

    Parameters
    ----------
    spark : SparkSession
        The session.
    folder : Path
        Where buckets are written; below the person folder, because they hold persons.
    """

    def __init__(self, spark: "SparkSession", folder: Path) -> None:
        self.spark = spark
        self.folder = folder

    def columns(self, log: str) -> dict[str, str]:
        """Return the log's columns with their types.

        Parameters
        ----------
        log : str
            Any path that Spark reads Parquet from.

        Returns
        -------
        dict of str to str
            Type by column, in DuckDB's words where they differ.
        """
        return {str(name): _SPARK_TYPES.get(kind, str(kind)) for name, kind in self._rows(log).dtypes}

    def check(self, log: str, values: dict[str, str]) -> LogCheck:
        """Return what is wrong with the rows.

        Parameters
        ----------
        log : str
            Any path that Spark reads Parquet from.
        values : dict of str to str
            Values of the SQL text.

        Returns
        -------
        LogCheck
            Numbers of rows.
        """
        return LogCheck(*self._run("events/000_check", log, values).collect()[0])

    def buckets(self, log: str, values: dict[str, str]) -> str:
        """Reduce the log and write the buckets to the folder.

        Parameters
        ----------
        log : str
            Any path that Spark reads Parquet from.
        values : dict of str to str
            Values of the SQL text.

        Returns
        -------
        str
            SQL of a relation that DuckDB can read.
        """
        out = self.folder / SPARK_OUT
        self._run("events/010_bucket", log, values).write.mode("overwrite").parquet(str(out))
        return f"read_parquet({quote(str(out / '*.parquet'))})"

    def _rows(self, log: str) -> Any:
        return self.spark.read.parquet(log)

    def _run(self, text: str, log: str, values: dict[str, str]) -> Any:
        self._rows(log).createOrReplaceTempView("event")
        return self.spark.sql(sql(text).format(events="event", **values))


@contextmanager
def spark_session(scratch: Path) -> Iterator["SparkSession"]:
    """Start Spark, or join the one that the environment names.

    ``SPARK_MASTER`` and the usual ``spark-defaults.conf`` decide where it runs; without them it runs on this
    machine, listens on the loopback address only and shows no web page.

    Parameters
    ----------
    scratch : Path
        Folder for Spark's own files.

    Yields
    ------
    SparkSession
        Stopped on leaving the block.

    Raises
    ------
    EvenhandError
        If pyspark or Java is missing.
    """
    try:
        from pyspark.errors import PySparkException
        from pyspark.sql import SparkSession
    except ImportError as error:
        raise EvenhandError(
            "Apache Spark is not installed", "evenhand facts --engine spark",
            "Install the extra: pip install 'evenhand[spark]', and Java 17.",
        ) from error  # fmt: skip
    master = os.environ.get("SPARK_MASTER")
    config = {
        "spark.sql.session.timeZone": "UTC",
        "spark.sql.warehouse.dir": str(scratch),
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
    }
    if master is None:
        config |= {
            "spark.driver.host": "127.0.0.1",
            "spark.driver.bindAddress": "127.0.0.1",
            "spark.local.dir": str(scratch),
            "spark.sql.shuffle.partitions": "8",
        }
    builder: Any = SparkSession.builder
    builder = builder.appName("evenhand")
    for key, value in config.items():
        builder = builder.config(key, value)
    try:
        spark = builder.master(master or "local[*]").getOrCreate()
    except (PySparkException, RuntimeError, OSError) as error:
        raise EvenhandError(
            "Apache Spark does not start",
            "evenhand facts --engine spark",
            "Install Java 17 and set JAVA_HOME.",
        ) from error
    try:
        yield spark
    finally:
        spark.stop()
