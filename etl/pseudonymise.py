"""Rewrite a CSV file for sending: raw identifiers become pseudonyms, and nothing else may identify a person.

The file is streamed row by row. The result is written beside its place and renamed when it is whole, so a
refused file leaves nothing behind. Messages name file, column and row, never a value.
"""

import csv
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from etl.csv_streams import (
    column_place,
    csv_rows,
    refuse_ragged,
    refuse_taken,
    refuse_unfit,
    refuse_unreadable,
    refused,
    written_whole,
)
from etl.errors import FileRefused
from etl.identifiers import Finding, header_findings, value_kind
from etl.key_mark import key_mark, mark_text
from etl.keys import Key
from etl.pseudonym import normalise, pseudonym

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
    refuse_unreadable(file, delimiter)
    refuse_taken(out, key_mark(out))
    with csv_rows(file, encoding, delimiter) as (rows, source), written_whole(out, encoding) as target:
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
            raise refused("The file is empty", file, "Export it again.", "E_EMPTY")
        self.file, self.key, self.header = file, key, header
        self.places = [column_place(header, name, file) for name in columns]
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
        refuse_ragged(row, self.header, self.rows, self.file)
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
            refuse_unfit(raw, identifier, f"Column {self.header[place]!r}, row {self.rows}", self.file)
            self.known[identifier] = pseudonym(self.key, identifier)
        return self.known[identifier]

    def _identified(self, found: Finding) -> FileRefused:
        remedy = "Leave that column out, or name it with --column if it holds the identifier."
        return refused(f"A direct identifier: {found}", self.file, remedy, "E_PII")


def _write_mark(out: Path, key: Key) -> None:
    """Write the side file last but before the rename: a file never stands there without it."""
    with written_whole(key_mark(out), "utf-8") as mark:
        mark.write(mark_text(key))
