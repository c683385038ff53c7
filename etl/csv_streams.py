"""CSV files on the sending side: read strictly row by row, written whole or not at all.

Refusals name file, column and row, never a value.
"""

import csv
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TextIO

from etl.errors import FileRefused
from etl.pseudonym import PSEUDONYM, has_invisible

_TEXT_SUFFIXES = {".csv", ".tsv", ".txt"}


def refused(what: str, file: Path, remedy: str, code: str = "") -> FileRefused:
    """Return a refusal of a file.

    Parameters
    ----------
    what : str
        What was found.
    file : Path
        Where.
    remedy : str
        What to do.
    code : str, default ""
        Reason code.

    Returns
    -------
    FileRefused
        To be raised.
    """
    return FileRefused(what, str(file), remedy, code)


def refuse_unreadable(file: Path, delimiter: str) -> None:
    """Refuse what is no CSV file by its name, and a delimiter of other than one sign.

    Parameters
    ----------
    file : Path
        File to read.
    delimiter : str
        Sign between cells.

    Raises
    ------
    FileRefused
        In either case.
    """
    if file.suffix.lower() not in _TEXT_SUFFIXES:
        raise refused(
            "Only CSV files are pseudonymised", file, "Save the sheet as CSV and name that.", "E_CONTAINER"
        )
    if len(delimiter) != 1:
        raise refused("The delimiter must be one sign", file, "Name it with --delimiter, such as ';'.")


def refuse_taken(*files: Path) -> None:
    """Refuse to write over files.

    Parameters
    ----------
    *files : Path
        Files to be made.

    Raises
    ------
    FileRefused
        If one exists.
    """
    for taken in files:
        if taken.exists():
            raise refused("The file to write exists already", taken, "Name another one with --to.")


def column_place(header: Sequence[str], name: str, file: Path) -> int:
    """Return where a column stands.

    Parameters
    ----------
    header : sequence of str
        First line of the file.
    name : str
        Header of the column.
    file : Path
        The file, for messages.

    Returns
    -------
    int
        Place from 0.

    Raises
    ------
    FileRefused
        E_HEADER if the header does not stand there exactly once.
    """
    if header.count(name) != 1:
        # The header is not listed: in a file without one it would be a person's row.
        raise refused(
            f"Column {name!r} stands {header.count(name)} times in the header, not once",
            file,
            "Name a header exactly as it is written in the file's first line.",
            "E_HEADER",
        )
    return header.index(name)


def refuse_ragged(row: Sequence[str], header: Sequence[str], number: int, file: Path) -> None:
    """Refuse a row with more or fewer cells than the header.

    Parameters
    ----------
    row, header : sequence of str
        Cells.
    number : int
        Row from 1, without the header.
    file : Path
        The file, for messages.

    Raises
    ------
    FileRefused
        E_SHAPE.
    """
    if len(row) != len(header):
        raise refused(
            f"Row {number} has {len(row)} cells, the header has {len(header)}",
            file,
            "Repair that line.",
            "E_SHAPE",
        )


def refuse_unfit(raw: str, identifier: str, where: str, file: Path) -> None:
    """Refuse an identifier that cannot be given a pseudonym.

    Parameters
    ----------
    raw : str
        The cell.
    identifier : str
        Its normalised form.
    where : str
        Column and row, for messages.
    file : Path
        The file, for messages.

    Raises
    ------
    FileRefused
        E_CTRL if it is a pseudonym already or holds an invisible character.
    """
    if PSEUDONYM.fullmatch(raw.strip()):
        raise refused(f"{where} holds a pseudonym already", file, "Send that file as it is.", "E_CTRL")
    if has_invisible(identifier):
        raise refused(
            f"{where} holds an invisible character", file, "Clean the column and export again.", "E_CTRL"
        )


@contextmanager
def csv_rows(file: Path, encoding: str, delimiter: str) -> Iterator[tuple[Iterator[list[str]], TextIO]]:
    """Open a CSV file strictly; its defects come out as refusals without the line's text.

    Parameters
    ----------
    file : Path
        File to read.
    encoding, delimiter : str
        How it is written.

    Yields
    ------
    tuple
        Rows, the header first, and the open file.

    Raises
    ------
    FileRefused
        If it cannot be read, or is no strict CSV.
    """
    try:
        with file.open("r", encoding=encoding, newline="") as source:
            # A byte order mark would become part of the first header.
            first = source.readline().removeprefix("\ufeff")
            reader = csv.reader(chain([first] if first else [], source), delimiter=delimiter, strict=True)
            yield reader, source
    except OSError as error:
        raise refused(f"The file cannot be used: {error.strerror}", file, "Check the path.") from None
    except UnicodeError:
        raise refused(
            f"The file is not {encoding} text", file, "Name it with --encoding.", "E_ENCODING"
        ) from None
    except LookupError:
        raise refused(
            f"Encoding {encoding!r} is not known", file, "Use utf-8 or cp1252.", "E_ENCODING"
        ) from None
    except csv.Error as error:
        raise refused(f"Not strict CSV: {error}", file, "Export it again as CSV.", "E_SHAPE") from None


@contextmanager
def written_whole(out: Path, encoding: str) -> Iterator[TextIO]:
    """Write beside a file's place; rename when whole, delete when anything went wrong.

    Parameters
    ----------
    out : Path
        File to make, readable by its owner only.
    encoding : str
        Encoding of its text.

    Yields
    ------
    TextIO
        Open for writing.

    Raises
    ------
    FileRefused
        If it cannot be written.
    """
    part = out.with_name(f".{out.name}.part-{os.getpid()}")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding=encoding, newline="") as target:
            yield target
            target.flush()
            os.fsync(target.fileno())
        part.rename(out)
    except OSError as error:
        raise refused(
            f"The file cannot be written: {error.strerror}", out, "Check folder and room."
        ) from None
    finally:
        part.unlink(missing_ok=True)
