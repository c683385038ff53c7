"""The register of changes: enter one by hand, bring it up to date, close it, and keep what it said before."""

import csv
import datetime as dt
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.contracts import CONTRACTS
from etl.errors import EvenhandError
from etl.home import Home
from etl.load import load_files
from etl.reasons import REASONS
from etl.sqlfiles import sql
from etl.store import open_store, row_text

CONTRACT = CONTRACTS["changes"]
CLOSED = ("COMPLETE", "DROPPED")


@dataclass(frozen=True)
class RegisterEntry:
    """One line of the register.

    Attributes
    ----------
    change, title, team, kind, status : str
        Code, title, team, kind and status.
    planned, started, completed : date or None
        Dates.
    adherence_percent : float or None
        Share of the team that works the new way.
    allocation, lot : str or None
        How it was decided which teams or in which order, and where a lot is on record.
    versions : int
        How often the entry was entered or altered.
    """

    change: str
    title: str
    team: str
    kind: str
    status: str
    planned: dt.date | None
    started: dt.date | None
    completed: dt.date | None
    adherence_percent: float | None
    allocation: str | None
    lot: str | None
    versions: int

    def __str__(self) -> str:
        dates = [
            f"{word} {day:%Y-%m-%d}"
            for word, day in (
                ("planned", self.planned),
                ("started", self.started),
                ("complete", self.completed),
            )
            if day
        ]
        known = "" if self.adherence_percent is None else f", {self.adherence_percent:g} % work that way"
        known += {"LOT_TEAMS": ", teams by lot", "LOT_ORDER": ", order by lot"}.get(self.allocation or "", "")
        known += f" ({self.lot})" if self.lot else ""
        when = ", ".join(dates) or "no date"
        head = f"{self.change}  {self.title} ({self.team}): {self.status.lower()}"
        return f"{head}, {when}{known}; version {self.versions}"


def add_change(home: Home, entry: Mapping[str, str], now: dt.datetime) -> RegisterEntry:
    """Enter a change by hand, through the same checks as a file.

    Parameters
    ----------
    home : Home
        The data home.
    entry : mapping of str to str
        Field of the contract to its text; dates as ``2026-10-01``, decimals with a point.
    now : datetime
        Present time with zone.

    Returns
    -------
    RegisterEntry
        The entry as kept.

    Raises
    ------
    EvenhandError
        If a field does not hold or the code is taken; nothing is kept then.
    """
    if not home.person_db.exists():
        raise EvenhandError("There is no person store yet", str(home.person_db), "Load the teams first.")
    code = entry.get("change", "")
    with open_store(home, write=False) as con:
        taken = con.execute("select count(*) from core.changes where change = ?", [code]).fetchall()[0][0]
    if taken:
        raise EvenhandError(
            f"Change {code} is in the register", "evenhand change add", "Use 'evenhand change update'."
        )
    with tempfile.TemporaryDirectory(dir=home.person_dir) as folder:
        # The time makes each file a new one, so that an entry taken back can be entered again.
        file = Path(folder) / f"register_{code}_{now:%Y%m%d%H%M%S}.csv"
        with file.open("w", newline="", encoding="utf-8") as out:
            writer = csv.DictWriter(out, [field.name for field in CONTRACT.fields])
            writer.writeheader()
            writer.writerow({field.name: entry.get(field.name, "") for field in CONTRACT.fields})
        profile = Path(folder) / "register.toml"
        profile.write_text(_profile(), encoding="utf-8")
        # Tried first, so that an entry that does not hold leaves no file without rows in the ledger.
        tried = load_files(home, [file], profile, source="changes", dry_run=True, now=now).files[0]
        holds = tried.rows_accepted == 1
        record = load_files(home, [file], profile, source="changes", now=now).files[0] if holds else tried
    if not holds or record.rows_accepted != 1:
        told = [record.message] if record.message else []
        told += [f"{r.column or 'row'}: {REASONS[r.reason].meaning}" for r in record.reasons]
        raise EvenhandError(
            f"Change {code} was not entered: {'; '.join([*told, *record.hints])}",
            "evenhand change add", "Correct what is named and enter it again.",
        )  # fmt: skip
    with open_store(home, write=True) as con:
        note_register(con, now)
    return _one(home, code)


