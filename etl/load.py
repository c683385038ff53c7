"""Load files into the person store: every row accepted or set aside, one file one transaction."""

import datetime as dt
import os
import shutil
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from etl.checks import check_rows, list_issues
from etl.columns import Context
from etl.commit import commit_file
from etl.contracts import LOAD_ORDER
from etl.duplicates import find_duplicates
from etl.errors import EvenhandError, FileRefused
from etl.filechecks import check_container, hash_file, refuse
from etl.filerules import columns_of, refuse_by_share, suggestions
from etl.holds import CONFIRMATIONS, hold_scale, hold_units
from etl.home import Home
from etl.key_mark import check_key_fingerprint, check_key_label, record_key
from etl.late import Published, find_late, read_published
from etl.person_times import find_impossible_times
from etl.profile import Profile, load_profile
from etl.readers import disk_full, no_space, open_relation, reading_error
from etl.reasons import REASON_CODES
from etl.series_hold import hold_series
from etl.staging import stage
from etl.store import open_store, scratch_dir
from etl.summary import FileRecord, LoadSummary, ReasonCount
from etl.tombstones import recall

Progress = Callable[[str, int, int], None]
# Staging, the write-ahead log and the checkpoint each hold the new rows once.
DISK_FACTOR = 3
_TEMPORARY = (
    "raw", "wide", "sheet", "typed", "bad", "issues", "repeated", "seen", "contested", "busy_day",
    "overfull_now", "blocked_day", "file_spell", "later_spell", "counted_answer",
)  # fmt: skip


@dataclass(frozen=True)
class _Run:
    """What all files of one call share."""

    home: Home
    profile: Profile
    now: dt.datetime
    confirmed: Collection[str]
    published: Published


def _plan(
    files: Sequence[Path], profile: Profile, where: Path, only: str | None
) -> tuple[list[tuple[Path, str]], list[FileRecord]]:
    """Pair files with the sources they feed, in load order; list the files that feed none."""
    if only is not None and only not in profile.sources:
        raise EvenhandError(
            f"The profile has no source {only!r}", str(where), f"Name one of {', '.join(profile.sources)}.",
            "E_PROFILE",
        )  # fmt: skip
    pairs: list[tuple[Path, str]] = []
    lost: list[FileRecord] = []
    for path in dict.fromkeys(files):
        found = profile.sources_for(path.name, only)
        pairs += [(path, name) for name in found]
        if not found:
            error = refuse(
                "E_NOSOURCE", f"No source of profile {profile.profile} matches this name", path,
                f"Name its source, one of {', '.join(profile.sources)}.",
            )  # fmt: skip
            lost.append(_refused(path, "", "", error))
    order = {name: i for i, name in enumerate(LOAD_ORDER)}
    pairs.sort(key=lambda pair: (order[profile.sources[pair[1]].contract], pair[0].name, pair[1]))
    return pairs, lost


def _refused(path: Path, source: str, contract: str, error: FileRefused) -> FileRecord:
    return FileRecord(path.name, source, contract, "refused", message=str(error), code=error.code)


def check_disk(home: Home, path: Path) -> None:
    """Refuse a file for which the disk has too little room.

    Parameters
    ----------
    home : Home
        The data home.
    path : Path
        The file to load.

    Raises
    ------
    FileRefused
        E_DISK where less than three times the store and the file is free.
    """
    store = home.person_db.stat().st_size if home.person_db.exists() else 0
    needed = DISK_FACTOR * (store + path.stat().st_size)
    free = shutil.disk_usage(home.person_dir).free
    if free < needed:
        raise refuse(
            "E_DISK", f"{free / 1e6:,.0f} MB are free where {needed / 1e6:,.0f} MB are needed", path,
            f"Make room on the disk that holds {home.person_dir}.",
        )  # fmt: skip


def _load_one(con: duckdb.DuckDBPyConnection, run: _Run, path: Path, name: str) -> FileRecord:
    home, profile, now = run.home, run.profile, run.now
    source, way = profile.sources[name], profile.conventions(name)
    check_container(path)
    sha256 = hash_file(path)
    known = con.execute(
        "select 1 from core.file_ledger where file_sha256 = ? and contract = ?", [sha256, source.contract]
    ).fetchone()
    if known:
        return FileRecord(path.name, name, source.contract, "already loaded", code="D_FILE")
    check_disk(home, path)
    check_key_fingerprint(con, path)
    gone = con.execute("select digest from core.tombstone").fetchall()
    context = Context(path, profile, source, way, now, frozenset(code for (code,) in gone))
    staged = stage(con, path, source, way, open_relation(con, path, source, way, scratch_dir(home)))
    if "person" in staged.fields:
        check_key_label(con, path)
    findings = check_rows(con, staged, context)
    list_issues(con, staged, context)
    refuse_by_share(con, staged.rows, findings, path)
    find_duplicates(con, staged, path)
    find_impossible_times(con, staged, way.time_zone, path)
    notes = find_late(con, staged, way.time_zone, run.published)
    notes += hold_units(con, staged, run.confirmed, path)
    notes += hold_scale(con, staged, run.confirmed, path)
    notes += hold_series(con, staged, run.confirmed, path)
    accepted, aside = commit_file(
        con, staged, way.time_zone, (name, profile.profile, path.name, sha256), notes,
        lambda: record_key(con, path, now.date()),
    )  # fmt: skip
    reasons = tuple(
        ReasonCount(REASON_CODES[int(code)], str(column), int(rows)) for code, column, rows in columns_of(con)
    )
    return FileRecord(
        path.name,
        name,
        source.contract,
        "loaded",
        staged.rows,
        accepted,
        aside,
        reasons,
        suggestions(findings),
        tuple(ReasonCount(*note) for note in notes),
    )


