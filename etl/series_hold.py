"""Survey files asked in another way than before are held: two ways of asking are no one series."""

from collections.abc import Collection
from pathlib import Path

import duckdb

from etl.filechecks import refuse
from etl.late import Note
from etl.sqlfiles import sql
from etl.staging import Staged
from models.questionnaire import one_series

IDENTITY = ("questionnaire", "version", "scale", "mode")
LEAST_SHARE = 0.2
"""Share of people asked in another way than before from which a file is held; fewer have changed site."""


def hold_series(
    con: duckdb.DuckDBPyConnection, staged: Staged, confirmed: Collection[str], path: Path
) -> list[Note]:
    """Hold a survey file that asks people in another way than their last one did.

    Nothing is mixed by a confirmation: a rating on another scale than that of the series in the settings
    counts nowhere (`etl.case_rules`).

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, after the checks of rows.
    staged : Staged
        What was staged.
    confirmed : collection of str
        ``series`` where a person says that the file belongs here.
    path : Path
        The file, for messages.

    Returns
    -------
    list of tuple
        ``W_SERIES``, column and people of what was confirmed, or of few people who were asked otherwise.

    Raises
    ------
    FileRefused
        E_SERIES.
    """
    if staged.contract.name != "surveys":
        return []
    found = con.execute(sql("load/090_other_series")).fetchall()
    people = sum(row[-1] for row in found)
    other = [row for row in found if tuple(row[:4]) != tuple(row[4:8])]
    asked = sum(row[-1] for row in other)
    if not asked:
        return []
    if asked >= LEAST_SHARE * people and "series" not in confirmed:
        most = max(other, key=lambda row: row[-1])
        said = one_series(tuple(most[:4]), tuple(most[4:8]))
        raise refuse(
            "E_SERIES", f"{asked} of {people} people were asked in another way than before: {said}", path,
            "Begin a new series in the settings or bridge the scales (evenhand bridge), then load with "
            "--confirm-series.",
        )  # fmt: skip
    return [("W_SERIES", "+".join(IDENTITY), asked)]
