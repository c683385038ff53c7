"""Turn a file into an all-text relation: nothing is guessed, nothing is dropped, rows keep their number.

Every reader returns a `Relation`: SQL that yields columns ``c0, c1 ...`` as text, in the file's order.
"""

import glob
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.errors import FileRefused
from etl.filechecks import MAX_CELL, check_container, check_header, read_header, refuse, to_utf8
from etl.profile import Source
from etl.profile_rules import Conventions
from etl.readers_xlsx import read_sheet
from etl.rowshape import refuse_long_rows
from etl.sqlfiles import quote

MAX_LINE = 1_000_000


@dataclass(frozen=True)
class Relation:
    """A file as text columns.

    Attributes
    ----------
    sql : str
        A table expression with columns ``c0 ...``.
    header : tuple of str
        The file's column names, in the same order.
    numbered : bool
        Whether the relation has its own column ``rn``; otherwise the first row is row 2, as in a
        spreadsheet, and blank lines are not counted.
    """

    sql: str
    header: tuple[str, ...]
    numbered: bool = False

    def column(self, name: str) -> str:
        """Return the SQL name of a column of the file.

        Parameters
        ----------
        name : str
            Name in the header.

        Returns
        -------
        str
            Such as ``c3``.
        """
        return f"c{self.header.index(name)}"


def _engine_path(path: Path) -> str:
    """Return a path the engine takes for one file: it would read ``bouts_*.csv`` as a pattern."""
    return glob.escape(str(path.absolute()))


def _csv(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, way: Conventions, scratch: Path
) -> Relation:
    plain = to_utf8(path, way.encoding, scratch)
    header = read_header(plain, path, way.delimiter)
    check_header(header, source, path, delimiter=way.delimiter)
    refuse_long_rows(plain, path, way.delimiter, len(header))
    columns = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(len(header)))
    return Relation(
        f"read_csv({quote(_engine_path(plain))}, auto_detect = false, strict_mode = true, header = true,"
        f" delim = {quote(way.delimiter)}, quote = '\"', escape = '\"', max_line_size = {MAX_LINE},"
        f" columns = {{{columns}}})",
        header,
    )


def _parquet(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, way: Conventions, scratch: Path
) -> Relation:
    described = con.execute("describe select * from read_parquet(?)", [_engine_path(path)]).fetchall()
    header = tuple(str(row[0]) for row in described)
    check_header(header, source, path)
    wanted = {*source.columns()}
    columns = []
    for i, (name, kind, *_) in enumerate(described):
        if name in wanted:
            columns.append(f"{_exact_text(name, kind, way.decimal, path)} as c{i}")
        else:
            columns.append(f'"{name.replace(chr(34), chr(34) * 2)}"::varchar as c{i}')
    return Relation(f"(select {', '.join(columns)} from read_parquet({quote(_engine_path(path))}))", header)


def _exact_text(name: str, kind: str, decimal: str, path: Path) -> str:
    """Return SQL that writes a typed Parquet column as text in the profile's own notation."""
    column = '"' + name.replace('"', '""') + '"'
    base = kind.split("(")[0]
    if base in ("VARCHAR", "BOOLEAN", "DATE") or "INT" in base:
        return f"{column}::varchar"
    if base in ("TIMESTAMP", "TIMESTAMP_S", "TIMESTAMP_MS", "TIMESTAMP_NS"):
        return f"strftime({column}::timestamp, '%Y-%m-%d %H:%M:%S.%f')"
    if base == "TIMESTAMP WITH TIME ZONE":
        return f"strftime(make_timestamp(epoch_us({column})), '%Y-%m-%d %H:%M:%S.%fZ')"
    if base in ("DOUBLE", "FLOAT", "DECIMAL"):
        whole = f"{column} = trunc({column}) and abs({column}) < 1e15"
        return (
            f"replace(case when {whole} then {column}::bigint::varchar else {column}::varchar end, '.',"
            f" {quote(decimal)})"
        )
    raise refuse("E_SHAPE", f"Column {name} has type {kind.lower()}", path, "Export plain columns.")


def _xlsx(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, way: Conventions, scratch: Path
) -> Relation:
    sheet = read_sheet(path, source.sheet, way.decimal)
    check_header(sheet.header, source, path)
    con.register("sheet_rows", sheet.rows)
    con.execute("create or replace temp table sheet as select * from sheet_rows")
    con.unregister("sheet_rows")
    return Relation("sheet", sheet.header, numbered=True)


_READERS: dict[str, Callable[..., Relation]] = {"csv": _csv, "parquet": _parquet, "xlsx": _xlsx}


def open_relation(
    con: duckdb.DuckDBPyConnection, path: Path, source: Source, way: Conventions, scratch: Path
) -> Relation:
    """Check a file's container and header and return it as text columns.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection that will read it.
    path : Path
        The file.
    source : Source
        The profile's source.
    way : Conventions
        How the source writes text, numbers and dates.
    scratch : Path
        Folder for a converted copy.

    Returns
    -------
    Relation
        Columns as text.

    Raises
    ------
    FileRefused
        With the reason code of what was found.
    """
    kind = check_container(path)
    try:
        return _READERS[kind](con, path, source, way, scratch)
    except duckdb.Error as error:
        raise reading_error(error, path) from error


def reading_error(error: duckdb.Error, path: Path) -> FileRefused:
    """Turn the engine's complaint about a file into one line for the user.

    Parameters
    ----------
    error : duckdb.Error
        What the engine said.
    path : Path
        The file.

    Returns
    -------
    FileRefused
        E_SIZE, E_DISK or E_SHAPE, with the line where known. Nothing of the file's content is repeated.
    """
    said = str(error)
    line = re.search(r"CSV Error on Line: (\d+)", said)
    where = f"Line {line[1]}" if line else "The file"
    if "aximum line size" in said:
        return refuse("E_SIZE", f"{where} is over {MAX_LINE:,} bytes", path, "Export one line a row.")
    if no_space(error):
        return disk_full(path)
    counts = re.search(r"Expected Number of Columns: (\d+) Found: (\d+)", said)
    why = (
        f"has {counts[2]} columns, the header {counts[1]}"
        if counts
        else "has a quote that is not closed"
        if "unterminated quote" in said
        else "is not text in the declared encoding"
        if "unicode" in said
        else "cannot be read as rows and columns (mixed line ends or stray quotes?)"
    )
    code = "E_ENCODING" if "unicode" in said else "E_SHAPE"
    return refuse(code, f"{where} {why}", path, "Repair the export; nothing of it was loaded.")


def no_space(error: BaseException) -> bool:
    """Tell whether an error says that the disk is full.

    Parameters
    ----------
    error : BaseException
        Any error.

    Returns
    -------
    bool
        True for the operating system's and the engine's wording.
    """
    said = str(error).lower()
    return "no space left" in said or "max_temp_directory_size" in said or getattr(error, "errno", 0) == 28


def disk_full(path: Path) -> FileRefused:
    """Make the error of a disk that filled up while a file was loaded.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    FileRefused
        E_DISK.
    """
    return refuse(
        "E_DISK", "The disk filled up; nothing of this file was loaded", path, "Make room and load it again."
    )  # fmt: skip


__all__ = ["MAX_CELL", "Relation", "disk_full", "no_space", "open_relation", "quote", "reading_error"]
