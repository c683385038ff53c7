"""Take person-level rows out of the store once they are older than the institute keeps them.

Published editions stay, and so does the contributor ledger under random tokens; the link between a person
and a token goes when the last row of that person goes.
"""

import datetime as dt
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import duckdb

from etl.bytesearch import holds
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.home import Home
from etl.person_gone import refuse_bytes, refuse_leftovers
from etl.person_rows import (
    has_facts,
    names_sql,
    person_tables,
    persons,
    sought,
)
from etl.rebuild import Keep, rebuild
from etl.settings import Settings, load_settings
from etl.store import open_store
from etl.tombstones import DOMAIN

# Instants are compared on the clock of their own time zone: a month ends at local midnight. What reaches into
# the first kept day stays whole.
_IN_TIME: Mapping[str, str] = {
    "core.people": "(valid_to is null or valid_to >= $cutoff)",
    "core.bouts": "end_us > epoch_us(timezone(tz, $cutoff::timestamp))",
    "core.strokes": "at_us >= epoch_us(timezone(tz, $cutoff::timestamp))",
    "core.event_bucket": "last_us >= epoch_us(timezone(tz, $cutoff::timestamp))",
    "core.surveys": "month >= $cutoff",
    "core.diaries": "month >= $cutoff",
}
# What is kept about persons beside their rows goes with their last row.
_BESIDE = ("release_private.token", "loading.")
_EARLIER_FILE = (
    "file_id in (select file_id from {database}core.file_ledger where loaded_at < $cutoff::timestamp)"
)


@dataclass(frozen=True)
class RetainSummary:
    """What was, or in a dry run would be, removed.

    Attributes
    ----------
    cutoff : datetime.date
        First day that is kept.
    rows : dict of str to int
        Core table to rows.
    values : int
        Values of rows set aside that were emptied.
    persons : int
        Persons of whom nothing is left.
    old_files : int
        Loaded files whose delivered copies are past their time.
    delivered_days : int
        That time in days.
    seen_before : bool
        Whether the byte search found somebody's pseudonym in the old store.
    dry_run : bool
        Whether the store was left alone.
    """

    cutoff: dt.date
    rows: dict[str, int]
    values: int
    persons: int
    old_files: int
    delivered_days: int
    seen_before: bool
    dry_run: bool

    def __str__(self) -> str:
        verb = "would be" if self.dry_run else "were"
        tables = ", ".join(f"{rows} from {name}" for name, rows in sorted(self.rows.items()))
        said = [
            f"Rows from before {self.cutoff}: {tables} {verb} removed."
            if tables
            else f"No row is from before {self.cutoff}.",
            f"{self.values} values of rows set aside {verb} emptied; of {self.persons} persons nothing "
            f"{'would be' if self.dry_run else 'is'} left.",
        ]
        if self.seen_before:
            said.append("A byte search found them in the old file and does not find them in the new one.")
        if self.old_files:
            said.append(
                f"{self.old_files} files were loaded more than {self.delivered_days} days ago: delete the "
                "delivered copies that still exist."
            )
        return "\n".join(said)


