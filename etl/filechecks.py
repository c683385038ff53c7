"""What is checked about a file before any row is read: container, size, encoding, header."""

import codecs
import csv
import difflib
import hashlib
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from etl.errors import FileRefused
from etl.identifiers import header_kind
from etl.profile import Source

MAX_BYTES = 4 << 30
MAX_COLUMNS = 200
MAX_CELL = 10_000
_CHUNK = 1 << 20
SUFFIXES = (".csv", ".txt", ".tsv", ".parquet", ".xlsx")
_MAGIC = {
    b"PK\x03\x04": "a zip container", b"\x1f\x8b": "a gzip file", b"%PDF": "a PDF",
    b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture", b"\xd0\xcf\x11\xe0": "an old Office file",
    b"PAR1": "a Parquet file", b"SQLite format 3": "a database", b"7z\xbc\xaf": "an archive",
}  # fmt: skip


def refuse(code: str, what: str, path: Path, remedy: str) -> FileRefused:
    """Make the error of a refused file.

    Parameters
    ----------
    code : str
        Reason code.
    what : str
        What was found.
    path : Path
        The file; only its name is shown.
    remedy : str
        What to do.

    Returns
    -------
    FileRefused
        Ready to raise.
    """
    # A file name may itself hold line ends or invalid bytes; the message stays one printable line.
    name = path.name.encode("utf-8", "backslashreplace").decode()
    return FileRefused(what, "".join(c if c.isprintable() else "?" for c in name), remedy, code)


