"""The one read door: hardened, read-only access to the newest published edition."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb

from etl.errors import EvenhandError
from etl.home import Home
from etl.release_chain import tables_of
from etl.release_schema import known_tables, with_known_columns

if TYPE_CHECKING:
    import pandas as pd

_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
    "lock_configuration": "true",
    "memory_limit": "512MB",
    "threads": "2",
    "python_enable_replacements": "false",
}


@dataclass(frozen=True)
class EditionRecord:
    """What identifies an edition.

    Attributes
    ----------
    edition : int
        Number, from 1.
    period : str
        Month it was made for.
    created_at : datetime
        When it was made, UTC.
    previous_hash, content_hash : str
        Links of the hash chain.
    rules : str
        Thresholds in force, as text.
    tool_version : str
        Version of this program.
    note : str
        Remark of whoever made it, empty if none.
    """

    edition: int
    period: str
    created_at: datetime
    previous_hash: str
    content_hash: str
    rules: str
    tool_version: str
    note: str


class PinnedRelease:
    """One opened edition; all its tables belong together.

    Parameters
    ----------
    path : Path
        The release file itself, not a link to it.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._con = duckdb.connect(str(path), read_only=True, config=_CONFIG)
        try:
            self._tables = tables_of(self._con)
            self._editions = self._read_editions()
        except BaseException:
            self._con.close()
            raise

    def _read_editions(self) -> tuple[EditionRecord, ...]:
        rows = self._con.execute(
            "select edition, period, created_at, previous_hash, content_hash, rules, tool_version, "
            "coalesce(note, '') from edition order by edition"
        ).fetchall()
        if not rows:
            raise EvenhandError("The release holds no edition", str(self.path), "Run 'evenhand release'.")
        return tuple(EditionRecord(*row) for row in rows)

    def edition(self) -> EditionRecord:
        """Return the newest edition."""
        return self._editions[-1]

    def editions(self) -> tuple[EditionRecord, ...]:
        """Return all editions, oldest first."""
        return self._editions

    def tables(self) -> tuple[str, ...]:
        """Return the names of the release tables."""
        return tuple(self._tables)

    def table(self, name: str, **equals: Any) -> "pd.DataFrame":
        """Return rows of one table as a frame of its own.

        Parameters
        ----------
        name : str
            A release table.
        **equals : object
            Column values a row must have; None selects rows where the column is empty.

        Returns
        -------
        pandas.DataFrame
            A copy, in a fixed order.

        Raises
        ------
        EvenhandError
            If there is no such table or column, or the file can no longer be read.
        """
        columns = self._tables.get(name)
        # What this program knows and an older release lacks reads as empty, so that it still opens.
        if columns is None and name in known_tables():
            return known_tables()[name].copy()
        if columns is None:
            raise EvenhandError(
                f"No table '{name}'", self.path.name, f"There are: {', '.join(self._tables)}."
            )
        unknown = [column for column in equals if column not in columns]
        if unknown:
            raise EvenhandError(f"No column '{unknown[0]}'", name, f"There are: {', '.join(columns)}.")
        # Names come from the file's own catalogue, values are bound: nothing typed by a reader is SQL.
        where = " and ".join(f'"{column}" is not distinct from ?' for column in equals) or "true"
        try:
            with self._con.cursor() as cursor:
                rows = cursor.execute(
                    f'select * from "{name}" where {where} order by all', list(equals.values())
                ).df()
        except duckdb.Error as error:
            raise EvenhandError(
                f"The release can no longer be read: {str(error).splitlines()[0]}",
                self.path.name,
                "Check the file with 'evenhand release verify', put a sound copy in its place, open it anew.",
            ) from error
        return with_known_columns(rows, name)

    def close(self) -> None:
        """Close the file."""
        self._con.close()


class ReleaseDoor:
    """Reads the newest edition, and changes over when a newer one is published.

    Parameters
    ----------
    link : Path
        Symbolic link to the newest edition, or a release file.

    Notes
    -----
    If the newest edition cannot be opened, the last good one is served further and `notice` says so.
    """

    def __init__(self, link: Path) -> None:
        self._link = link
        self._lock = threading.Lock()
        self._pinned: PinnedRelease | None = None
        self._failed: Path | None = None
        self.notice = ""
        self.pin()

    def pin(self) -> PinnedRelease:
        """Return the newest edition that can be read, opened once.

        Returns
        -------
        PinnedRelease
            Its tables belong together, whatever is published meanwhile.

        Raises
        ------
        EvenhandError
            If nothing was ever published, or the only edition cannot be opened.
        """
        with self._lock:
            target = self._link.resolve()
            current = self._pinned
            if current is not None and current.path == target:
                self.notice, self._failed = "", None
                return current
            if current is not None and self._failed == target:
                return current
            try:
                fresh = PinnedRelease(target)
            except (duckdb.Error, OSError, EvenhandError) as error:
                return self._stay(target, error)
            # Readers that hold the old edition keep it: its file is another one, and stays readable
            # through their handle after its name is gone.
            self._pinned, self.notice, self._failed = fresh, "", None
            return fresh

    def _stay(self, target: Path, error: Exception) -> PinnedRelease:
        if self._pinned is None:
            if not target.exists():
                raise EvenhandError(
                    "Nothing is published yet", str(self._link), "Run 'evenhand release --period YYYY-MM'."
                ) from error
            raise EvenhandError(
                f"The release cannot be opened: {str(error).splitlines()[0]}",
                str(target),
                "Run 'evenhand release verify'.",
            ) from error
        self._failed = target
        shown = f"shown is edition {self._pinned.edition().edition} of {self._pinned.edition().period}"
        self.notice = (
            f"A newer edition ({target.name}) cannot be opened; {shown}."
            if target.exists()
            else f"The published release is no longer in its place; {shown}, as it was opened."
        )
        return self._pinned

    def edition(self) -> EditionRecord:
        """Return the newest edition."""
        return self.pin().edition()

    def editions(self) -> tuple[EditionRecord, ...]:
        """Return all editions, oldest first."""
        return self.pin().editions()

    def tables(self) -> tuple[str, ...]:
        """Return the names of the release tables."""
        return self.pin().tables()

    def table(self, name: str, **equals: Any) -> "pd.DataFrame":
        """Return rows of one table of the newest edition; see :meth:`PinnedRelease.table`."""
        return self.pin().table(name, **equals)

    def close(self) -> None:
        """Close the edition that is open."""
        with self._lock:
            if self._pinned is not None:
                self._pinned.close()
                self._pinned = None


def open_release(place: Home | Path | str) -> ReleaseDoor:
    """Open the read door of a data home or of one release file.

    Parameters
    ----------
    place : Home, Path or str
        Data home, or path of a release file.

    Returns
    -------
    ReleaseDoor
        The door.

    Raises
    ------
    EvenhandError
        If nothing is published there.
    """
    return ReleaseDoor(place.current_release if isinstance(place, Home) else Path(place))


@contextmanager
def pinned(place: Home | Path | str) -> Iterator[PinnedRelease]:
    """Open the newest edition for a block, and close it afterwards.

    Parameters
    ----------
    place : Home, Path or str
        Data home, or path of a release file.

    Yields
    ------
    PinnedRelease
        The edition.
    """
    door = open_release(place)
    try:
        yield door.pin()
    finally:
        door.close()