def _load_safely(con: duckdb.DuckDBPyConnection, run: _Run, path: Path, name: str) -> FileRecord:
    """Load one file; what is wrong with the file becomes a record, so that the others still load."""
    started = time.perf_counter()
    contract = run.profile.sources[name].contract
    try:
        record = _load_one(con, run, path, name)
    except FileRefused as error:
        record = _refused(path, name, contract, error)
    except duckdb.Error as error:
        if isinstance(error, duckdb.BinderException | duckdb.ParserException | duckdb.CatalogException):
            raise
        record = _refused(path, name, contract, reading_error(error, path))
    except OSError as error:
        refusal = disk_full(path) if no_space(error) else refuse(
            "E_NOFILE", f"The file cannot be read: {error.strerror}", path,
            "Check the path and its permissions.",
        )  # fmt: skip
        record = _refused(path, name, contract, refusal)
    finally:
        for table in _TEMPORARY:
            con.execute(f"drop table if exists temp.{table}")
    return replace(record, seconds=time.perf_counter() - started)


@contextmanager
def _target(home: Home, *, dry_run: bool) -> Iterator[tuple[duckdb.DuckDBPyConnection, Home]]:
    """Open the store, or for a dry run a copy that is deleted afterwards.

    A copy, not a long transaction: each file must see the rows of the files before it, and the engine
    gives up a whole transaction at the first unreadable file.
    """
    with open_store(home, write=True) as con:
        if not dry_run:
            yield con, home
            return
        con.execute("checkpoint store")
        con.execute("use memory")
        con.execute("detach store")
        trial = Home(scratch_dir(home) / f"trial-{os.getpid()}")
        trial.person_dir.mkdir(parents=True, mode=0o700)
        try:
            shutil.copyfile(home.person_db, trial.person_db)
            with open_store(trial, write=True) as copy:
                yield copy, trial
        finally:
            shutil.rmtree(trial.root)


def load_files(
    home: Home,
    files: Sequence[Path],
    profile: Path,
    *,
    source: str | None = None,
    dry_run: bool = False,
    confirmed: Collection[str] = (),
    progress: Progress | None = None,
    now: dt.datetime | None = None,
) -> LoadSummary:
    """Load files through a profile; registers first, so that one call may hold everything.

    Each file is one transaction with its ledger row. A file that is refused leaves nothing behind and
    does not keep the others from loading. The same content a second time changes nothing.

    Parameters
    ----------
    home : Home
        The data home; made where missing.
    files : sequence of Path
        CSV, Parquet or Excel files, in any order.
    profile : Path
        The site's profile.
    source : str or None
        Source of the profile that all files feed; None to match file names.
    dry_run : bool
        Check everything and keep nothing.
    confirmed : collection of str
        ``units``, ``scale`` or ``series``: what a person has looked at and found right, though it looks
        wrong.
    progress : callable or None
        Called with a file's name, how many are done and how many there are.
    now : datetime.datetime or None
        Present time with zone; later instants are set aside. None means the clock's.

    Returns
    -------
    LoadSummary
        One record a file and source.

    Raises
    ------
    EvenhandError
        If the profile or the store cannot be used.
    StoreBusy
        If another process has the store.
    """
    unknown = sorted(set(confirmed) - set(CONFIRMATIONS))
    if unknown:
        raise EvenhandError(
            f"{unknown[0]!r} cannot be confirmed", "confirmed", "Name units, scale or series."
        )
    read = load_profile(profile)
    pairs, records = _plan([Path(one) for one in files], read, profile, source)
    present = now or dt.datetime.now(dt.UTC)
    try:
        with _target(home, dry_run=dry_run) as (con, target):
            recall(home, con)
            run = _Run(target, read, present, frozenset(confirmed), read_published(home, con))
            for done, (path, name) in enumerate(pairs):
                if progress is not None:
                    progress(path.name, done, len(pairs))
                records.append(_load_safely(con, run, path, name))
    except (OSError, duckdb.IOException) as error:
        code = "E_DISK" if no_space(error) else "E_STORE"
        said = (
            "The disk is full"
            if code == "E_DISK"
            else f"The store cannot be used: {str(error).splitlines()[0]}"
        )
        raise EvenhandError(
            said, str(home.person_dir), "Make room or correct the permissions.", code
        ) from error
    if progress is not None:
        progress("", len(pairs), len(pairs))
    if dry_run:
        records = [replace(one, outcome="would load") if one.outcome == "loaded" else one for one in records]
    return LoadSummary(tuple(records), dry_run)
