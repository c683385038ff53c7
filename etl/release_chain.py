"""The hash chain of a release: one changed value, and the editions no longer add up."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import duckdb

FIRST_LINK = "0" * 64
STORAGE_VERSION = "v1.4.0"
_HASH_COLUMN = "content_hash"


@dataclass(frozen=True)
class ChainVerdict:
    """Whether a release file still holds what was published.

    Attributes
    ----------
    intact : bool
        True if every edition's hash was found again.
    editions : int
        Editions whose hash was recomputed and agreed.
    sentence : str
        The finding in words.
    """

    intact: bool
    editions: int
    sentence: str

    def __str__(self) -> str:
        return self.sentence


@contextmanager
def open_release_file(path: Path, *, write: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a release file as the current database of a connection.

    Parameters
    ----------
    path : Path
        Release file; created if writing.
    write : bool
        Whether rows are added.

    Yields
    ------
    duckdb.DuckDBPyConnection
        Closed on leaving the block.
    """
    config = {"autoinstall_known_extensions": False, "autoload_known_extensions": False, "threads": 2}
    con = duckdb.connect(":memory:", config=config)
    try:
        quoted = str(path).replace("'", "''")
        mode = f"storage_version '{STORAGE_VERSION}'" if write else "read_only"
        con.execute(f"attach '{quoted}' as release ({mode})")
        con.execute("use release")
        yield con
    finally:
        con.close()


def canonical(value: object) -> str:
    """Return one value as exact text with its type.

    Parameters
    ----------
    value : object
        A value as DuckDB hands it to Python.

    Returns
    -------
    str
        Text in which different values, and equal values of different types, differ.

    Raises
    ------
    TypeError
        If release tables are not supposed to hold values of that type.
    """
    if value is None:
        return "n"
    if isinstance(value, bool):
        return f"b{int(value)}"
    if isinstance(value, int):
        return f"i{value}"
    if isinstance(value, float):
        return f"f{value.hex()}"
    if isinstance(value, str):
        return f"s{len(value)}:{value}"
    if isinstance(value, datetime):
        return f"t{value.isoformat()}"
    if isinstance(value, date):
        return f"d{value.isoformat()}"
    raise TypeError(f"no canonical text for {type(value).__name__}")


def tables_of(con: duckdb.DuckDBPyConnection) -> dict[str, tuple[str, ...]]:
    """Return the release tables of an open file with their columns.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection to a release file.

    Returns
    -------
    dict of str to tuple of str
        Table name to its columns in order, names sorted.
    """
    rows = con.execute(
        "select table_name, column_name, data_type from information_schema.columns "
        "where table_schema = 'main' and table_catalog = current_database() "
        "order by table_name, ordinal_position"
    ).fetchall()
    found: dict[str, list[str]] = {}
    for table, column, _ in rows:
        found.setdefault(table, []).append(column)
    return {table: tuple(columns) for table, columns in found.items()}


def edition_lines(con: duckdb.DuckDBPyConnection, edition: int) -> Iterator[str]:
    """Yield the canonical text of all rows that carry an edition, table by table, rows sorted.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection to a release file.
    edition : int
        Edition number.

    Yields
    ------
    str
        A heading for each table with rows, then one line a row.
    """
    for table, columns in tables_of(con).items():
        kept = [c for c in columns if not (table == "edition" and c == _HASH_COLUMN)]
        listed = ", ".join(f'"{c}"' for c in kept)
        rows = con.execute(f'select {listed} from "{table}" where edition = ?', [edition]).fetchall()
        if rows:
            yield f"{table}({','.join(kept)}){len(rows)}"
            yield from sorted("|".join(map(canonical, row)) for row in rows)


def edition_hash(con: duckdb.DuckDBPyConnection, edition: int, previous: str) -> str:
    """Return the hash of an edition.

    SHA-256 over the previous edition's hash and the canonical text of every row that carries the
    edition, whatever its table.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection to a release file that holds the rows, the edition's own row included.
    edition : int
        Edition number.
    previous : str
        Hash of the edition before, `FIRST_LINK` for the first.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    digest = hashlib.sha256(previous.encode())
    for line in edition_lines(con, edition):
        digest.update(b"\n")
        digest.update(line.encode())
    return digest.hexdigest()


def file_digest(path: Path) -> str:
    """Return the SHA-256 of a file's bytes.

    Parameters
    ----------
    path : Path
        Any file.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def digest_path(path: Path) -> Path:
    """Return where the digest of a release file is kept.

    Parameters
    ----------
    path : Path
        Release file.

    Returns
    -------
    Path
        The same name with ``.sha256`` added.
    """
    return path.with_name(path.name + ".sha256")


def verify(path: Path) -> ChainVerdict:
    """Recompute the whole chain of a release file.

    Where the file's digest lies beside it, every byte is compared too; the chain alone covers every
    value, not the unused space of the file.

    Parameters
    ----------
    path : Path
        Release file, or a symbolic link to it.

    Returns
    -------
    ChainVerdict
        Intact or not, and the first edition that does not agree.
    """
    file = path.resolve()
    if not file.is_file():
        return ChainVerdict(False, 0, f"There is no release file at {path}.")
    kept = digest_path(file)
    with_digest = kept.is_file()
    if with_digest and kept.read_text(encoding="ascii").split()[:1] != [file_digest(file)]:
        return ChainVerdict(
            False, 0, f"{file.name}: the bytes of the file are not those that were published."
        )
    try:
        with open_release_file(file) as con:
            verdict = _verify_chain(con, file.name)
    except duckdb.Error as error:
        first = str(error).splitlines()[0]
        return ChainVerdict(False, 0, f"{file.name}: the file cannot be read as a release ({first}).")
    if verdict.intact and not with_digest:
        return ChainVerdict(
            True, verdict.editions, f"{verdict.sentence} No digest of the file lies beside it."
        )
    return verdict


def _verify_chain(con: duckdb.DuckDBPyConnection, name: str) -> ChainVerdict:
    tables = tables_of(con)
    if "edition" not in tables:
        return ChainVerdict(False, 0, f"{name}: there is no table of editions.")
    links = con.execute(
        "select edition, previous_hash, content_hash from edition order by edition"
    ).fetchall()
    stray = [
        table
        for table in tables
        if con.execute(
            f'select 1 from "{table}" where edition is null '
            "or edition not in (select edition from edition) limit 1"
        ).fetchall()
    ]
    if stray:
        return ChainVerdict(False, 0, f"{name}: table {stray[0]} holds rows of no edition.")
    before = FIRST_LINK
    for position, (edition, previous, content) in enumerate(links):
        if previous != before or content != edition_hash(con, edition, before):
            return ChainVerdict(
                False,
                position,
                f"{name}: edition {edition} is not what was published; {position} editions before it agree.",
            )
        before = content
    return ChainVerdict(
        True, len(links), f"{name}: all {len(links)} editions hold exactly what was published."
    )
