"""What reduces a stroke log where it lies: the store's own engine, or another that knows the same words."""

from dataclasses import dataclass
from typing import Protocol

import duckdb

from etl.sqlfiles import quote, sql

COLUMNS = {"person": "VARCHAR", "at_us": "BIGINT", "instrument": "VARCHAR", "action": "VARCHAR"}


@dataclass(frozen=True)
class LogCheck:
    """What is wrong with the rows of a log.

    Attributes
    ----------
    events, missing, strange, untimely : int
        Rows; rows with an empty field, with an unknown action, and with an impossible time.
    """

    events: int
    missing: int
    strange: int
    untimely: int


class Engine(Protocol):
    """Reads one log in place and reduces it with the shared SQL texts."""

    def columns(self, log: str) -> dict[str, str]:
        """Return the log's columns with their types, in DuckDB's words."""
        ...

    def check(self, log: str, values: dict[str, str]) -> LogCheck:
        """Return what is wrong with the rows."""
        ...

    def buckets(self, log: str, values: dict[str, str]) -> str:
        """Reduce the log and return a relation that DuckDB can select the buckets from."""
        ...


class DuckEngine:
    """The store's own engine, out of core.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self.con = con

    def columns(self, log: str) -> dict[str, str]:
        """Return the log's columns with their types.

        Parameters
        ----------
        log : str
            Parquet file.

        Returns
        -------
        dict of str to str
            Type by column.
        """
        described = self.con.execute(f"describe select * from {self._rows(log)}").fetchall()
        return {str(row[0]): str(row[1]) for row in described}

    def check(self, log: str, values: dict[str, str]) -> LogCheck:
        """Return what is wrong with the rows.

        Parameters
        ----------
        log : str
            Parquet file.
        values : dict of str to str
            Values of the SQL text.

        Returns
        -------
        LogCheck
            Numbers of rows.
        """
        text = sql("events/000_check").format(events=self._rows(log), **values)
        return LogCheck(*self.con.execute(text).fetchall()[0])

    def buckets(self, log: str, values: dict[str, str]) -> str:
        """Return the reduction as a subquery.

        Parameters
        ----------
        log : str
            Parquet file.
        values : dict of str to str
            Values of the SQL text.

        Returns
        -------
        str
            SQL of a relation.
        """
        return f"({sql('events/010_bucket').format(events=self._rows(log), **values)}\n)"

    @staticmethod
    def _rows(log: str) -> str:
        return f"read_parquet({quote(log)})"
