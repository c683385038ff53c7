"""The release tables that this program knows, empty; an older release may lack some."""

from functools import cache
from typing import TYPE_CHECKING

import duckdb

from etl.sqlfiles import sql

if TYPE_CHECKING:
    import pandas as pd


@cache
def known_tables() -> "dict[str, pd.DataFrame]":
    """Return every release table of the present version as an empty frame.

    Returns
    -------
    dict of str to pandas.DataFrame
        Table name to a frame without rows that has its columns and types. Copy before changing.
    """
    con = duckdb.connect(":memory:")
    try:
        con.execute(sql("store/020_release"))
        names = con.execute("select table_name from duckdb_tables() order by table_name").fetchall()
        return {name: con.execute(f'select * from "{name}"').df() for (name,) in names}
    finally:
        con.close()


def with_known_columns(rows: "pd.DataFrame", name: str) -> "pd.DataFrame":
    """Return rows of a table with the columns that a later version added, empty.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows as an older release holds them.
    name : str
        Table.

    Returns
    -------
    pandas.DataFrame
        The same rows; columns of the file first.
    """
    known = known_tables().get(name)
    missing = [] if known is None else [column for column in known.columns if column not in rows.columns]
    return rows.reindex(columns=[*rows.columns, *missing]) if missing else rows
