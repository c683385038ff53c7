"""Workbooks and Parquet files with one oddity each, and what a load must make of them.

A case is a name, a function that writes the file (path, number of the case) and the verdict as in
`dirty_texts`.
"""

import datetime as dt
import zipfile
from collections.abc import Callable
from pathlib import Path

import duckdb
import openpyxl
from openpyxl.comments import Comment

Writer = Callable[[Path, int], None]
HEADER = ["team", "team_name", "cluster", "cluster_name", "site"]
SHEET = "xl/worksheets/sheet1.xml"
ENTITY = b'<!DOCTYPE a [<!ENTITY b "c">]>'
LONG = b"<!--" + b"x" * 9_000 + b"-->"
LAUGHS = (
    b'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;">]>'
)
OUTSIDE = b'<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/hostname">]>'


def book(edit: Callable | None = None, second: list | None = None) -> Writer:
    """Return a writer of a workbook with one good row, perhaps a second one, and an edit."""

    def write(path: Path, number: int) -> None:
        made = openpyxl.Workbook()
        sheet = made.active
        sheet.append(HEADER)
        sheet.append([f"T1-{number}", "Team 1", "C1", "Cluster", "S1"])
        if second is not None:
            sheet.append([f"T2-{number}", *second])
        if edit is not None:
            edit(made, sheet)
        made.save(path)
        made.close()

    return write


def parts(changes: dict[str, bytes | Callable[[bytes], bytes]]) -> Writer:
    """Return a writer of a good workbook with parts of its container replaced or added."""

    def write(path: Path, number: int) -> None:
        book()(path, number)
        with zipfile.ZipFile(path) as packed:
            content = {name: packed.read(name) for name in packed.namelist()}
        for name, new in changes.items():
            content[name] = new(content[name]) if callable(new) else new
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
            for name, data in content.items():
                packed.writestr(name, data)

    return write


def zipped(name: str, data: bytes) -> Writer:
    """Return a writer of a zip file with one member."""

    def write(path: Path, number: int) -> None:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.writestr(name, data)

    return write


def before_sheet(prolog: bytes) -> dict[str, Callable[[bytes], bytes]]:
    """Return the change that puts this in front of the sheet's root element."""
    return {SHEET: lambda data: b'<?xml version="1.0"?>' + prolog + data[data.index(b"<worksheet") :]}


def _utf16(data: bytes) -> bytes:
    root = data[data.index(b"<worksheet") :].decode()
    return f'<?xml version="1.0" encoding="UTF-16"?>{ENTITY.decode()}{root}'.encode("utf-16")


def _wrong_size(path: Path, number: int) -> None:
    book()(path, number)
    data = bytearray(path.read_bytes())
    at = data.rfind(b"PK\x01\x02") + 24
    data[at : at + 4] = (10).to_bytes(4, "little")
    path.write_bytes(data)


def _add_sheet(state: str) -> Callable:
    def edit(made, sheet) -> None:
        made.create_sheet("Notes").sheet_state = state

    return edit


def _title(made, sheet) -> None:
    sheet.insert_rows(1)
    sheet["A1"] = "Teams of 2026"
    sheet.merge_cells("A1:E1")


def _only_chart(made, sheet) -> None:
    made.create_chartsheet("Chart")
    made.remove(sheet)


def _comment(made, sheet) -> None:
    sheet["A2"].comment = Comment("checked", "someone")


def _set(cell: str, value: object) -> Callable:
    def edit(made, sheet) -> None:
        sheet[cell] = value

    return edit


