"""How files reach the disk: CSV in a site's dialect, Parquet, XLSX, and two files that must be refused."""

import datetime as dt
import io
import re
import zipfile
from pathlib import Path

import openpyxl
import pyarrow as pa
import pyarrow.csv as pacsv
import pyarrow.parquet as pq

from demo_data.sheets import Sheet

# Workbooks carry the time of writing in two places; the demo must come out the same each time.
_MOMENT = "2026-11-02T06:00:00Z"
_ZIP_MOMENT = (2026, 11, 2, 6, 0, 0)
_STAMP = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(<)")


def _write_csv(table: pa.Table, path: Path, delimiter: str, bom: bool) -> None:
    options = pacsv.WriteOptions(delimiter=delimiter, quoting_style="needed")
    with path.open("wb") as out:
        if bom:
            out.write(b"\xef\xbb\xbf")
        pacsv.write_csv(table, out, options)


def _cell(text: str | None) -> str | int | float | None:
    if text is None or not re.fullmatch(r"-?\d{1,9}(\.\d+)?", text):
        return text
    return float(text) if "." in text else int(text)


def _write_xlsx(table: pa.Table, path: Path) -> None:
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Survey")
    page.append(table.column_names)
    for row in zip(*(column.to_pylist() for column in table.columns), strict=True):
        page.append([_cell(text) for text in row])
    book.properties.creator = "Fernhollow Institute"
    book.properties.created = dt.datetime(2026, 11, 2, 6)
    raw = io.BytesIO()
    book.save(raw)
    with zipfile.ZipFile(raw) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = _STAMP.sub(rb"\g<1>" + _MOMENT.encode() + rb"\g<2>", content)
            new.writestr(zipfile.ZipInfo(name, _ZIP_MOMENT), content, zipfile.ZIP_DEFLATED)


def write_sheet(sheet: Sheet, table: pa.Table, out: Path) -> Path:
    """Write one sheet below the output folder, in its site's own folder.

    Parameters
    ----------
    sheet : Sheet
        Name, site and dialect.
    table : pyarrow.Table
        Text cells, clean and planted.
    out : Path
        Output folder.

    Returns
    -------
    Path
        The file written.
    """
    path = out / sheet.site.lower() / sheet.name
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.suffix == ".parquet":
        pq.write_table(table, path, compression="zstd")
    elif path.suffix == ".xlsx":
        _write_xlsx(table, path)
    else:
        # One register comes with a byte order mark, as office programs write it.
        _write_csv(table, path, sheet.dialect.delimiter, bom=sheet.name == "north_people.csv")
    return path


def write_refused(sheet: Sheet, out: Path) -> tuple[Path, Path]:
    """Write two files that a loader must refuse whole: a binary one named .csv, and one column missing.

    Parameters
    ----------
    sheet : Sheet
        A clean sheet of bouts whose first rows are used.
    out : Path
        Output folder.

    Returns
    -------
    tuple of Path
        The binary file and the file without its end column.
    """
    folder = out / "refused"
    folder.mkdir(parents=True, exist_ok=True)
    head = sheet.table.slice(0, 40)
    binary = folder / "north_bouts_binary.csv"
    pq.write_table(head, binary)
    lacking = folder / "north_bouts_no_end.csv"
    _write_csv(head.drop_columns([sheet.column("end")]), lacking, sheet.dialect.delimiter, bom=False)
    return binary, lacking
