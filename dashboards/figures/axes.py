"""Shared drawing habits: time axes a reader can read, rows from top to bottom."""

import pandas as pd

from dashboards.kinds import Day
from dashboards.labels import MONTHS

DAY = pd.Timedelta(days=1)
# Steps between labels, in months; the first that leaves few enough labels is used.
STEPS = (1, 2, 3, 6, 12, 24, 48)


def month_ticks(first: Day, last: Day, most: int = 6) -> list[tuple[float, str]]:
    """Return the labelled places of a time axis, on firsts of a month, never past the data.

    Parameters
    ----------
    first, last : pandas.Timestamp
        First and last drawn day.
    most : int, default 6
        Most labels that fit without touching.

    Returns
    -------
    list of (float, str)
        Milliseconds since 1970 and a label: the month, and the year under the first one and each January.
    """
    months = pd.date_range(first.replace(day=1), last, freq="MS")
    for step in STEPS:
        kept = [day for day in months if (day.year * 12 + day.month - 1) % step == 0 and day >= first]
        if len(kept) <= most:
            break
    kept = kept or [first]
    return [
        (
            day.timestamp() * 1000,
            MONTHS[day.month - 1][:3] + (f"\n{day.year}" if day.month == 1 or day == kept[0] else ""),
        )
        for day in kept
    ]


def positions(count: int) -> list[int]:
    """Return vertical places of ``count`` rows read from top to bottom."""
    return list(range(count, 0, -1))