def check_container(path: Path) -> str:
    """Refuse what is not a regular file of a known kind and plausible size.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        ``csv``, ``parquet`` or ``xlsx``.

    Raises
    ------
    FileRefused
        E_NOFILE, E_CONTAINER, E_EMPTY or E_SIZE.
    """
    if path.is_symlink():
        raise refuse("E_CONTAINER", "The file is a symbolic link", path, "Name the file itself.")
    if not path.exists():
        raise refuse("E_NOFILE", "There is no such file", path, "Check the path.")
    if not path.is_file():
        raise refuse("E_CONTAINER", "Not a regular file", path, "Name a CSV, Parquet or Excel file.")
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise refuse(
            "E_CONTAINER", f"Files that end in {suffix!r} are not read", path,
            f"Export one of {' '.join(SUFFIXES)}.",
        )  # fmt: skip
    size = path.stat().st_size
    if size == 0:
        raise refuse("E_EMPTY", "The file is empty", path, "Export it again.")
    if size > MAX_BYTES:
        raise refuse("E_SIZE", f"The file has {size:,} bytes", path, "Split the export.")
    kind = {".parquet": "parquet", ".xlsx": "xlsx"}.get(suffix, "csv")
    with path.open("rb") as handle:
        head = handle.read(_CHUNK // 16)
    found = next((what for magic, what in _MAGIC.items() if head.startswith(magic)), "")
    wanted = {"parquet": "a Parquet file", "xlsx": "a zip container"}.get(kind, "")
    if found != wanted:
        shown = found or "something else"
        raise refuse(
            "E_CONTAINER", f"The name ends in {suffix} but the content is {shown}", path,
            "Export it again as named.",
        )  # fmt: skip
    if kind == "csv" and not head.startswith((b"\xff\xfe", b"\xfe\xff")):
        odd = sum(head.count(byte) for byte in range(32) if byte not in (9, 10, 13))
        if odd > 0.10 * len(head):
            raise refuse("E_CONTAINER", "The content is not text", path, "Export it as CSV text.")
    return kind


def hash_file(path: Path) -> str:
    """Return the SHA-256 of a file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def to_utf8(path: Path, encoding: str, scratch: Path) -> Path:
    """Check that a text file is in the declared encoding; return a UTF-8 version of it.

    Parameters
    ----------
    path : Path
        The file.
    encoding : str
        Declared encoding.
    scratch : Path
        Folder for a converted copy.

    Returns
    -------
    Path
        The file itself where it is UTF-8 already, else the copy.

    Raises
    ------
    FileRefused
        E_ENCODING with the first bad line.
    """
    name = codecs.lookup(encoding).name
    plain = name in ("utf-8", "ascii")
    decoder = codecs.getincrementaldecoder("utf-8-sig" if name == "utf-8" else name)(errors="strict")
    copy = scratch / f"utf8-{os.getpid()}.csv"
    line = 1
    with path.open("rb") as handle, io.BytesIO() if plain else copy.open("wb") as out:
        while True:
            chunk = handle.read(_CHUNK)
            try:
                text = decoder.decode(chunk, final=not chunk)
            except UnicodeError as error:
                at = getattr(error, "start", 0)
                raise refuse(
                    "E_ENCODING",
                    f"Line {line + chunk[:at].count(bytes([10]))} is not {encoding} text",
                    path,
                    "Declare the encoding the export uses in the profile.",
                ) from error
            line += chunk.count(b"\n")
            if not plain:
                out.write(text.encode("utf-8", "surrogatepass"))
            if not chunk:
                break
    return path if plain else copy


def read_header(path: Path, shown: Path, delimiter: str) -> tuple[str, ...]:
    """Read the header of a UTF-8 text file.

    Parameters
    ----------
    path : Path
        UTF-8 text.
    shown : Path
        The file as the user knows it, for messages.
    delimiter : str
        Declared delimiter.

    Returns
    -------
    tuple of str
        Trimmed names.

    Raises
    ------
    FileRefused
        E_EMPTY, E_SIZE or E_SHAPE.
    """
    with path.open(encoding="utf-8-sig", newline="") as handle:
        first = handle.readline(_CHUNK)
    if not first.strip():
        raise refuse("E_EMPTY", "The first line is blank", shown, "Export a header line.")
    if len(first) >= _CHUNK:
        raise refuse("E_SIZE", "The first line is over a megabyte", shown, "Export one line a row.")
    try:
        found = next(csv.reader([first.rstrip("\r\n")], delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise refuse("E_SHAPE", f"Line 1 is not CSV: {error}", shown, "Repair the header.") from error
    return tuple(name.strip() for name in found)


def _shown(names: Iterable[str], most: int = 6) -> str:
    listed = list(names)
    more = f" and {len(listed) - most} more" if len(listed) > most else ""
    shown = ("".join(c if c.isprintable() else "?" for c in one[:40]) or "without a name" for one in listed)
    return ", ".join(list(shown)[:most]) + more


def check_header(found: Sequence[str], source: Source, path: Path, *, delimiter: str = "") -> None:
    """Refuse a header that does not hold exactly the columns the profile speaks of; order is free.

    Parameters
    ----------
    found : sequence of str
        Header of the file.
    source : Source
        The profile's source.
    path : Path
        The file, for messages.
    delimiter : str
        Declared delimiter of text files, to hint at another one.

    Raises
    ------
    FileRefused
        E_SIZE, E_HEADER, E_PII or E_EXTRA.
    """
    if len(found) > MAX_COLUMNS:
        raise refuse("E_SIZE", f"The header has {len(found)} columns", path, "Export the columns needed.")
    expected = source.columns()
    absent = [name for name in expected if name not in found]
    if absent:
        if len(found) == 1 and delimiter:
            other = next((sign for sign in ";,\t|" if sign != delimiter and sign in found[0]), "")
            if other:
                raise refuse(
                    "E_HEADER", f"The columns are separated by {other!r}, the profile says {delimiter!r}",
                    path,
                    "Use the right profile or correct its delimiter.",
                )  # fmt: skip
        near = difflib.get_close_matches(absent[0], found, 1, 0.6)
        hint = f" (is it {_shown(near)}?)" if near else ""
        raise refuse(
            "E_HEADER", f"Column {_shown(absent)} is missing{hint}; found: {_shown(found, 12)}", path,
            "Use the right profile or correct the header.",
        )  # fmt: skip
    repeated = sorted({name for name in found if found.count(name) > 1})
    if repeated:
        raise refuse("E_HEADER", f"Column {_shown(repeated)} stands there twice", path, "Rename one of them.")
    # A column mapped to the pseudonym, or to a register's own wording, is known for what it is.
    plain = {
        one.column
        for name, one in source.fields.items()
        if source.agreed.field(name).kind in ("person", "text")
    }
    for name in found:
        kind = header_kind(name)
        if kind is not None and name not in plain:
            raise refuse(
                "E_PII", f"Column {_shown([name])} looks like a {kind}", path, "Leave it out of the export."
            )  # fmt: skip
    extra = [name for name in found if name not in expected and name not in source.ignore]
    if extra:
        raise refuse(
            "E_EXTRA", f"Column {_shown(extra)} is neither mapped nor ignored", path,
            "Leave it out of the export, or list it under ignore in the profile.",
        )  # fmt: skip