def first_kept_day(today: dt.date, months: int) -> dt.date:
    """Return the first day that retention keeps.

    Parameters
    ----------
    today : datetime.date
        The present day.
    months : int
        Whole months kept before the current one.

    Returns
    -------
    datetime.date
        First day of the month that lies `months` before the current one.
    """
    number = today.year * 12 + today.month - 1 - months
    return dt.date(number // 12, number % 12 + 1, 1)


def retain(
    home: Home,
    *,
    dry_run: bool = False,
    today: dt.date | None = None,
    settings: Settings | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> RetainSummary:
    """Remove person-level rows older than the configured time, and build the facts anew.

    Parameters
    ----------
    home : Home
        The data home.
    dry_run : bool, default False
        Only count.
    today : datetime.date, optional
        The present day; by default the clock's.
    settings : Settings, optional
        Settings; by default those of the data home.
    progress : Callable, optional
        Called with a label, the steps done and the steps in all.

    Returns
    -------
    RetainSummary
        What was removed.

    Raises
    ------
    EvenhandError
        If there is no store, or not enough room to rebuild it.
    StoreBusy
        If another process has the store.
    """
    rules = settings or load_settings(home.settings_file)
    day = today or dt.date.today()
    cutoff = first_kept_day(day, rules.retention.person_months)
    tell = progress or (lambda label, done, total: None)
    if not home.person_db.exists():
        raise EvenhandError("There is no person store yet", str(home.person_db), "Check --home.", "E_STORE")
    with open_store(home, write=True) as con:
        tell("count", 0, 2)
        old = _old_rows(con, cutoff)
        kept = con.execute(_who_stays(), {"cutoff": cutoff}).fetchall()
        gone = sorted(persons(con) - {person for (person,) in kept})
        unique = sought(persons(con), gone)
        named: dict[str, object] = {"cutoff": cutoff, "gone": gone, "unique": unique}
        values = con.execute(
            f"select count(*) from core.set_aside where value is not null and {_emptied()}", named
        ).fetchall()[0][0]
        limit = day - dt.timedelta(days=rules.retention.delivered_days)
        needles = [person.encode() for person in unique]
        seen_before = bool(needles) and not dry_run and holds(home.person_db, needles)
        summary = RetainSummary(
            cutoff,
            _by_table(old),
            values,
            len(gone),
            con.execute(
                "select count(*) from core.file_ledger where loaded_at < ?::date::timestamp", [limit]
            ).fetchall()[0][0],
            rules.retention.delivered_days,
            seen_before,
            dry_run,
        )
        if dry_run or not (old or gone or values):
            return summary
        with_facts = has_facts(con)

        def finish(fresh: duckdb.DuckDBPyConnection) -> None:
            if with_facts:
                build_facts(fresh, rules)
            for name, file, rows in old:
                fresh.execute(
                    "insert into core.removal values (?, ?, 'RETENTION', ?, ?)", [file, name, rows, day]
                )
            refuse_leftovers(fresh, gone, unique)

        tell("rebuild", 1, 2)
        rebuild(home, con, _keeps(con, named), finish, lambda fresh: refuse_bytes(fresh, needles))
        tell("done", 2, 2)
        return summary


def _old_rows(con: duckdb.DuckDBPyConnection, cutoff: dt.date) -> list[tuple[str, int, int]]:
    """Count the rows that go, by table and file."""
    old: list[tuple[str, int, int]] = []
    for name, in_time in _IN_TIME.items():
        rows = con.execute(
            f"select file_id, count(*) from {name} where not {in_time} group by 1 order by 1",
            {"cutoff": cutoff},
        ).fetchall()
        old += [(name.removeprefix("core."), file, count) for file, count in rows]
    return old


def _by_table(old: list[tuple[str, int, int]]) -> dict[str, int]:
    counted: Counter[str] = Counter()
    for name, _, rows in old:
        counted[name] += rows
    return dict(counted)


def _who_stays(database: str = "") -> str:
    return " union ".join(
        f"select person from {database}{name} where {in_time}" for name, in_time in _IN_TIME.items()
    )


def _emptied(database: str = "") -> str:
    """Return SQL of the values that go: of files loaded before the kept time, and names of who is gone."""
    early = f"select file_id from {database}core.file_ledger where loaded_at < $cutoff::timestamp"
    return f"(file_id in ({early}) or {names_sql('value')})"


def _keeps(con: duckdb.DuckDBPyConnection, named: Mapping[str, object]) -> dict[str, Keep]:
    cutoff = {"cutoff": named["cutoff"]}
    keeps = {name: Keep(in_time, parameters=cutoff) for name, in_time in _IN_TIME.items()}
    values = f"* replace (case when {_emptied('store.')} then null else value end as value)"
    keeps["core.set_aside"] = Keep("true", values, named)
    for name in person_tables(con):
        if name.startswith(_BESIDE):
            keeps[name] = Keep(f"person in ({_who_stays('store.')})", parameters=cutoff)
    stays = f"select sha256('{DOMAIN}' || person) from ({_who_stays('store.')})"
    keeps["core.conflict_key"] = Keep(
        f"person_digest is null or person_digest in ({stays})", parameters=cutoff
    )
    return keeps
