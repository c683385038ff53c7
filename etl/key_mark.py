"""Which key made a file's pseudonyms: written by the sending side, compared by the loader.

A new key gives every person a new pseudonym. Loaded beside the old ones, the same people would count twice,
their histories would break off, and the rounding of published numbers would be drawn anew. So one data home
holds pseudonyms of one key. The label stands in each pseudonym; a key changed under the same label is seen
by the fingerprint in the side file ``<file>.key.json``.
"""

import datetime as dt
import json
import re
from pathlib import Path

import duckdb

from etl.errors import FileRefused
from etl.keys import Key
from etl.pseudonym import SCHEME

_REMEDY = "Send the file again with the earlier key. To change keys on purpose, see 'evenhand rekey --help'."
_FINGERPRINT = re.compile(r"[0-9a-f]{8}")
# Signs of a label and of base 32; the loader runs it inside DuckDB.
_LABELLED = "^([a-z][a-z0-9]{0,7}):[A-Z2-7]{16,26}$"


def key_mark(file: Path) -> Path:
    """Return the side file that tells which key made a file's pseudonyms.

    Parameters
    ----------
    file : Path
        A file of pseudonyms.

    Returns
    -------
    Path
        The same name with ``.key.json`` behind it.
    """
    return file.with_name(f"{file.name}.key.json")


def mark_text(key: Key) -> str:
    """Return the content of a side file.

    Parameters
    ----------
    key : Key
        Key of the sending side.

    Returns
    -------
    str
        One line of JSON: scheme, label and fingerprint.
    """
    return json.dumps({"scheme": SCHEME, "label": key.label, "fingerprint": key.fingerprint}) + "\n"


def check_key_fingerprint(con: duckdb.DuckDBPyConnection, file: Path) -> None:
    """Refuse a file whose pseudonyms were made with another key than those loaded before.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, as the current database.
    file : Path
        File to load; without a side file nothing is known and nothing is refused.

    Raises
    ------
    FileRefused
        E_KEY, also where the side file is damaged.
    """
    mark = _read_mark(file)
    known = con.execute("select label, fingerprint from core.pseudonym_key").fetchall()
    if mark and known and mark != known[0]:
        (label, fingerprint), (earlier, seen) = mark, known[0]
        raise _changed(f"key {label} ({fingerprint})", f"key {earlier} ({seen})", file)


def check_key_label(con: duckdb.DuckDBPyConnection, file: Path, column: str = "raw.person") -> None:
    """Refuse staged pseudonyms under another key label than those loaded before.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, with the person store current and the file staged.
    file : Path
        The file, for messages.
    column : str, default "raw.person"
        Table and column of the staged pseudonyms.

    Raises
    ------
    FileRefused
        E_KEY.
    """
    table, name = column.split(".")
    known = _labels(con, "select label from core.pseudonym_key") or _labels(
        con, f"select regexp_extract(person, '{_LABELLED}', 1) from core.people"
    )
    found = _labels(con, f"select regexp_extract(trim({name}), '{_LABELLED}', 1) from {table}")
    others = sorted(found - known)
    if known and others:
        raise _changed(f"key {', '.join(others)}", f"key {', '.join(sorted(known))}", file)


def record_key(con: duckdb.DuckDBPyConnection, file: Path, today: dt.date) -> None:
    """Remember the key of the first file that names one; called inside the transaction of the file.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.
    file : Path
        The loaded file.
    today : datetime.date
        Day of the load.
    """
    mark = _read_mark(file)
    if mark and not con.execute("select 1 from core.pseudonym_key").fetchall():
        con.execute("insert into core.pseudonym_key values (?, ?, ?, ?)", [*mark, file.name, today])


def _labels(con: duckdb.DuckDBPyConnection, query: str) -> set[str]:
    return {label for (label,) in con.execute(f"select distinct * from ({query})").fetchall() if label}


def _read_mark(file: Path) -> tuple[str, str] | None:
    path = key_mark(file)
    if not path.exists():
        return None
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        scheme, label, fingerprint = said["scheme"], said["label"], said["fingerprint"]
    except (ValueError, KeyError, TypeError):
        scheme, label, fingerprint = None, "", ""
    if scheme != SCHEME or not _FINGERPRINT.fullmatch(str(fingerprint)):
        raise FileRefused(
            "The side file of the pseudonym key is damaged", str(path), "Have both files sent again.", "E_KEY"
        )
    return str(label), str(fingerprint)


def _changed(now: str, before: str, file: Path) -> FileRefused:
    return FileRefused(
        f"Pseudonyms of {now}, but the store holds those of {before}", str(file), _REMEDY, "E_KEY"
    )
