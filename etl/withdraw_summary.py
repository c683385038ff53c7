"""What a withdrawal did, in the words the custodian reads."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class WithdrawSummary:
    """What was removed, and what the custodian still has to remove.

    Attributes
    ----------
    persons : int
        Persons taken out.
    rows : dict of str to int
        Core table to rows removed.
    values : int
        Values of rows set aside that were emptied.
    link : int
        Links between a person and the random token that were cut.
    files : tuple of str
        Loaded files that held rows of the person, by name.
    seen_before : bool
        Whether the byte search found the pseudonym in the old store; without that, finding nothing in the
        new one would prove nothing.
    left_in : tuple of Path
        Files in the person folder that still hold the pseudonym, such as backups.
    delivered : tuple of Path
        Files elsewhere in the data home that hold it, such as the files as delivered.
    """

    persons: int
    rows: dict[str, int]
    values: int
    link: int
    files: tuple[str, ...]
    seen_before: bool
    left_in: tuple[Path, ...]
    delivered: tuple[Path, ...]

    @property
    def complete(self) -> bool:
        """Whether the person folder is free of the pseudonym."""
        return not self.left_in

    def __str__(self) -> str:
        tables = ", ".join(f"{rows} from {name}" for name, rows in sorted(self.rows.items()) if rows)
        lines = [
            f"{count_of(self.persons, 'person')} taken out of the person store: {tables or 'no rows'}.",
            f"{count_of(self.values, 'value')} of rows set aside emptied; "
            f"{count_of(self.link, 'token link')} cut.",
            "The store was rebuilt in a new file; "
            + (
                "a byte search found the pseudonym in the old file and does not find it in the new one."
                if self.seen_before
                else "every column was read and none holds the pseudonym (it is not suited to a byte search)."
            ),
            "Published editions are unchanged, and later ones no longer count the person.",
        ]
        if self.files:
            lines.append(f"Delete the delivered files or have them sent again: {', '.join(self.files)}.")
        for path in (*self.left_in, *self.delivered):
            lines.append(f"The pseudonym is still in {path}: delete this file.")
        return "\n".join(lines)


def count_of(number: int, what: str) -> str:
    """Say a number of things.

    Parameters
    ----------
    number : int
        How many.
    what : str
        One of them, such as ``row``.

    Returns
    -------
    str
        ``1 row`` or ``2 rows``.
    """
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
