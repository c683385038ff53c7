"""The SQL layers of the facts, in order, for a build of everything or of what a file touches."""

import re
from collections.abc import Callable, Collection, Sequence

import duckdb

from etl.sqlfiles import sql

Progress = Callable[[str, int, int], None]

# Each layer reads core tables, tables of schema facts, and what layers above it in these lists made.
# Buckets of stroke events along each person's time; the words shared with Apache Spark stand in events/.
ALONG_TIME = (
    "facts/020_local_day",
    "facts/022_local_key",
    "facts/045_event_person",
    "events/020_sequence",
    "events/030_slice",
    "events/040_spell",
)
# From the logs at hand to spells and pieces of bouts.
LOG = (
    "facts/050_event_bout",
    "facts/060_log",
    "facts/070_verdict",
    "facts/080_overlap",
    "facts/090_bout",
    "facts/095_event_bout",
    "facts/100_spell",
    "facts/110_instrument",
    "facts/120_bout_day",
    "facts/130_bout_piece",
)
DAY = ("facts/140_rest", "facts/150_person_day")
EVENT_DAY = ("events/050_person_day", "facts/155_event_day")
WEEK = ("facts/160_person_week",)
MONTH = ("facts/170_roster", "facts/180_symptom")

# Texts shared with another engine are bare selects; here each fills a working table.
MADE_BY = {
    "events/020_sequence": "work_event_sequence",
    "events/030_slice": "work_event_slice",
    "events/040_spell": "work_event_spell",
    "events/050_person_day": "work_event_day",
}
# A layer's working table goes as soon as the last layer that reads it is done, to keep memory moderate.
_DONE_WITH = {
    "facts/050_event_bout": ("work_event_bucket",),
    "facts/060_log": ("work_event_bout",),
    "facts/090_bout": ("work_log", "work_verdict"),
    "facts/120_bout_day": ("work_bout",),
    "facts/130_bout_piece": ("work_bout_day",),
    "facts/150_person_day": ("work_rest",),
    "events/050_person_day": ("work_event_sequence", "work_event_slice", "work_event_spell"),
    "facts/155_event_day": ("work_event_day",),
}
# Where logged work comes from.
SOURCES = ("core.strokes", "core.event_bucket", "core.bouts")
_MAKES = re.compile(r"^create or replace temp table (\w+) as\n", re.MULTILINE)
# The ledger's view of the files, from which a later update sees what has come, gone or lost rows.
LEDGER = (
    "(select file_id, contract, rows_accepted as rows, content_checksum as checksum from core.file_ledger"
    " union all select file_id, 'event_log', events, concat_ws('|', mark, tz, width_us) from core.event_log)"
)


def run(con: duckdb.DuckDBPyConnection, layers: Sequence[str], tell: Callable[[str], None]) -> None:
    """Run layers in order and drop what is no longer read.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, in a transaction.
    layers : sequence of str
        Names below ``etl/sql``.
    tell : callable
        Called with each layer's own name, without its folder, before it runs.
    """
    for layer in layers:
        tell(layer.partition("/")[2])
        made = MADE_BY.get(layer)
        con.execute(f"create or replace temp table {made} as {sql(layer)}" if made else sql(layer))
        for table in _DONE_WITH.get(layer, ()):
            con.execute(f"drop table {table}")


def with_layers(layers: Sequence[str], **values: object) -> str:
    """Return layers as the WITH of one statement, each under the name of its working table.

    Parameters
    ----------
    layers : sequence of str
        Names below ``etl/sql``, of layers that fill one working table each.
    **values : object
        What their texts leave open.

    Returns
    -------
    str
        The beginning of a statement.
    """
    parts = []
    for layer in layers:
        text, made = sql(layer), MADE_BY.get(layer)
        if made is None:
            _, made, text = _MAKES.split(text, maxsplit=1)
        parts.append(f"{made} as (\n{text})")
    return "with " + ",\n".join(parts).format(**values)


def read_sources(
    con: duckdb.DuckDBPyConnection, bucket_us: int, files: str, held: Collection[str] = SOURCES
) -> None:
    """Gather what files hold of logged work into working tables.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    bucket_us : int
        Width of a bucket.
    files : str
        SQL condition on ``file_id``; ``true`` for every file.
    held : collection of str
        Those of `SOURCES` in which the files have rows; working tables that would be empty are left out.
    """
    texts = {
        "core.strokes": sql("events/010_bucket").format(
            source="file_id,",
            bucket_us=bucket_us,
            tz="min(tz)",
            events=f"(select * from core.strokes where {files}) as event",
        ),
        "core.event_bucket": sql("facts/014_log_bucket").format(bucket_us=bucket_us, files=files),
    }
    buckets = [text for table, text in texts.items() if table in held]
    logged = []
    if buckets:
        con.execute(sql("facts/015_bucket").format(buckets=" union all ".join(buckets)))
        logged.append("select file_id, tz, first_us, last_us from work_new_bucket")
    if "core.bouts" in held:
        con.execute(sql("facts/016_source_day").format(files=files))
        logged.append(
            f"select file_id, tz, start_us as first_us, end_us - 1 as last_us from core.bouts where {files}"
        )
    if logged:
        con.execute(sql("facts/018_source_extent").format(logged=" union all ".join(logged)))


def drop_work(con: duckdb.DuckDBPyConnection) -> None:
    """Drop every working table and view of the layers.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    """
    found = con.execute(
        "select 'table', table_name from duckdb_tables()"
        " where database_name = 'temp' and starts_with(table_name, 'work_')"
        " union all select 'view', view_name from duckdb_views()"
        " where database_name = 'temp' and starts_with(view_name, 'work_')"
    ).fetchall()
    con.execute("; ".join(f"drop {kind} {name}" for kind, name in found))
