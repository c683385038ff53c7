"""Write an edition beside the published one, and put it in its place in one step."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from shutil import copyfile

import duckdb
import pyarrow as pa

from etl.errors import ReleaseRefused
from etl.home import Home
from etl.release_chain import (
    FIRST_LINK,
    canonical,
    digest_path,
    edition_hash,
    file_digest,
    open_release_file,
    tables_of,
)
from etl.release_rows import Row
from etl.sqlfiles import sql

KEPT_FILES = 3
_TEMPORARY = ".tmp-"


@dataclass(frozen=True)
class EditionHead:
    """What the row of table ``edition`` says besides the hashes.

    Attributes
    ----------
    edition : int
        Number, one more than the last.
    period : str
        Month released.
    created_at : datetime
        When, UTC, without zone.
    rules : str
        Thresholds in force.
    tool_version : str
        Version of this program.
    note : str or None
        Remark.
    """

    edition: int
    period: str
    created_at: datetime
    rules: str
    tool_version: str
    note: str | None


def file_name(edition: int) -> str:
    """Return the name of an edition's file.

    Parameters
    ----------
    edition : int
        Edition number.

    Returns
    -------
    str
        For example ``edition-0012.duckdb``.
    """
    return f"edition-{edition:04d}.duckdb"


def published_file(home: Home) -> Path | None:
    """Return the file of the newest published edition.

    Parameters
    ----------
    home : Home
        Data home.

    Returns
    -------
    Path or None
        None before the first release.

    Raises
    ------
    ReleaseRefused
        If the link to it leads nowhere.
    """
    link = home.current_release
    if not link.is_symlink() and not link.exists():
        return None
    target = link.resolve()
    if not target.is_file():
        raise ReleaseRefused(
            "The newest edition is missing",
            str(target),
            "Restore it from a backup; editions build on each other.",
        )
    return target


def clear_unfinished(home: Home) -> None:
    """Delete what an interrupted release left in the release folder.

    Parameters
    ----------
    home : Home
        Data home; the caller holds the person store, so no other release is under way.
    """
    home.release_dir.mkdir(parents=True, exist_ok=True)
    for path in home.release_dir.glob(f"{_TEMPORARY}*"):
        path.unlink()


def write_edition(
    home: Home, previous: Path | None, head: EditionHead, rows: Mapping[str, Sequence[Row]]
) -> tuple[Path, str]:
    """Write the published rows and a new edition into a file nobody reads yet.

    The earlier editions are taken over as the bytes of the published file; only rows are added.

    Parameters
    ----------
    home : Home
        Data home.
    previous : Path or None
        File of the newest published edition.
    head : EditionHead
        The new edition.
    rows : mapping
        Table to rows without the edition number.

    Returns
    -------
    tuple
        The file, on disk in full, and the hash of the new edition.
    """
    path = home.release_dir / f"{_TEMPORARY}{file_name(head.edition)}"
    path.unlink(missing_ok=True)
    if previous is not None:
        copyfile(previous, path)
        path.chmod(0o600)
    with open_release_file(path, write=True) as con:
        con.execute("begin")
        con.execute(sql("store/020_release"))
        found = con.execute("select content_hash from edition order by edition desc limit 1").fetchall()
        link = found[0][0] if found else FIRST_LINK
        for table, added in rows.items():
            _insert(con, table, head.edition, added)
        values = [
            head.edition,
            head.period,
            head.created_at,
            link,
            "",
            head.rules,
            head.tool_version,
            head.note,
        ]
        con.execute("insert into edition values (?, ?, ?, ?, ?, ?, ?, ?)", values)
        content = edition_hash(con, head.edition, link)
        con.execute("update edition set content_hash = ? where edition = ?", [content, head.edition])
        con.execute("commit")
        con.execute("checkpoint release")
    _sync(path)
    return path, content


def _insert(con: duckdb.DuckDBPyConnection, table: str, edition: int, rows: Sequence[Row]) -> None:
    if not rows:
        return
    schema = con.sql(f'select * from "{table}" limit 0').to_arrow_table().schema
    columns = [[edition] * len(rows), *map(list, zip(*rows, strict=True))]
    arrays = [pa.array(values, type=field.type) for values, field in zip(columns, schema, strict=True)]
    con.register("incoming", pa.Table.from_arrays(arrays, schema=schema))
    con.execute(f'insert into "{table}" select * from incoming')
    con.unregister("incoming")


def edition_text(rows: Mapping[str, Sequence[Row]]) -> str:
    """Return all values of an edition as text, for searches.

    Parameters
    ----------
    rows : mapping
        Table to rows.

    Returns
    -------
    str
        One line a row.
    """
    return "\n".join("|".join(map(canonical, row)) for table in sorted(rows) for row in rows[table])


def put_in_place(home: Home, temporary: Path, edition: int) -> Path:
    """Publish a finished file: rename it, then let the link point to it.

    Parameters
    ----------
    home : Home
        Data home.
    temporary : Path
        File written by :func:`write_edition`.
    edition : int
        Its edition.

    Returns
    -------
    Path
        The published file. Readers see the old edition until the very last step, and keep the file
        they have open after it.
    """
    folder, final = home.release_dir, home.release_dir / file_name(edition)
    digest = folder / f"{_TEMPORARY}digest"
    digest.write_text(f"{file_digest(temporary)}  {final.name}\n", encoding="ascii")
    _sync(digest)
    temporary.chmod(0o444)
    digest.replace(digest_path(final))
    temporary.replace(final)
    _sync(folder)
    link = folder / f"{_TEMPORARY}link"
    link.unlink(missing_ok=True)
    link.symlink_to(final.name)
    link.replace(home.current_release)
    _sync(folder)
    for old in sorted(folder.glob("edition-*.duckdb"))[:-KEPT_FILES]:
        old.unlink()
        digest_path(old).unlink(missing_ok=True)
    return final


def same_rows(old: Path, new: Path) -> bool:
    """Say whether a new file still holds every row of the old one.

    Parameters
    ----------
    old, new : Path
        Published file and its successor.

    Returns
    -------
    bool
        True if each table's rows of the earlier editions are equal, row by row.
    """
    with open_release_file(new) as con:
        quoted = str(old).replace("'", "''")
        con.execute(f"attach '{quoted}' as old (read_only)")
        last = "(select max(edition) from old.edition)"
        return all(
            con.execute(
                f'select (select count(*) from old."{table}") = '
                f'(select count(*) from release."{table}" where edition <= {last}) and not exists ('
                f'from (from old."{table}") except all (from release."{table}" where edition <= {last}))'
            ).fetchall()[0][0]
            for table in _tables_in(con, "old")
        )


def _tables_in(con: duckdb.DuckDBPyConnection, database: str) -> list[str]:
    con.execute(f"use {database}")
    names = [*tables_of(con)]
    con.execute("use release")
    return names


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
