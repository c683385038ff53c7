"""Read one sheet of an Excel workbook as text, after looking at the container itself."""

import datetime as dt
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import ParseError

import openpyxl
import pyarrow as pa
from defusedxml.common import DefusedXmlException
from openpyxl.utils.exceptions import InvalidFileException

from etl.filechecks import MAX_COLUMNS, refuse

# What zip, XML and openpyxl raise on bytes that are no workbook, found by flipping bytes of good ones.
_UNREADABLE = (
    zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, OSError, ValueError,
    InvalidFileException, DefusedXmlException, ParseError, KeyError, TypeError, AttributeError, IndexError,
    OverflowError,
)  # fmt: skip
MAX_UNPACKED = 200 << 20
MAX_RATIO = 100
MAX_ROWS = 1_048_576
_UNWANTED = {
    "vbaproject": "macros", "externallinks": "links to other files", "embeddings": "embedded objects",
    "activex": "controls", "connections.xml": "data connections",
}  # fmt: skip
_PACKED = (".zip", ".gz", ".7z", ".tar", ".exe", ".xlsx", ".xlsm", ".docx", ".csv")


@dataclass(frozen=True)
class Sheet:
    """A sheet as text.

    Attributes
    ----------
    header : tuple of str
        First row, trimmed.
    rows : pyarrow.Table
        Text columns ``c0 ...`` and ``rn``, the row number of the sheet.
    """

    header: tuple[str, ...]
    rows: pa.Table


def _check_zip(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as packed:
            entries = packed.infolist()
            unpacked = sum(entry.file_size for entry in entries)
            names = [entry.filename.lower() for entry in entries]
            if any(entry.flag_bits & 1 for entry in entries):
                raise refuse("E_XLSX", "The workbook is encrypted", path, "Save it without a password.")
            # The directory is only the sender's word, but a lie about a size fails the read below.
            if unpacked > MAX_UNPACKED or unpacked > MAX_RATIO * max(path.stat().st_size, 1):
                raise refuse(
                    "E_XLSX", f"The workbook unpacks to {unpacked:,} bytes", path, "Export the sheet as CSV."
                )  # fmt: skip
            for name in names:
                if name.startswith("/") or ".." in name.split("/") or name.endswith(_PACKED):
                    raise refuse(
                        "E_XLSX", "The workbook has files packed inside", path, "Save one plain sheet."
                    )
                for part, what in _UNWANTED.items():
                    if part in name:
                        raise refuse("E_XLSX", f"The workbook has {what}", path, "Save one plain sheet.")
            for entry in entries:
                with packed.open(entry) as handle:
                    if b"<!DOCTYPE" in handle.read(4096):
                        raise refuse("E_XLSX", "The workbook declares entities", path, "Save it again.")
    except _UNREADABLE as error:
        raise refuse("E_XLSX", "The workbook cannot be unpacked", path, "Save it again as .xlsx.") from error


def _as_text(value: object, decimal: str) -> str | None:
    if value is None:
        return None
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        text = str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        return text.replace(".", decimal)
    if isinstance(value, dt.datetime):
        # A spreadsheet keeps days as floating point; the last digits of a second are rounding noise.
        return (value + dt.timedelta(microseconds=500)).strftime("%Y-%m-%d %H:%M:%S")
    return str(value)


def read_sheet(path: Path, sheet: str | None, decimal: str) -> Sheet:
    """Read one sheet as text.

    Formulas come as their text, so that they are set aside instead of trusting a stored result. Typed
    numbers are written with the profile's decimal sign, typed dates as ISO 8601.

    Parameters
    ----------
    path : Path
        The workbook.
    sheet : str or None
        Sheet name; None where the workbook has a single one.
    decimal : str
        The profile's decimal sign.

    Returns
    -------
    Sheet
        Header and rows.

    Raises
    ------
    FileRefused
        E_XLSX, E_HEADER, E_EMPTY or E_SIZE.
    """
    _check_zip(path)
    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=False, keep_links=False)
    except _UNREADABLE as error:
        raise refuse("E_XLSX", "Not a workbook that can be read", path, "Save it again as .xlsx.") from error
    try:
        names = book.sheetnames
        if sheet is None and len(names) != 1:
            raise refuse("E_XLSX", f"The workbook has {len(names)} sheets", path, "Name one in the profile.")
        if sheet is not None and sheet not in names:
            raise refuse("E_HEADER", f"There is no sheet {sheet!r}", path, "Correct the profile.")
        lines = book[sheet or names[0]].iter_rows(values_only=True, max_col=MAX_COLUMNS + 1)
        return _collect(path, lines, decimal)
    except (
        DefusedXmlException,
        ParseError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        EOFError,
    ) as error:
        raise refuse("E_XLSX", "The sheet cannot be read", path, "Save it again as .xlsx.") from error
    finally:
        book.close()


def _collect(path: Path, lines, decimal: str) -> Sheet:
    first = next(lines, ())
    header = [str(cell).strip() if cell is not None else "" for cell in first]
    while header and not header[-1]:
        header.pop()
    if not header:
        raise refuse("E_EMPTY", "The first row is blank", path, "Export a header row.")
    columns: list[list[str | None]] = [[] for _ in header]
    numbers: list[int] = []
    for number, line in enumerate(lines, start=2):
        if all(cell is None for cell in line):
            continue
        if number > MAX_ROWS:
            raise refuse("E_SIZE", f"The sheet has over {MAX_ROWS:,} rows", path, "Export it as CSV.")
        if any(cell is not None for cell in line[len(header) :]):
            raise refuse("E_SHAPE", f"Row {number} has cells beyond the header", path, "Repair that row.")
        numbers.append(number)
        for i, column in enumerate(columns):
            column.append(_as_text(line[i] if i < len(line) else None, decimal))
    named = {f"c{i}": pa.array(column, pa.string()) for i, column in enumerate(columns)}
    return Sheet(tuple(header), pa.table({"rn": pa.array(numbers, pa.int64()), **named}))
