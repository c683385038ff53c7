"""Rows of months that are published already: what may still count, and what is set aside as late.

Published numbers are frozen. An answer that comes after its month, but before the edition that ends its
quarter, still counts in the quarter's numbers. Once the quarter is published too no number can hold it, and
it is set aside, unless its person was counted for that month and region: then it is the counted answer
delivered again or corrected, and takes the earlier one's place in what later releases look back on. Work
and hours worked that come late are kept, because later numbers look back over months; a note says how many.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import duckdb

from etl.home import Home
from etl.reasons import number_of
from etl.release_calendar import Month, month_of, parse_month
from etl.release_door import pinned
from etl.sqlfiles import sql
from etl.staging import Staged

Note = tuple[str, str, int]
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Published:
    """What is published.

    Attributes
    ----------
    months : tuple of Month
        Months of all editions, sorted; empty where there are none.
    """

    months: tuple[Month, ...] = ()

    def is_published(self, month: Month) -> bool:
        """Tell whether an edition was made for a month."""
        return month in self.months

    def is_frozen(self, month: Month) -> bool:
        """Tell whether every number that a month's answers enter is published."""
        quarter_end = month.plus(-month.month % 3)
        over = bool(self.months) and self.months[-1] >= quarter_end
        return over and (self.is_published(month) or self.is_published(quarter_end))


def read_published(home: Home, con: duckdb.DuckDBPyConnection) -> Published:
    """Read which months are published.

    Parameters
    ----------
    home : Home
        The data home.
    con : duckdb.DuckDBPyConnection
        Person store, as the current database. A store without the private ledger of releases never made
        one: it is a new store for old files, and nothing in it is late.

    Returns
    -------
    Published
        Its months.

    Raises
    ------
    EvenhandError
        If the newest edition cannot be opened.
    """
    ledger = con.execute(
        "select 1 from duckdb_tables() where database_name = current_database()"
        " and schema_name = 'release_private' and table_name = 'answered'"
    ).fetchall()
    if not ledger or not home.current_release.exists():
        return Published()
    with pinned(home) as release:
        return Published(tuple(sorted({parse_month(one.period) for one in release.editions()})))


def find_late(con: duckdb.DuckDBPyConnection, staged: Staged, zone: str, published: Published) -> list[Note]:
    """Add E_PERIOD to ``issues``; count accepted rows of published months.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, after the other checks of rows.
    staged : Staged
        What was staged.
    zone : str
        Declared time zone, by whose clock a month begins.
    published : Published
        What is published.

    Returns
    -------
    list of tuple
        ``W_LATE``, column and rows; empty where there are none.
    """
    column = {"surveys": "month", "hours": "month", "bouts": "start", "strokes": "at"}.get(
        staged.contract.name
    )
    if column is None or not published.months:
        return []
    if staged.contract.name == "surveys":
        _set_aside_frozen(con, published)
    if column == "month":
        listed = [month.first_day for month in published.months]
        where, values = f"list_contains(?, {column}__v)", [listed]
    else:
        ranges = _ranges(published.months, ZoneInfo(zone))
        where = " or ".join(f"{column}__v >= {first} and {column}__v < {end}" for first, end in ranges)
        values = []
    late = con.execute(
        f"select count(*) from typed where ok and ({where}) and id not in (select id from issues)", values
    ).fetchall()[0][0]
    return [("W_LATE", column, late)] if late else []


def _set_aside_frozen(con: duckdb.DuckDBPyConnection, published: Published) -> None:
    found = con.execute("select distinct month__v from typed where ok and month__v is not null").fetchall()
    frozen = [day for (day,) in found if published.is_frozen(month_of(day))]
    if not frozen:
        return
    con.execute(sql("load/070_counted_answer"), {"months": [str(month_of(day)) for day in frozen]})
    # A question asked and not answered is no answer: there is nothing in it that could come late.
    con.execute(
        f"insert into issues select id, row_number, 0, 'month', {number_of('E_PERIOD')}, null from typed"
        " where ok and score__v is not null and id not in (select id from issues)"
        " and list_contains(?, month__v) and not exists (select 1 from counted_answer as counted"
        " where counted.person = person__v and counted.month = month__v and counted.region = region__v)",
        [frozen],
    )


def _ranges(months: Sequence[Month], zone: ZoneInfo) -> list[tuple[int, int]]:
    """Return the months as spans of microseconds UTC, adjoining ones joined."""
    spans: list[tuple[int, int]] = []
    for month in months:
        first, end = (_midnight_us(one, zone) for one in (month, month.plus(1)))
        if spans and spans[-1][1] == first:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((first, end))
    return spans


def _midnight_us(month: Month, zone: ZoneInfo) -> int:
    start = dt.datetime(month.year, month.month, 1, tzinfo=zone)
    return (start - _EPOCH) // dt.timedelta(microseconds=1)
