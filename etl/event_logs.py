"""Stroke logs that stay where they are: which are new, which are gone, and what the store keeps of them."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import duckdb

from etl.errors import EvenhandError
from etl.event_engines import Engine
from etl.event_reduce import reduce_log
from etl.filechecks import hash_file
from etl.home import Home


@dataclass(frozen=True)
class LogSummary:
    """What became of the logs at a place.

    Attributes
    ----------
    read, known, gone : int
        Logs reduced now; logs the store had already; logs taken out because they changed or are not there.
    events, left_out : int
        Events reduced; events of withdrawn persons, which were not taken.
    """

    read: int
    known: int
    gone: int
    events: int
    left_out: int

    def __str__(self) -> str:
        kept = f", {self.left_out:,} of withdrawn persons not taken" if self.left_out else ""
        return (
            f"{self.read:,} stroke logs read in place with {self.events:,} events{kept}; "
            f"{self.known:,} known already, {self.gone:,} taken out"
        )


def local_logs(place: str) -> dict[str, str]:
    """Find Parquet files and mark each by its content.

    Parameters
    ----------
    place : str
        File, or folder that is searched through.

    Returns
    -------
    dict of str to str
        SHA-256 by full path, sorted; of files with the same content the first.

    Raises
    ------
    EvenhandError
        If there is none.
    """
    path = Path(place).expanduser().resolve()
    files = [path] if path.is_file() else sorted(path.rglob("*.parquet"))
    if not files:
        raise EvenhandError("No Parquet file is there", str(path), "Check the path.", "E_NOFILE")
    marks: dict[str, str] = {}
    for file in files:
        marks.setdefault(hash_file(file), str(file))
    return {name: mark for mark, name in sorted(marks.items(), key=lambda item: item[1])}


def take_in(
    home: Home,
    con: duckdb.DuckDBPyConnection,
    engine: Engine,
    logs: dict[str, str],
    place: str,
    zone: str,
    width_us: int,
    progress: Callable[[str, int, int], None] | None = None,
) -> LogSummary:
    """Reduce logs that are new or changed, and take out those that are gone; each log in one transaction.

    Parameters
    ----------
    home : Home
        The data home, whose list of withdrawn persons holds.
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    engine : Engine
        Reads and reduces a log.
    logs : dict of str to str
        Mark of each log by its name; an empty mark means that the log is always read again.
    place : str
        What was named; logs below it that are not in `logs` any more are taken out.
    zone : str
        Time zone whose clock decides the day.
    width_us : int
        Width of a bucket, no wider than a rest.
    progress : callable, optional
        Called with a log's name, its number from 1 and how many there are.

    Returns
    -------
    LogSummary
        Numbers of logs and events.

    Raises
    ------
    FileRefused
        If a log lacks a column or has a row that the store cannot take; logs before it stay.
    """
    _check_zone(zone)
    below = con.execute(
        "select name, mark, file_id from core.event_log"
        " where name = $place or starts_with(name, $place || '/')",
        {"place": place},
    ).fetchall()
    stay = {
        name
        for name, mark, file in below
        if mark and logs.get(name) == mark and _same(con, file, zone, width_us)
    }
    gone = [(name, file) for name, _, file in below if name not in stay]
    elsewhere = {mark for (mark,) in con.execute("select mark from core.event_log").fetchall() if mark}
    elsewhere -= {mark for name, mark, _ in below if name not in stay}
    fresh = {name: mark for name, mark in logs.items() if name not in stay and mark not in elsewhere}
    for name, file in gone:
        if name not in fresh:
            _replace(con, file, None)
    counts = [0, 0]
    for number, (name, mark) in enumerate(fresh.items(), start=1):
        if progress is not None:
            progress(Path(name).name, number, len(fresh))
        old = next((file for known, file in gone if known == name), None)
        events, left_out = reduce_log(home, con, engine, name, zone, width_us)
        _replace(con, old, (name, mark, zone, width_us))
        counts[0] += events
        counts[1] += left_out
    return LogSummary(len(fresh), len(logs) - len(fresh), len(gone), counts[0], counts[1])


def _check_zone(zone: str) -> None:
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise EvenhandError(
            f"{zone!r} is no time zone", "evenhand facts --zone", "Name one such as Europe/Zurich."
        ) from error


def _same(con: duckdb.DuckDBPyConnection, file: int, zone: str, width_us: int) -> bool:
    known = con.execute("select tz, width_us from core.event_log where file_id = ?", [file]).fetchall()
    return known == [(zone, width_us)]


def _replace(con: duckdb.DuckDBPyConnection, old: int | None, log: tuple[str, str, str, int] | None) -> None:
    """Take a log's buckets out and, where it was read anew, put in those at hand."""
    con.execute("begin transaction")
    try:
        # Negative numbers never meet those of loaded files; the next one is taken before the old one goes, so
        # that a log read anew counts as another file.
        file = con.execute("select least(coalesce(min(file_id), 0), 0) - 1 from core.event_log").fetchall()[
            0
        ][0]
        if old is not None:
            con.execute("delete from core.event_bucket where file_id = ?", [old])
            con.execute("delete from core.event_log where file_id = ?", [old])
        if log is not None:
            con.execute(
                f"insert into core.event_bucket by name select *, {file} as file_id from work_log_bucket"
            )
            con.execute(
                "insert into core.event_log select ?, ?, ?, ?, ?, coalesce(sum(events), 0)::bigint"
                " from work_log_bucket",
                [file, *log],
            )
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
