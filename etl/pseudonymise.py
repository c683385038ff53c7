"""Rewrite a CSV file for sending: raw identifiers become pseudonyms, and nothing else may identify a person.

The file is streamed row by row. The result is written beside its place and renamed when it is whole, so a
refused file leaves nothing behind. Messages name file, column and row, never a value.
"""

import csv
import os
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import TextIO

from etl.errors import FileRefused
from etl.identifiers import Finding, header_findings, value_kind
from etl.key_mark import key_mark, mark_text
from etl.keys import Key
from etl.pseudonym import PSEUDONYM, has_invisible, normalise, pseudonym

_TEXT_SUFFIXES = {".csv", ".tsv", ".txt"}
# An identifier of fewer signs turns up inside other numbers by chance.
_SHORTEST_COPY = 4
_EVERY = 20_000


@dataclass(frozen=True)
class PseudonymiseSummary:
    """What was written.

    Attributes
    ----------
    out : Path
        The file to send.
    rows, persons, blanks : int
        Data rows, different persons, and identifier cells that were empty and stay empty.
    label, fingerprint : str
        The key used, as far as it may be shown.
    """

    out: Path
    rows: int
    persons: int
    blanks: int
    label: str
    fingerprint: str

    def __str__(self) -> str:
        empty = f", {self.blanks} of the identifier cells empty" if self.blanks else ""
        return (
            f"{self.out}: {self.rows} rows, {self.persons} persons{empty}; "
            f"key {self.label}, fingerprint {self.fingerprint}"
        )


