"""The crosswalk of a re-keying: every person's earlier and new pseudonym, made by the sender, used once.

Only the sending side can make one, for it takes the raw identifiers and both keys. Whoever holds it can undo
the change of keys, so it is written readable by its owner only, in an order that says nothing, and is deleted
once it was applied (`etl.rekey`). First line: label and fingerprint of both keys.
"""

import csv
import re
import stat
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from etl.csv_streams import (
    column_place,
    csv_rows,
    refuse_ragged,
    refuse_taken,
    refuse_unfit,
    refuse_unreadable,
    refused,
    written_whole,
)
from etl.errors import EvenhandError, FileRefused
from etl.keys import Key
from etl.pseudonym import PSEUDONYM, normalise, pseudonym

_KEY_NAME = re.compile(r"([a-z][a-z0-9]{0,7}) ([0-9a-f]{8})")


@dataclass(frozen=True)
class KeyName:
    """What may be shown of a key: label and fingerprint."""

    label: str
    fingerprint: str

    def __str__(self) -> str:
        return f"{self.label} ({self.fingerprint})"


@dataclass(frozen=True)
class Crosswalk:
    """Earlier pseudonyms and the new ones. Its ``repr`` shows the keys' names, never a pseudonym.

    Attributes
    ----------
    old, new : KeyName
        The earlier key and the next one.
    pairs : dict of str to str
        Earlier pseudonym to new one; no two are the same.
    """

    old: KeyName
    new: KeyName
    pairs: dict[str, str] = field(repr=False)


def write_crosswalk(
    file: Path,
    columns: Sequence[str],
    keys: tuple[Key, Key],
    out: Path,
    *,
    delimiter: str = ",",
    encoding: str = "utf-8",
) -> Crosswalk:
    """Write the crosswalk of everybody named in some columns of a CSV file.

    Parameters
    ----------
    file : Path
        CSV file with raw identifiers, such as the register of people with all who ever were in it.
    columns : sequence of str
        Headers of the columns that hold them.
    keys : tuple of Key
        The key in use and the next one.
    out : Path
        File to make (mode 0600); it must not exist.
    delimiter, encoding : str
        How the file is written.

    Returns
    -------
    Crosswalk
        What was written.

    Raises
    ------
    FileRefused
        If the file is no strict CSV, a column is missing, an identifier cannot be keyed, nobody is in it, or
        `out` exists.
    EvenhandError
        If both keys carry one label: files of either could not be told apart.
    """
    old, new = keys
    if old.label == new.label:
        raise EvenhandError(
            f"Both keys are labelled {old.label}",
            str(out),
            "Make the next key with another one: evenhand pseudonymise --new-key FILE --label k2.",
        )
    refuse_unreadable(file, delimiter)
    refuse_taken(out)
    pairs: dict[str, str] = {}
    with csv_rows(file, encoding, delimiter) as (rows, _):
        header = next(rows, [])
        places = [column_place(header, name, file) for name in columns]
        for number, row in enumerate(rows, start=1):
            refuse_ragged(row, header, number, file)
            for place in places:
                identifier = normalise(row[place])
                refuse_unfit(row[place], identifier, f"Column {header[place]!r}, row {number}", file)
                if identifier:
                    pairs[pseudonym(old, identifier)] = pseudonym(new, identifier)
    if not pairs:
        raise refused("Nobody is named in the file", file, "Name the file and column of all people.")
    made = Crosswalk(KeyName(old.label, old.fingerprint), KeyName(new.label, new.fingerprint), pairs)
    with written_whole(out, "ascii") as target:
        writer = csv.writer(target, lineterminator="\n")
        writer.writerow([f"{one.label} {one.fingerprint}" for one in (made.old, made.new)])
        # Sorted by a keyed hash: the order of the register is gone.
        writer.writerows(sorted([old, new] for old, new in pairs.items()))
    return made


def read_crosswalk(file: Path) -> Crosswalk:
    """Read a crosswalk, and refuse one that is damaged or that others can read.

    Parameters
    ----------
    file : Path
        The file.

    Returns
    -------
    Crosswalk
        What it says.

    Raises
    ------
    FileRefused
        If it cannot be read, is reachable by others, or is no crosswalk of two keys.
    """
    with csv_rows(file, "ascii", ",") as (rows, source):
        mode = Path(source.name).stat().st_mode
        if mode & (stat.S_IRWXG | stat.S_IRWXO):
            raise refused("Others can reach the crosswalk", file, f"Run: chmod 600 {file}", "E_KEY")
        names = [_KEY_NAME.fullmatch(cell) for cell in next(rows, [])]
        if len(names) != 2 or names[0] is None or names[1] is None:
            raise _damaged("Its first line does not name two keys", file)
        old, new = KeyName(*names[0].groups()), KeyName(*names[1].groups())
        pairs: dict[str, str] = {}
        for number, row in enumerate(rows, start=1):
            sound = len(row) == 2 and all(map(PSEUDONYM.fullmatch, row))
            if not sound or [cell.split(":")[0] for cell in row] != [old.label, new.label]:
                raise _damaged(f"Row {number} is no pair of their pseudonyms", file)
            if row[0] in pairs:
                raise _damaged(f"Row {number} names somebody once more", file)
            pairs[row[0]] = row[1]
    if not pairs or old.label == new.label or len(set(pairs.values())) < len(pairs):
        raise _damaged("It gives not every person a pseudonym of their own", file)
    return Crosswalk(old, new, pairs)


def _damaged(what: str, file: Path) -> FileRefused:
    return refused(
        f"No crosswalk: {what[0].lower()}{what[1:]}", file, "Have it made and sent again.", "E_KEY"
    )
