"""A release as it stood with one of its editions: what that month's committee could know."""

from typing import Any

import pandas as pd

from dashboards.data import Door, ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import start_of


class AsOf:
    """A door that shows a release as it stood with one of its editions.

    Parameters
    ----------
    door : Door
        The open release.
    edition : int
        Number of the edition.
    period : str
        Month; a start or completion after its end has not happened yet, also where the register was
        loaded later and an edition made for a month long past.
    """

    def __init__(self, door: Door, edition: int, period: str) -> None:
        self._door, self._edition, self._period = door, edition, period

    def table(self, name: str, **equals: Any) -> Frame:
        """Return the rows of one table that this edition holds."""
        rows = self._door.table(name, **equals)
        rows = rows[rows["edition"] <= self._edition].reset_index(drop=True)
        return known_by(rows, self._period) if name == "change" else rows


def as_of(door: Door, period: str) -> ReleaseFrames:
    """Return the frames of the edition that published a month.

    Parameters
    ----------
    door : Door
        The open release.
    period : str
        Month, such as ``2026-10``.

    Returns
    -------
    ReleaseFrames
        Those of the last edition made for the month; of the first one after it where there is none,
        and of the newest where there is none of these either.
    """
    editions = door.table("edition").sort_values("edition")
    own, later = editions[editions["period"] == period], editions[editions["period"] > period]
    row = own.iloc[-1] if len(own) else later.iloc[0] if len(later) else editions.iloc[-1]
    return ReleaseFrames(AsOf(door, int(row["edition"]), period))


def known_by(rows: Frame, period: str) -> Frame:
    """Return the entries of the register as they stood at the end of a month.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows of ``change``.
    period : str
        Month.

    Returns
    -------
    pandas.DataFrame
        Those planned or begun by then, those without any day, and those planned ahead; days of a start
        or completion after the month are empty and the status is the one before.
    """
    end = start_of(period) + pd.DateOffset(months=1)
    started, completed = pd.to_datetime(rows["started"]), pd.to_datetime(rows["completed"])
    status = rows["status"].astype(object)
    status = status.mask((status == "COMPLETE") & (completed >= end), "STARTED")
    status = status.mask((status == "STARTED") & (started >= end), "PLANNED")
    rows = rows.assign(
        started=started.where(started < end), completed=completed.where(completed < end), status=status
    )
    # An entry whose plan and start both lie after the month may not have been in the register then,
    # unless it is still a plan.
    first = pd.concat([pd.to_datetime(rows["planned"]), started, completed], axis=1).min(axis=1)
    was_there = first.isna() | (first < end) | (rows["status"].eq("PLANNED") & started.isna())
    return rows[was_there].reset_index(drop=True)