def update_change(
    home: Home,
    change: str,
    now: dt.datetime,
    *,
    status: str | None = None,
    started: dt.date | None = None,
    completed: dt.date | None = None,
    adherence_percent: float | None = None,
    month: dt.date | None = None,
    cost: float | None = None,
) -> RegisterEntry:
    """Bring an entry up to date; the earlier version stays in the history.

    What was written down before the start (reasons, target regions, expected effect) cannot be altered here.

    Parameters
    ----------
    home : Home
        The data home.
    change : str
        Code.
    now : datetime
        Present time with zone.
    status : str, optional
        New status.
    started, completed : date, optional
        Dates.
    adherence_percent : float, optional
        Share of the team that works the new way.
    month : date, optional
        First day of the month in which that share was found; kept month by month.
    cost : float, optional
        Cost.

    Returns
    -------
    RegisterEntry
        The entry as kept.

    Raises
    ------
    EvenhandError
        If there is no such entry, it is closed, dates stand in the wrong order, or a value is out of bounds.
    """
    if adherence_percent is not None and not 0 <= adherence_percent <= 100:
        raise _wrong(change, f"{adherence_percent:g} % adherence", "Give a share between 0 and 100.")
    if cost is not None and not 0 <= cost <= 1e9:
        raise _wrong(change, f"cost {cost:g}", "Give a cost of 0 or more.")
    if month is not None and adherence_percent is None:
        raise _wrong(change, "a month without adherence", "Give --adherence with --month.")
    if month is not None and month > now.date():
        raise _wrong(change, f"adherence of {month:%Y-%m}, still to come", "Name a month that has begun.")
    values = {
        "change": change, "status": status, "started": started, "completed": completed,
        "adherence_percent": adherence_percent, "cost": cost,
    }  # fmt: skip
    known = _one(home, change)
    if known.status in CLOSED and status is not None:
        raise _wrong(change, f"it is {known.status.lower()} already", "Enter a new change.")
    begin, end = started or known.started, completed or known.completed
    if status == "COMPLETE" and end is None:
        raise _wrong(change, "complete without a date", "Give --completed.")
    if end is not None and any(day and day > end for day in (begin, known.planned)):
        raise _wrong(change, "completed before it was planned or started", "Correct the dates.")
    with open_store(home, write=True) as con:
        con.execute("begin")
        note_register(con, now)
        con.execute(sql("register/020_update"), values)
        if month is not None:
            con.execute(
                "insert into core.change_adherence values (?, ?, ?, ?)",
                [change, month, adherence_percent, now.astimezone(dt.UTC).replace(tzinfo=None)],
            )
        con.execute(
            "update core.file_ledger set content_checksum = (select coalesce(sum(md5_number_lower("
            f"{row_text(CONTRACT)})::hugeint), 0)::varchar from core.changes c where c.file_id = "
            "core.file_ledger.file_id) where contract = 'changes' and file_id = "
            "(select file_id from core.changes where change = ?)",
            [change],
        )
        note_register(con, now)
        con.execute("commit")
    return _one(home, change)


def entries(home: Home) -> tuple[RegisterEntry, ...]:
    """List the register.

    Parameters
    ----------
    home : Home
        The data home.

    Returns
    -------
    tuple of RegisterEntry
        By date; empty without a store.
    """
    if not home.person_db.exists():
        return ()
    with open_store(home, write=False) as con:
        return tuple(RegisterEntry(*row) for row in con.execute(sql("register/030_list")).fetchall())


def note_register(con: duckdb.DuckDBPyConnection, now: dt.datetime) -> None:
    """Add a version to the history for every entry that is new, altered or gone.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, writable.
    now : datetime
        When it was noticed.
    """
    moment = now.astimezone(dt.UTC).replace(tzinfo=None) if now.tzinfo else now
    con.execute(sql("register/010_note"), {"noted_at": moment})


def _one(home: Home, change: str) -> RegisterEntry:
    for entry in entries(home):
        if entry.change == change:
            return entry
    raise _wrong(change, "it is not in the register", "See 'evenhand change list'.")


def _wrong(change: str, what: str, remedy: str) -> EvenhandError:
    return EvenhandError(f"Change {change}: {what}", "register of changes", remedy)


def _profile() -> str:
    names = "\n".join(f'{field.name} = "{field.name}"' for field in CONTRACT.fields)
    head = 'profile = "register"\ntime_zone = "UTC"\n\n[sources.changes]\ncontract = "changes"\n'
    return f'{head}files = ["register_*.csv"]\n\n[sources.changes.fields]\n{names}\n'
