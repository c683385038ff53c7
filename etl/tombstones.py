"""The list of withdrawn persons, kept so that no reload and no restored backup brings one back.

A tombstone is the SHA-256 of the pseudonym. It carries no key on purpose. A pseudonym of 26 base-32 signs
holds 130 bits, so trying all of them is out of reach and a key would add nothing; but a key can be lost,
and keys are kept apart from backups, so after the worst restore a keyed list could not be applied and every
withdrawn person would return. (Where a site sends short codes of its own as pseudonyms, a tombstone can be
guessed. It then tells no more than that this code withdrew; who it is stays with the sender.)

The list stands twice: in the person store, and in a text file beside the person folder that a restored
backup of the store does not overwrite. What either knows counts.
"""

import datetime as dt
import hashlib
import os
from pathlib import Path

import duckdb

from etl.errors import EvenhandError
from etl.home import Home
from etl.person_rows import persons

DOMAIN = "evenhand|v1|withdrawn|"


def list_file(home: Home) -> Path:
    """Return the text file of tombstones of a data home.

    Parameters
    ----------
    home : Home
        The data home.

    Returns
    -------
    Path
        One line a tombstone: date and digest.
    """
    return home.root / "withdrawn.txt"


def digest(person: str) -> str:
    """Return the tombstone of a pseudonym.

    Parameters
    ----------
    person : str
        Pseudonym.

    Returns
    -------
    str
        64 hexadecimal digits of SHA-256(DOMAIN || pseudonym).
    """
    return hashlib.sha256(f"{DOMAIN}{person}".encode()).hexdigest()


def withdrawn(home: Home, con: duckdb.DuckDBPyConnection) -> dict[str, dt.date]:
    """Return all tombstones known to the store or to the text file.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        Person store.

    Returns
    -------
    dict of str to datetime.date
        Digest to the day of withdrawal.

    Raises
    ------
    EvenhandError
        If a line of the file is not a date and a digest: a damaged list must not pass for a short one.
    """
    stored = con.execute("select digest, withdrawn_on from core.tombstone").fetchall()
    return dict(stored) | _read(list_file(home))


def remember(home: Home, known: dict[str, dt.date]) -> None:
    """Write the text file anew with all tombstones, beside its place and renamed.

    Parameters
    ----------
    home : Home
        The data home.
    known : dict of str to datetime.date
        Digest to the day of withdrawal.
    """
    path = list_file(home)
    part = path.with_name(f".{path.name}.part")
    lines = sorted(f"{day.isoformat()} {code}\n" for code, day in known.items())
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.writelines(lines)
        file.flush()
        os.fsync(file.fileno())
    part.rename(path)


def returned(home: Home, con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Return withdrawn persons who are in the store nevertheless, as after a restored backup.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        Person store.

    Returns
    -------
    tuple of str
        Pseudonyms, sorted. They must not be shown.
    """
    known = withdrawn(home, con)
    if not known:
        return ()
    return tuple(sorted(person for person in persons(con) if digest(person) in known))


def recall(home: Home, con: duckdb.DuckDBPyConnection) -> None:
    """Bring both lists level, and refuse to go on while a withdrawn person is in the store.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        Person store, open for writing.

    Raises
    ------
    EvenhandError
        Naming the command that takes them out again.
    """
    known = withdrawn(home, con)
    if known:
        con.executemany(
            "insert into core.tombstone values (?, ?) on conflict do nothing", list(known.items())
        )
    if known != _read(list_file(home)):
        remember(home, known)
    back = returned(home, con)
    if back:
        raise EvenhandError(
            f"{len(back)} withdrawn persons are in the store again, as after a restored backup",
            str(home.person_db),
            "Run 'evenhand withdraw --again' first.",
        )


def _read(path: Path) -> dict[str, dt.date]:
    if not path.exists():
        return {}
    found: dict[str, dt.date] = {}
    for number, line in enumerate(path.read_text(encoding="ascii", errors="replace").splitlines(), start=1):
        day, _, code = line.partition(" ")
        try:
            if len(bytes.fromhex(code)) != hashlib.sha256().digest_size:
                raise ValueError
            found[code] = dt.date.fromisoformat(day)
        except ValueError:
            raise EvenhandError(
                f"Line {number} of the list of withdrawals is damaged",
                str(path),
                "Restore it from its safe copy: without it withdrawn persons would return.",
            ) from None
    return found