def pseudonymise(
    file: Path,
    columns: Sequence[str],
    key: Key,
    out: Path,
    *,
    delimiter: str = ",",
    encoding: str = "utf-8",
    staff_pattern: re.Pattern[str] | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> PseudonymiseSummary:
    """Write a copy of a CSV file in which the named columns hold pseudonyms.

    Parameters
    ----------
    file : Path
        CSV file with a header.
    columns : Sequence of str
        Headers of the columns that hold raw identifiers, all of the same kind.
    key : Key
        Key of the sending side.
    out : Path
        File to make; its side file names the key by label and fingerprint.
    delimiter, encoding : str
        How the file is written; the copy is written the same way.
    staff_pattern : re.Pattern, optional
        How the institute writes staff numbers; a match in any other column refuses the file.
    progress : Callable, optional
        Called with a label, the bytes read and the bytes in all.

    Returns
    -------
    PseudonymiseSummary
        Counts and the key's fingerprint.

    Raises
    ------
    FileRefused
        If the file is no strict CSV, a named column is missing, `out` exists, or a direct identifier is
        found in another column. Nothing is written then.
    """
    if file.suffix.lower() not in _TEXT_SUFFIXES:
        raise _refused(
            "Only CSV files are pseudonymised", file, "Save the sheet as CSV and name that.", "E_CONTAINER"
        )
    if len(delimiter) != 1:
        raise _refused("The delimiter must be one sign", file, "Name it with --delimiter, such as ';'.")
    for taken in (out, key_mark(out)):
        if taken.exists():
            raise _refused("The file to write exists already", taken, "Name another one with --to.")
    with _source(file, encoding, delimiter) as (rows, source), _beside(out, encoding) as target:
        work = _Work(file, key, columns, staff_pattern, next(rows, None))
        writer = csv.writer(target, delimiter=delimiter, lineterminator="\n")
        whole = file.stat().st_size
        writer.writerow(work.header)
        for row in rows:
            writer.writerow(work.rewritten(row))
            if progress and work.rows % _EVERY == 0:
                progress("pseudonymise", min(source.buffer.tell(), whole), whole)
        work.refuse_copies()
        _write_mark(out, key)
    return PseudonymiseSummary(out, work.rows, len(work.known), work.blanks, key.label, key.fingerprint)


class _Work:
    """One pass over the rows: what is known of persons so far, and what was found."""

    def __init__(
        self,
        file: Path,
        key: Key,
        columns: Sequence[str],
        staff_pattern: re.Pattern[str] | None,
        header: list[str] | None,
    ) -> None:
        if header is None:
            raise _refused("The file is empty", file, "Export it again.", "E_EMPTY")
        self.file, self.key, self.header = file, key, header
        for name in columns:
            if header.count(name) != 1:
                # The header is not listed: in a file without one it would be a person's row.
                raise _refused(
                    f"Column {name!r} stands {header.count(name)} times in the header, not once",
                    file,
                    "Name a header exactly as it is written in the file's first line.",
                    "E_HEADER",
                )
        self.places = [header.index(name) for name in columns]
        self.others = [place for place in range(len(header)) if place not in self.places]
        self.staff_pattern = staff_pattern
        for place in self.others:
            self._refuse_value(header[place], f"number {place + 1}", None)
        for found in header_findings(header[place] for place in self.others):
            raise self._identified(found)
        self.known: dict[str, str] = {}
        self.rows = self.blanks = self.comparable = 0
        self.copies: Counter[int] = Counter()

    def rewritten(self, row: list[str]) -> list[str]:
        """Return the row with pseudonyms, after looking at its other cells."""
        self.rows += 1
        if len(row) != len(self.header):
            raise _refused(
                f"Row {self.rows} has {len(row)} cells, the header has {len(self.header)}",
                self.file,
                "Repair that line.",
                "E_SHAPE",
            )
        plain = [normalise(row[place]) for place in self.places]
        for place in self.others:
            self._refuse_value(row[place], self.header[place], self.rows)
        self._count_copies(row, plain)
        for place, identifier in zip(self.places, plain, strict=True):
            row[place] = self._pseudonym(place, row[place], identifier)
        return row

    def refuse_copies(self) -> None:
        """Refuse a column that repeats the identifier in more than half of the rows, under any header."""
        for place in self.others:
            if self.copies[place] * 2 > self.comparable:
                raise self._identified(Finding(self.header[place], "copy of the identifier", None))

    def _refuse_value(self, value: str, column: str, row: int | None) -> None:
        kind = value_kind(value, self.staff_pattern)
        if kind is not None:
            raise self._identified(Finding(column, kind, row))

    def _count_copies(self, row: list[str], plain: list[str]) -> None:
        long = [identifier for identifier in plain if len(identifier) >= _SHORTEST_COPY]
        if long:
            self.comparable += 1
            for place in self.others:
                cell = row[place].upper()
                self.copies[place] += any(identifier in cell for identifier in long)

    def _pseudonym(self, place: int, raw: str, identifier: str) -> str:
        if not identifier:
            self.blanks += 1
            return ""
        if identifier not in self.known:
            if PSEUDONYM.fullmatch(raw.strip()):
                raise self._unfit(place, "holds a pseudonym already", "Send that file as it is.")
            if has_invisible(identifier):
                raise self._unfit(place, "holds an invisible character", "Clean the column and export again.")
            self.known[identifier] = pseudonym(self.key, identifier)
        return self.known[identifier]

    def _unfit(self, place: int, what: str, remedy: str) -> FileRefused:
        return _refused(f"Column {self.header[place]!r}, row {self.rows} {what}", self.file, remedy, "E_CTRL")

    def _identified(self, found: Finding) -> FileRefused:
        remedy = "Leave that column out, or name it with --column if it holds the identifier."
        return _refused(f"A direct identifier: {found}", self.file, remedy, "E_PII")


def _refused(what: str, file: Path, remedy: str, code: str = "") -> FileRefused:
    return FileRefused(what, str(file), remedy, code)


@contextmanager
def _source(file: Path, encoding: str, delimiter: str) -> Iterator[tuple[Iterator[list[str]], TextIO]]:
    """Open a CSV file strictly; its defects come out as refusals without the line's text."""
    try:
        with file.open("r", encoding=encoding, newline="") as source:
            # A byte order mark would become part of the first header.
            first = source.readline().removeprefix("\ufeff")
            reader = csv.reader(chain([first] if first else [], source), delimiter=delimiter, strict=True)
            yield reader, source
    except OSError as error:
        raise _refused(f"The file cannot be used: {error.strerror}", file, "Check the path.") from None
    except UnicodeError:
        raise _refused(
            f"The file is not {encoding} text", file, "Name it with --encoding.", "E_ENCODING"
        ) from None
    except LookupError:
        raise _refused(
            f"Encoding {encoding!r} is not known", file, "Use utf-8 or cp1252.", "E_ENCODING"
        ) from None
    except csv.Error as error:
        raise _refused(f"Not strict CSV: {error}", file, "Export it again as CSV.", "E_SHAPE") from None


@contextmanager
def _beside(out: Path, encoding: str) -> Iterator[TextIO]:
    """Write beside `out`; rename when whole, delete when anything went wrong."""
    part = out.with_name(f".{out.name}.part-{os.getpid()}")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding=encoding, newline="") as target:
            yield target
            target.flush()
            os.fsync(target.fileno())
        part.rename(out)
    except OSError as error:
        raise _refused(
            f"The file cannot be written: {error.strerror}", out, "Check folder and room."
        ) from None
    finally:
        part.unlink(missing_ok=True)


def _write_mark(out: Path, key: Key) -> None:
    """Write the side file last but before the rename: a file never stands there without it."""
    with _beside(key_mark(out), "utf-8") as mark:
        mark.write(mark_text(key))
