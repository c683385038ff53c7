"""Literal rows of the person store's core tables, for tests of the facts and audits."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

import duckdb

from etl.sqlfiles import sql
from etl.store import MIGRATIONS

ZURICH = "Europe/Zurich"


def instant(local: str, tz: str = ZURICH, fold: int = 0) -> int:
    """Microseconds UTC of a local clock time such as ``2026-03-02 09:00:00``."""
    clock = datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(tz), fold=fold)
    since = clock - datetime(1970, 1, 1, tzinfo=ZoneInfo("UTC"))
    return (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds


@dataclass(frozen=True, order=True)
class Bout:
    person: str
    start_us: int
    end_us: int
    tz: str = ZURICH
    task: str = "ALIQUOT"
    instrument: str = "P1"
    strokes: int = 0
    tips: int | None = 0
    channels: int | None = 1
    volume_changes: int | None = 0
    station: str | None = None
    hand: str | None = "RIGHT"


@dataclass(frozen=True, order=True)
class Stroke:
    person: str
    at_us: int
    tz: str = ZURICH
    instrument: str = "P1"
    action: str = "DISPENSE"


@dataclass(frozen=True)
class Instrument:
    instrument: str
    plunger_mn: int | None
    blow_out_mn: int | None
    ejection_mn: int | None
    press_ms: int | None = 300
    eject_ms: int | None = 200


@dataclass(frozen=True)
class TeamSpell:
    person: str
    team: str
    valid_from: date
    valid_to: date | None = None


@dataclass(frozen=True)
class Answer:
    person: str
    month: date
    region: str
    score: int | None
    side: str = "NONE"
    hindered: bool | None = None
    scale: str = "NRS_0_10"


def bout(person: str, start: str, end: str, tz: str = ZURICH, **more: object) -> Bout:
    """A bout from local clock times."""
    return Bout(person, instant(start, tz), instant(end, tz), tz, **more)  # type: ignore[arg-type]


def core_store(threads: int = 1) -> duckdb.DuckDBPyConnection:
    """An in-memory person store with empty core tables."""
    con = duckdb.connect(config={"threads": threads})
    for migration in MIGRATIONS:
        con.execute(sql(migration))
    return con


def empty(con: duckdb.DuckDBPyConnection) -> None:
    """Delete every core row, which is faster than a new store."""
    for table in ("bouts", "strokes", "instruments", "people", "teams", "surveys", "hours"):
        con.execute(f"delete from core.{table}")


def _insert(con: duckdb.DuckDBPyConnection, table: str, columns: str, rows: Sequence[tuple]) -> None:
    if not rows:
        return
    marks = ", ".join("?" * (len(rows[0]) + 2))
    numbered = [(1, number, *row) for number, row in enumerate(rows, start=2)]
    con.executemany(f"insert into core.{table} (file_id, row_number, {columns}) values ({marks})", numbered)


def put(con: duckdb.DuckDBPyConnection, rows: Iterable[object]) -> None:
    """Insert literal rows, each into the core table of its kind, in the order given."""
    kinds: dict[type, tuple[str, str]] = {
        Bout: (
            "bouts",
            "person, start_us, end_us, tz, task, instrument, strokes, tips, channels, volume_changes, "
            "station, hand",
        ),
        Stroke: ("strokes", "person, at_us, tz, instrument, action"),
        TeamSpell: ("people", "person, team, valid_from, valid_to"),
        Answer: ("surveys", "person, month, region, score, side, hindered, scale"),
    }
    by_kind: dict[type, list[tuple]] = {}
    for row in rows:
        by_kind.setdefault(type(row), []).append(astuple(row))  # type: ignore[call-overload]
    for entry in by_kind.pop(Instrument, []):
        con.execute(
            "insert into core.instruments (file_id, row_number, instrument, kind, channels, plunger_mn, "
            "blow_out_mn, ejection_mn, press_ms, eject_ms) values (1, 2, ?, 'MANUAL', 1, ?, ?, ?, ?, ?)",
            entry,
        )
    for kind, values in by_kind.items():
        _insert(con, *kinds[kind], values)


def put_teams(con: duckdb.DuckDBPyConnection, teams: dict[str, str]) -> None:
    """Insert teams, each with its cluster."""
    rows = [(team, team, cluster, cluster, "SITE") for team, cluster in teams.items()]
    _insert(con, "teams", "team, team_name, cluster, cluster_name, site", rows)


def facts(con: duckdb.DuckDBPyConnection, table: str, columns: str = "*") -> list[tuple]:
    """All rows of a facts table, sorted."""
    return con.execute(f"select {columns} from facts.{table} order by all").fetchall()
