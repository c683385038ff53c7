"""The smooth line through published percentages: what the eye should follow where single periods jump."""

from collections.abc import Iterable
from itertools import groupby

import numpy as np

from etl.case_rules import series_start
from etl.release_ledger import MONTH_KIND, QUARTER_KIND
from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.disclosure import percent_of
from models.ewma import ewma

Published = tuple[str, int | None, int]
"""Period, published count (none where hidden) and answers."""

Head = tuple[str, str, str, str]
"""Period, kind of period, level and unit."""

ALL_REGIONS = "ALL"
_SPAN = {MONTH_KIND: "month", QUARTER_KIND: "quarter"}


def smooth_rows(job: Job) -> list[Row]:
    """Return the rows of table ``smooth``: the newest point of each unit's and region's smooth line.

    Made of published counts alone, so that it tells nothing they do not. A new series of the case
    definition begins a new line.

    Parameters
    ----------
    job : Job
        Edition in the making, its counts already in the ledger.

    Returns
    -------
    list of tuple
        Rows without the edition number; none for a unit and region whose newest period is hidden.
    """
    month, begun = job.month, series_start(job.settings.symptoms, job.month)
    quarter = month.quarter if month.is_quarter_end else ""
    found = job.con.execute(
        sql("release/620_smooth_series"),
        {
            "month_kind": MONTH_KIND, "quarter_kind": QUARTER_KIND, "month": str(month), "quarter": quarter,
            "month_from": begun, "quarter_from": _quarter_of(begun),
        },
    ).fetchall()  # fmt: skip
    newest = {MONTH_KIND: str(month), QUARTER_KIND: quarter}
    lines: dict[Head, dict[str, float]] = {}
    for (kind, level, unit, region), group in groupby(found, key=lambda row: row[:4]):
        points: list[Published] = [(period, count, n) for *_, period, count, n in group]
        if points[-1][0] == newest[kind] and points[-1][1] is not None:
            line = lines.setdefault((newest[kind], _SPAN[kind], level, unit), {})
            line[region] = smoothed(points)
    regions = len({region for _, _, _, region, *_ in found})
    for line in lines.values():
        # As for the average itself: only where every region has a point, so that lines stay comparable.
        if len(line) == regions:
            line[ALL_REGIONS] = round(sum(line.values()) / regions, 1)
    return [(*head, region, percent) for head, line in lines.items() for region, percent in line.items()]


def smoothed(points: Iterable[Published]) -> float:
    """Return the newest value of the smooth line through published percentages.

    Parameters
    ----------
    points : iterable of tuple
        Periods in order, the newest not hidden.

    Returns
    -------
    float
        Percent to one decimal; the line begins at the first published value.
    """
    shown = [np.nan if count is None else percent_of(count, n) for _, count, n in points]
    begin = next(value for value in shown if value == value)
    return round(float(ewma(shown, begin)[-1]), 1)


def _quarter_of(month: str) -> str:
    # Months and quarters sort apart; a series begins with the first month of a quarter.
    return f"{month[:5]}Q{(int(month[5:]) + 2) // 3}" if month else ""
