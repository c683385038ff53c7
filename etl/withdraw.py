"""Take a person out of the person store for good, and keep the person out.

What was published stays: an edition computed anew without the person would show, by subtraction, what the
person had answered. The contributor ledger keeps the person's random token, which no row ties to anybody
once the link is gone; the auditor needs it to know which published numbers rest on the same people.
"""

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager

import duckdb

from etl.bytesearch import files_holding, holds
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.home import Home
from etl.person_gone import keeps_without, refuse_bytes, refuse_leftovers
from etl.person_rows import (
    count_rows,
    count_values,
    file_names,
    has_facts,
    persons,
    sought,
)
from etl.rebuild import rebuild
from etl.settings import load_settings
from etl.store import open_store
from etl.tombstones import digest, remember, returned, withdrawn
from etl.withdraw_summary import WithdrawSummary

Progress = Callable[[str, int, int], None]
_LINK = "release_private.token"


def withdraw(
    home: Home, person: str, *, today: dt.date | None = None, progress: Progress | None = None
) -> WithdrawSummary:
    """Remove one person from the store, and remember not to take the person in again.

    Parameters
    ----------
    home : Home
        The data home.
    person : str
        Pseudonym.
    today : datetime.date, optional
        Day of the withdrawal; by default the present day.
    progress : Callable, optional
        Called with a label, the steps done and the steps in all.

    Returns
    -------
    WithdrawSummary
        What was removed and what is left to do.

    Raises
    ------
    EvenhandError
        If the store does not know the pseudonym. The message does not repeat it.
    StoreBusy
        If another process has the store.
    """
    with _store(home) as con:
        if person not in persons(con) and not count_values(con, [person], []):
            known = digest(person) in withdrawn(home, con)
            raise EvenhandError(
                "This person was withdrawn before"
                if known
                else "Nobody in the person store has this pseudonym",
                "evenhand withdraw",
                "There is nothing to do."
                if known
                else "Check it with the holder of the key; nothing was removed.",
            )
        return _take_out(home, con, [person], today or dt.date.today(), progress)


def withdraw_again(
    home: Home, *, today: dt.date | None = None, progress: Progress | None = None
) -> WithdrawSummary | None:
    """Remove every withdrawn person who is in the store again, as after a backup was restored.

    Parameters
    ----------
    home : Home
        The data home.
    today : datetime.date, optional
        Day of the removal; by default the present day.
    progress : Callable, optional
        Called with a label, the steps done and the steps in all.

    Returns
    -------
    WithdrawSummary or None
        What was removed; None if nobody had come back.
    """
    with _store(home) as con:
        back = returned(home, con)
        return _take_out(home, con, back, today or dt.date.today(), progress) if back else None


def _store(home: Home) -> AbstractContextManager[duckdb.DuckDBPyConnection]:
    if not home.person_db.exists():
        raise EvenhandError("There is no person store yet", str(home.person_db), "Check --home.", "E_STORE")
    return open_store(home, write=True)


def _take_out(
    home: Home, con: duckdb.DuckDBPyConnection, gone: Sequence[str], today: dt.date, progress: Progress | None
) -> WithdrawSummary:
    tell = progress or (lambda label, done, total: None)
    # The list comes first: killed after this line, the next load or release names what is left to do.
    known = dict.fromkeys(map(digest, gone), today) | withdrawn(home, con)
    remember(home, known)
    unique = sought(persons(con), gone)
    needles = tuple(person.encode() for person in unique)
    counted = count_rows(con, gone)
    loaded = [(name.removeprefix("core."), file, rows) for name, file, rows in counted if file is not None]
    files = file_names(con, gone, unique)
    values = count_values(con, gone, unique)
    with_facts = has_facts(con)
    tell("search", 0, 3)
    seen_before = bool(needles) and holds(home.person_db, needles)

    def finish(fresh: duckdb.DuckDBPyConnection) -> None:
        if with_facts:
            build_facts(fresh, load_settings(home.settings_file))
        for name, file, rows in loaded:
            fresh.execute(
                "insert into core.removal values (?, ?, 'WITHDRAWN', ?, ?)", [file, name, rows, today]
            )
        for code, day in known.items():
            fresh.execute("insert into core.tombstone values (?, ?) on conflict do nothing", [code, day])
        refuse_leftovers(fresh, gone, unique)

    tell("rebuild", 1, 3)
    rebuild(home, con, keeps_without(con, gone, unique), finish, lambda fresh: refuse_bytes(fresh, needles))
    tell("search", 2, 3)
    left = files_holding(home.person_dir, needles)
    everywhere = files_holding(home.root, needles)
    tell("done", 3, 3)
    removed: Counter[str] = Counter()
    for name, _, rows in loaded:
        removed[name] += rows
    return WithdrawSummary(
        persons=len(gone),
        rows=dict(removed),
        values=values,
        link=sum(rows for name, _, rows in counted if name == _LINK),
        files=files,
        seen_before=seen_before,
        left_in=left,
        delivered=tuple(path for path in everywhere if path not in left),
    )