REST = ["b", "C1", "Cluster", "S1"]
BOOKS: list[tuple[str, Writer, str | tuple[str, ...]]] = [
    ("plain", book(), ()),
    ("protected sheet", book(lambda made, sheet: setattr(sheet.protection, "sheet", True)), ()),
    ("hidden column", book(lambda made, sheet: setattr(sheet.column_dimensions["B"], "hidden", True)), ()),
    ("hidden row", book(lambda made, sheet: setattr(sheet.row_dimensions[3], "hidden", True), REST), ()),
    ("comment", book(_comment), ()),
    ("number as a name", book(None, [3.5, "C1", "Cluster", "S1"]), ()),
    ("empty row between", book(lambda made, sheet: sheet.insert_rows(3), REST), ()),
    ("merged cells", book(lambda made, sheet: sheet.merge_cells("E2:E3"), REST), ("E_REQUIRED",)),
    ("formula", book(None, ["=A2", *REST[1:]]), ("E_FORMULA",)),
    ("error value", book(None, ["#REF!", *REST[1:]]), ("E_FORMULA",)),
    ("line end in a cell", book(None, ["a\nb", *REST[1:]]), ("E_CTRL",)),
    ("date as a code", book(None, [*REST[:3], dt.datetime(2026, 3, 2)]), ("E_CODE",)),
    ("merged title", book(_title), "E_SHAPE"),
    ("cell beyond the header", book(_set("G2", "x")), "E_SHAPE"),
    ("hidden sheet", book(_add_sheet("hidden")), "E_XLSX"),
    ("deeply hidden sheet", book(_add_sheet("veryHidden")), "E_XLSX"),
    ("chart only", book(_only_chart), "E_XLSX"),
    ("first row blank", book(lambda made, sheet: sheet.insert_rows(1)), "E_EMPTY"),
    ("entity", parts(before_sheet(ENTITY)), "E_XLSX"),
    ("entity behind a long comment", parts(before_sheet(LONG + ENTITY)), "E_XLSX"),
    ("entity in two-byte text", parts({SHEET: _utf16}), "E_XLSX"),
    ("entities of entities", parts(before_sheet(LONG + LAUGHS)), "E_XLSX"),
    ("entity outside", parts(before_sheet(LONG + OUTSIDE)), "E_XLSX"),
    ("macros", parts({"xl/vbaProject.bin": b"x"}), "E_XLSX"),
    ("controls", parts({"xl/activeX/activeX1.bin": b"x"}), "E_XLSX"),
    ("embedded file", parts({"xl/embeddings/a.bin": b"x"}), "E_XLSX"),
    ("data connection", parts({"xl/connections.xml": b"<x/>"}), "E_XLSX"),
    ("archive inside", parts({"xl/media/a.zip": b"PK"}), "E_XLSX"),
    ("path upwards", parts({"../../evil.xml": b"<x/>"}), "E_XLSX"),
    ("absolute path", parts({"/evil.xml": b"<x/>"}), "E_XLSX"),
    ("no sheets", parts({"xl/workbook.xml": b"<x/>"}), "E_XLSX"),
    ("sheet cut off", parts({SHEET: lambda data: data[:-40]}), "E_XLSX"),
    ("zip bomb", zipped(SHEET, b"0" * 30_000_000), "E_XLSX"),
    ("size that is not true", _wrong_size, "E_XLSX"),
    ("zipped text", zipped("teams.csv", b"team\n"), "E_XLSX"),
    ("text document", zipped("word/document.xml", b"<x/>"), "E_XLSX"),
]  # fmt: skip


def table(site: str = "'S1'", more: str = "", where: str = "") -> Writer:
    """Return a writer of a Parquet file of one row with this SQL for its site."""

    def write(path: Path, number: int) -> None:
        duckdb.execute(
            f"copy (select 'T1-{number}' as team, 'Team 1' as team_name, 'C1' as cluster,"
            f" 'C' as cluster_name, {site} as site{more} {where}) to '{path}' (format parquet)"
        )

    return write


def _cut(path: Path, number: int) -> None:
    table()(path, number)
    path.write_bytes(path.read_bytes()[:-4])


def _encrypted(path: Path, number: int) -> None:
    path.write_bytes(b"PARE" + b"a" * 40 + b"PARE")


TABLES: list[tuple[str, Writer, str | tuple[str, ...]]] = [
    ("plain", table(), ()),
    ("whole number as a code", table("5"), ()),
    ("closed list", table("'S1'::enum('S1')"), ()),
    ("no row", table(where="where false"), ()),
    ("nothing", table("null::varchar"), ("E_REQUIRED",)),
    ("length of time", table("interval 1 day"), ("E_CODE",)),
    ("list", table("['S1']"), "E_SHAPE"),
    ("record", table("{'a': 1}"), "E_SHAPE"),
    ("bytes", table("'S1'::blob"), "E_SHAPE"),
    ("time of day", table("time '08:00'"), "E_SHAPE"),
    ("cut off", _cut, "E_SHAPE"),
    ("column too many", table(more=", 1 as weather"), "E_EXTRA"),
    ("surname", table(more=", 'x' as surname"), "E_PII"),
    ("encrypted", _encrypted, "E_CONTAINER"),
]
