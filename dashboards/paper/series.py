"""Months with intervals on paper: the chosen group, the comparison, a guide and marked days."""

import textwrap
from collections.abc import Callable
from typing import Any

from dashboards import theme
from dashboards.figures.series import SeriesPlot, ends, extent
from dashboards.kinds import Day, Frame
from dashboards.labels import number
from dashboards.paper import ink, times

HEAD, FOOT = 26.0, 46.0
Place = Callable[[Day, Any], tuple[float, float]]
# Series, hue, width of an interval, width of the line.
_LOOKS = (("other", theme.ASH, 1.5, 1.3), ("own", theme.INK, 2.6, 1.9))


def draw_series(plot: SeriesPlot, width: float) -> ink.Drawing:
    """Draw months with intervals.

    Parameters
    ----------
    plot : SeriesPlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    height = float(plot.height)
    first, last, top = extent(plot)
    beside = [(value, textwrap.shorten(text, 30, placeholder="\u2026")) for value, text in ends(plot, top)]
    steps = ink.round_steps(0.0, top)
    digits = 0 if all(float(s).is_integer() for s in steps) else 1
    left = max(ink.wide(number(s, digits), 11) for s in steps) + 12
    right = width - max((ink.wide(text) for _, text in beside), default=20.0) - 16
    base = height - FOOT
    x = times.across(first, last, left, right)

    def place(day: Day, value: Any) -> tuple[float, float]:
        return x(day), base - (base - HEAD) * float(value) / top

    marks = [ink.words((0, HEAD - 16), plot.axis, ink.MUTED, size=11)]
    for step in steps:
        y = place(first, step)[1]
        marks.append(ink.line((left, y), (right, y), ink.RULE, 0.7))
        marks.append(ink.words((left - 6, y), number(step, digits), ink.MUTED, "end", 11))
    marks.append(times.time_axis(x, first, last, base, (left, right)))
    marks.append(ink.words((right + 8, base + 12), plot.time, ink.MUTED, size=11))
    if plot.guide is not None:
        y = place(first, plot.guide)[1]
        marks.append(ink.line((left, y), (right, y), theme.SOIL, 1.5, "5 3"))
    for day, text in plot.marks:
        head = place(day, top * 0.93)
        marks.append(ink.line(head, (head[0], base), theme.SOIL, 1.6, "2 3"))
        marks.append(ink.words((head[0] + 4, head[1] + 6), text, ink.MUTED, size=11))
    for series, hue, bar, stroke in _LOOKS:
        marks += _series(plot.frame[plot.frame["series"] == series], place, hue, bar, stroke)
    marks += [ink.words((right + 8, place(first, value)[1]), text) for value, text in beside]
    return ink.Drawing(width, height, "".join(marks))


def _series(rows: Frame, place: Place, hue: str, bar: float, stroke: float) -> list[str]:
    marks: list[str] = []
    run: list[tuple[float, float]] = []
    # A hidden month breaks the line: drawing through it would invent a value.
    for row in rows.sort_values("x").to_dict("records"):
        if row["value"] != row["value"]:
            marks.append(ink.path(run, hue, stroke))
            run = []
            x, base = place(row["x"], 0)
            marks.append(ink.mark("x", x, base - 6, theme.ASH, 4))
            continue
        run.append(place(row["x"], row["value"]))
        if row["low"] == row["low"]:
            low, high = place(row["x"], row["low"]), place(row["x"], row["high"])
            marks.append(ink.line(low, high, hue, bar, alpha=0.4))
        if hue == theme.INK:
            marks.append(ink.mark("circle", *run[-1], hue, 2.4))
    return [*marks, ink.path(run, hue, stroke)]
