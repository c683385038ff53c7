"""The steps of an update: what files touch, the islands of work around it, and the rows exchanged for them.

An update of a few thousand rows costs its statements, not its rows: planning takes more than running. So
steps that would find nothing are left out, layers of the full build run as one statement, limits reach the
scans as constants, and few tables are made. The engine keeps its threads: one would do for so few rows, but
taking the others down costs more than they do, for it gives back what memory they still hold.
"""

from collections.abc import Callable, Mapping, Sequence

import duckdb
import numpy as np

from etl.facts import refuse_other_width
from etl.facts_exchange import exchange
from etl.facts_islands import Islands, Stretches, find_islands
from etl.facts_layers import LEDGER, MONTH, SOURCES, drop_work, read_sources, run
from etl.sqlfiles import sql

Tell = Callable[[str], None]

# What the facts rest on, each with the working table of what the files hold now, and where that comes from.
_RESTS_ON = {
    "facts.event_bucket": ("work_new_bucket", ("core.strokes", "core.event_bucket")),
    "facts.source_day": ("work_new_day", ("core.bouts",)),
    "facts.source_extent": ("work_new_extent", SOURCES),
}
STEPS = 4 + len(MONTH)
# How far to look for the rest that ends an island, at first: enough for a night over midnight, two stretches.
_MARGIN_US = 12 * 3_600_000_000


def fold(con: duckdb.DuckDBPyConnection, rules: Mapping[str, int], files: Sequence[int], tell: Tell) -> None:
    """Recompute what some files touch.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts, in a transaction.
    rules : mapping of str to int
        Working rules of the facts, as `etl.facts.setting_values` gives them.
    files : sequence of int
        Numbers of files that were added, lost rows or were taken out.
    tell : callable
        Called with each step's name before it runs.
    """
    tell("sources")
    bucket_us = refuse_other_width(con)
    # Numbers, not a query: so the engine reads only the row groups that can hold these files.
    mine = f"file_id in ({', '.join(str(int(file)) for file in files)})" if files else "false"
    held = _held(con, mine)
    read_sources(con, bucket_us, mine, held)
    others = _without_work(con, files, mine, held) if held else files
    touched = _touched(con, mine, held)
    _replace_sources(con, mine, held)
    if touched["person"].size:
        tell("islands")
        persons, islands = _islands(con, touched, rules["rest_us"])
        came = held & set(SOURCES) if not held & set(_RESTS_ON) and not islands.met else None
        tell("log")
        exchange(con, persons, islands, rules, came)
    _months(con, others, tell)
    drop_work(con)


def _held(con: duckdb.DuckDBPyConnection, mine: str) -> set[str]:
    """Name the tables that hold rows of the files: logged work now, and what the facts rested on before."""
    text = sql("update/005_rows")
    rows = con.execute(
        " union all ".join(text.format(table=table, files=mine) for table in (*SOURCES, *_RESTS_ON))
    ).fetchall()
    return {table for (table,) in rows}


def _without_work(
    con: duckdb.DuckDBPyConnection, files: Sequence[int], mine: str, held: set[str]
) -> list[int]:
    """Return the files that hold, and held, no logged work: those may hold answers."""
    if len(files) == 1:
        return []
    texts = [f"select file_id from facts.source_extent where {mine}"]
    if held & set(SOURCES):
        texts.append("select file_id from work_new_extent")
    found = con.execute(" union ".join(texts)).fetchall()
    return [file for file in files if (file,) not in found]


def _touched(con: duckdb.DuckDBPyConnection, mine: str, held: set[str]) -> dict[str, np.ndarray]:
    """Return what differs; where all of a file came or went there is nothing to compare."""
    logged = []
    for table in ("facts.event_bucket", "facts.source_day"):
        work, sources = _RESTS_ON[table]
        before, now = table in held, bool(held & set(sources))
        names = {"now": work, "before": table, "files": mine}
        if before and now:
            rows = sql("update/015_differing").format(**names)
        else:
            rows = f"{table} where {mine}" if before else work
        if before or now:
            logged.append(f"select person, first_us, last_us from {rows}")
    if not logged:
        return {"person": np.empty(0)}
    found = con.execute(sql("update/010_touched").format(logged=" union all ".join(logged))).fetchnumpy()
    return {name: np.asarray(values) for name, values in found.items()}


def _replace_sources(con: duckdb.DuckDBPyConnection, mine: str, held: set[str]) -> None:
    """Exchange the files' rows of the tables that the facts rest on."""
    for table, (work, sources) in _RESTS_ON.items():
        if table in held:
            con.execute(f"delete from {table} where {mine}")
        if held & set(sources):
            con.execute(f"insert into {table} from {work}")
    con.execute(f"delete from facts.built_from where {mine}")
    con.execute(f"insert into facts.built_from select * from {LEDGER} where {mine}")


def _islands(
    con: duckdb.DuckDBPyConnection, touched: dict[str, np.ndarray], rest_us: int
) -> tuple[list[str], Islands]:
    """Return the persons touched and their islands; look further around as long as one might reach beyond."""
    persons, no = np.unique(touched["person"], return_inverse=True)
    first_us, last_us = int(touched["from_us"].min()), int(touched["to_us"].max())
    margin_us = _MARGIN_US
    while True:
        limits = {"first_us": first_us - margin_us, "last_us": last_us + margin_us}
        old = con.execute(
            sql("update/030_stretch").format(**limits), {"persons": persons.tolist()}
        ).fetchnumpy()
        work = Stretches(
            np.append(no, old["no"]).astype(np.int64),
            np.append(touched["from_us"], old["from_us"]).astype(np.int64),
            np.append(touched["to_us"], old["to_us"]).astype(np.int64),
            np.append(np.full(no.size, -1), old["spell"]).astype(np.int64),
        )
        islands = find_islands(work, rest_us)
        if (
            islands.from_us.min() - limits["first_us"] >= rest_us
            and limits["last_us"] - islands.to_us.max() >= rest_us
        ):
            return persons.tolist(), islands
        margin_us *= 8


def _months(con: duckdb.DuckDBPyConnection, others: Sequence[int], tell: Tell) -> None:
    """Build roster and symptoms anew where their months or the answers changed; they are small."""
    before = con.execute("from facts.extent").fetchall()
    extent = sql("facts/025_extent")
    now = con.execute(extent.partition("create or replace table facts.extent as\n")[2]).fetchall()
    # A file that is gone from the ledger may have held answers.
    answers = (
        others
        and con.execute(
            "select 1 from (select unnest($files) as file_id) f left join core.file_ledger l using (file_id)"
            " where l.contract is null or l.contract in ('surveys', 'hours') limit 1",
            {"files": list(others)},
        ).fetchall()
    )
    if now != before:
        con.execute(extent)
    if answers or now != before:
        run(con, ("facts/030_team_day", *MONTH), tell)
