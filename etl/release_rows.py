"""Rows of an edition on their way into the release, and what every step of the release job knows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import duckdb

from etl.keys import SecretKey
from etl.release_calendar import Month
from etl.settings import Settings

Row = tuple[object, ...]


def nobody(label: str, done: int, total: int) -> None:
    """Tell nobody how far the work is.

    Parameters
    ----------
    label : str
        What is being done.
    done, total : int
        Steps done, and of how many.
    """


_ABOVE = {"cluster": "organisation", "team": "cluster"}


def name_of(level: str, unit: str) -> str:
    """Return the name of a unit in a nested table; a team and a cluster may share a code.

    Parameters
    ----------
    level, unit : str
        Level and code.

    Returns
    -------
    str
        Both in one.
    """
    return f"{level}/{unit}"


def parent_of(level: str, parent: str | None) -> str | None:
    """Return the name of the unit above.

    Parameters
    ----------
    level : str
        Level of the unit below.
    parent : str or None
        Code of the unit above.

    Returns
    -------
    str or None
        None at the top.
    """
    return None if parent is None else name_of(_ABOVE[level], parent)


@dataclass(frozen=True)
class Job:
    """One edition in the making.

    Attributes
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts built.
    month : Month
        Month released.
    edition : int
        Number of the edition.
    settings : Settings
        The institute's settings.
    key : SecretKey
        Release key.
    tell : callable
        Told what is being done, how many steps are done, and of how many.
    """

    con: duckdb.DuckDBPyConnection
    month: Month
    edition: int
    settings: Settings
    key: SecretKey
    tell: Callable[[str, int, int], None] = nobody


@dataclass
class Rows:
    """Rows by release table, each without its leading edition number.

    Attributes
    ----------
    by_table : dict of str to list of tuple
        Values in the order of the table's columns.
    """

    by_table: dict[str, list[Row]] = field(default_factory=dict)

    def add(self, table: str, rows: Sequence[Row]) -> None:
        """Add rows to a table."""
        self.by_table.setdefault(table, []).extend(rows)

    def of(self, table: str) -> list[Row]:
        """Return the rows of a table so far."""
        return self.by_table.get(table, [])
