"""Rows with more columns than the header, found before the engine reads a text file.

The engine drops empty cells beyond the header. Where the last columns are often empty, a comma too many in a
cell then moves all values behind it by one column, and nobody hears of it.
"""

import csv
from contextlib import suppress
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from etl.filechecks import refuse

_CHUNK = 16 << 20
_QUOTE, _LF, _CR = 34, 10, 13


def refuse_long_rows(path: Path, shown: Path, delimiter: str, columns: int) -> None:
    """Refuse a text file in which a row has more columns than the header.

    Parameters
    ----------
    path : Path
        UTF-8 text.
    shown : Path
        The file as the user knows it, for messages.
    delimiter : str
        One ASCII sign.
    columns : int
        Columns of the header.

    Raises
    ------
    FileRefused
        E_SHAPE with the line.
    """
    # The fast pass takes quotes for what RFC 4180 says they are. Only where it finds a long row, or a quote
    # that opens inside a cell, does the exact and slow one decide.
    if not _suspicious(path, ord(delimiter), columns):
        return
    with path.open(encoding="utf-8-sig", newline="") as handle:
        reader = csv.reader(_without_nul(handle), delimiter=delimiter)
        # A cell too long for this reader is refused by the next one.
        found = 0
        with suppress(csv.Error):
            found = next((len(cells) for cells in reader if len(cells) > columns), 0)
    if found:
        what = f"Line {reader.line_num} has {found} columns, the header {columns}"
        raise refuse("E_SHAPE", what, shown, "Repair the export; nothing of it was loaded.")


def _without_nul(lines):
    """Yield lines without zero bytes, at which the reader of Python 3.11 stops."""
    return (line.replace("\0", " ") for line in lines)


def _suspicious(path: Path, delimiter: int, columns: int) -> bool:
    inside, before, separator = False, 0, 0
    last = _LF
    with path.open("rb") as handle:
        while chunk := handle.read(_CHUNK):
            text = np.frombuffer(chunk, np.uint8)
            if not separator:
                separator = _LF if _LF in chunk else _CR
            delimits, ends = text == delimiter, text == separator
            if inside or _QUOTE in chunk:
                quoted = np.logical_xor.accumulate(text == _QUOTE) ^ inside
                if _opens_inside(text, quoted, inside, last, delimiter):
                    return True
                delimits, ends = delimits & ~quoted, ends & ~quoted
                inside = bool(quoted[-1])
            counts, before = _per_row(delimits, ends, before)
            if (counts.size and counts.max() >= columns) or before >= columns:
                return True
            last = int(text[-1])
    return False


def _opens_inside(
    text: NDArray[np.uint8], quoted: NDArray[np.bool_], inside: bool, last: int, delimiter: int
) -> bool:
    """Tell whether a quote opens elsewhere than at the start of a cell or right after a closing quote."""
    previous = np.concatenate(([last], text[:-1]))
    was = np.concatenate(([inside], quoted[:-1]))
    before = previous[quoted & ~was]
    return bool(np.any(~np.isin(before, (delimiter, _LF, _CR, _QUOTE, 0xBF))))


def _per_row(
    delimits: NDArray[np.bool_], ends: NDArray[np.bool_], before: int
) -> tuple[NDArray[np.intp], int]:
    """Count delimiters of each row that ends in a chunk, and of the row that goes on in the next one."""
    places, rows = np.flatnonzero(delimits), np.flatnonzero(ends)
    up_to = np.searchsorted(places, rows)
    if not rows.size:
        return np.empty(0, np.intp), before + places.size
    counts = np.diff(up_to, prepend=0)
    counts[0] += before
    return counts, int(places.size - up_to[-1])
