"""A time axis on paper, shared by months and the register."""

from collections.abc import Callable

import pandas as pd

from dashboards.figures.axes import month_ticks
from dashboards.kinds import Day
from dashboards.paper import ink

AcrossTime = Callable[[Day], float]


def across(first: Day, last: Day, left: float, right: float, least_days: int = 60) -> AcrossTime:
    """Return where a day stands between two edges.

    Parameters
    ----------
    first, last : pandas.Timestamp
        First and last drawn day.
    left, right : float
        Edges of the plot.
    least_days : int, default 60
        Days that the axis covers at least.

    Returns
    -------
    callable
        Day -> x.
    """
    span = max((last - first).total_seconds(), least_days * 86400.0)

    def x(day: Day) -> float:
        return left + (right - left) * (0.02 + 0.96 * (day - first).total_seconds() / span)

    return x


def time_axis(x: AcrossTime, first: Day, last: Day, base: float, edges: tuple[float, float]) -> str:
    """Return the axis line, a tick at each labelled month, and the labels.

    Parameters
    ----------
    x : callable
        Day -> x.
    first, last : pandas.Timestamp
        First and last drawn day.
    base : float
        Height of the axis.
    edges : tuple of float
        Left and right end.

    Returns
    -------
    str
        SVG.
    """
    marks = [ink.line((edges[0], base), (edges[1], base), ink.MUTED, 0.8)]
    for milliseconds, label in month_ticks(first, last):
        place = x(pd.Timestamp(int(milliseconds), unit="ms"))
        marks.append(ink.line((place, base), (place, base + 4), ink.MUTED, 0.8))
        for k, text in enumerate(label.split("\n")):
            marks.append(ink.words((place, base + 12 + k * 12), text, ink.MUTED, "middle", 11))
    return "".join(marks)
