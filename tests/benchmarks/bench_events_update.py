"""Fold a file of 1 % of the events into a store, and take it out again, against a full build.

Run: ``python -m tests.benchmarks.bench_events_update [--events 10000000] [--rounds 3] [--when last|middle]``.
The file holds one day's events of a sixth of the persons. After each step the facts are compared with those
of a full build, every row of every table. Reach: at most 5 % of a full build.
"""

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import duckdb

from etl.facts import build_facts
from etl.facts_update import update_facts
from etl.settings import Settings
from etl.sqlfiles import sql
from etl.store import MIGRATIONS
from tests.support.event_files import write_events

PEOPLE, PER_DAY, FILE = 200, 3000, 9999
CATALOGUE = """
    insert into core.instruments
    select 1, n, 'P' || n, 'MANUAL', 1, 20000 + n, 10000, null, 15000, null, 300, 200, null, null
    from range(40) t(n)
"""


def make_store(folder: Path, events: int, when: str) -> duckdb.DuckDBPyConnection:
    """Load the events, a file a day, with 1 % of them as a file of their own."""
    con = duckdb.connect(str(folder / "store.duckdb"), config={"threads": 2, "memory_limit": "4GB"})
    for migration in MIGRATIONS:
        con.execute(sql(migration))
    con.execute(CATALOGUE)
    days = max(2, round(events / PEOPLE / PER_DAY))
    chosen = days - 1 if when == "last" else days // 2
    held = round(days * PEOPLE / 100)
    for day, file in enumerate(write_events(con, folder / "log", people=PEOPLE, days=days, strokes=PER_DAY)):
        own = f"case when {day} = {chosen} and person < 'person-{held:05d}' then {FILE} else {day + 2} end"
        con.execute(
            f"insert into core.strokes select {own}, 1, person, at_us, 'Europe/Zurich', instrument, action"
            f" from read_parquet('{file}')"
        )
    con.execute(f"create temp table held as select * from core.strokes where file_id = {FILE}")
    return con


def state(con: duckdb.DuckDBPyConnection) -> dict[str, tuple]:
    """Number and hash sum of all rows of every table of the facts."""
    names = con.execute(
        "select table_name from duckdb_tables() where schema_name = 'facts' order by 1"
    ).fetchall()
    return {
        name: con.execute(f"select count(*), sum(hash(t)) from facts.{name} t").fetchall()[0]
        for (name,) in names
    }


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Wall and CPU seconds."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - cpu


def main() -> None:
    """Alternate full builds and updates; print medians and ratios."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--events", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--when", choices=("last", "middle"), default="last")
    chosen = parser.parse_args()
    rules = Settings()
    runs: dict[str, list[tuple[float, float]]] = {"full build": [], "take out": [], "fold in": []}
    with tempfile.TemporaryDirectory(prefix="bench_events_update_") as folder:
        con = make_store(Path(folder), chosen.events, chosen.when)
        held, all_rows = con.execute(
            "select (select count(*) from held), count(*) from core.strokes"
        ).fetchall()[0]
        for _ in range(chosen.rounds):
            runs["full build"].append(timed(lambda: build_facts(con, rules)))
            whole = state(con)
            con.execute(f"delete from core.strokes where file_id = {FILE}")
            runs["take out"].append(timed(lambda: update_facts(con, rules, [FILE])))
            without = state(con)
            build_facts(con, rules)
            assert state(con) == without, "facts after taking a file out differ from a full build"
            con.execute("insert into core.strokes from held")
            runs["fold in"].append(timed(lambda: update_facts(con, rules, [FILE])))
            assert state(con) == whole, "facts after folding a file in differ from a full build"
        con.close()
    print(
        f"{held:,} of {all_rows:,} events, load of the machine {os.getloadavg()[0]:.1f}"
        f" on {os.cpu_count()} cores"
    )
    base = [median(run[k] for run in runs["full build"]) for k in (0, 1)]
    for name, found in runs.items():
        wall, cpu = (median(run[k] for run in found) for k in (0, 1))
        print(
            f"{name:12s} wall {wall * 1000:7.0f} ms ({wall / base[0]:6.1%})   CPU {cpu * 1000:7.0f} ms"
            f" ({cpu / base[1]:6.1%})"
        )
    print(time.strftime("measured %Y-%m-%d"))


if __name__ == "__main__":
    main()
