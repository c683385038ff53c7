"""Rows with intervals, and bars of parts, on paper."""

import textwrap
from collections.abc import Callable

from dashboards import theme
from dashboards.figures.parts import PartsPlot
from dashboards.figures.rows import LOOK, RowsPlot, on_scale, ratio_ticks, reach
from dashboards.kinds import Frame, Row
from dashboards.labels import number
from dashboards.paper import ink

ROW, HEAD, FOOT = 19.0, 30.0, 36.0
Place = Callable[[float], float]


def draw_rows(plot: RowsPlot, width: float) -> ink.Drawing:
    """Draw values with intervals, first row on top.

    Parameters
    ----------
    plot : RowsPlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    plot = on_scale(plot)
    low, high = reach(plot)
    left, right, heights, height = _frame(plot.frame, width)
    x = _scale(low, high, left, right)
    ticks = ratio_ticks(low, high) if plot.ratio else _ticks(low, high)
    marks = [_head(plot.rows_axis), _axis(x, ticks, height, plot.axis, left, right)]
    if plot.mark is not None:
        dash, hue = ("", theme.ASH) if plot.symmetric else ("5 3", theme.SOIL)
        marks.append(ink.line((x(plot.mark), HEAD - 6), (x(plot.mark), height - FOOT), hue, 1.4, dash))
        anchor = "middle" if left + 60 < x(plot.mark) < right - 60 else "end"
        marks.append(ink.words((x(plot.mark), HEAD - 14), plot.mark_label, ink.MUTED, anchor, 11))
    for y, row in zip(heights, plot.frame.to_dict("records"), strict=True):
        marks += _ends(row, y, right)
        if row["value"] == row["value"]:
            shape, hue = LOOK[row["kind"]]
            if row["low"] == row["low"]:
                marks.append(ink.line((x(row["low"]), y), (x(row["high"]), y), hue, 2.4, alpha=0.6))
            marks.append(ink.mark(shape, x(row["value"]), y, hue))
    return ink.Drawing(width, height, "".join(marks))


def draw_parts(plot: PartsPlot, width: float) -> ink.Drawing:
    """Draw what hours are made of as bars from zero.

    Parameters
    ----------
    plot : PartsPlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    known = plot.frame["value"].dropna()
    top = float(known.max()) * 1.06 if len(known) and known.max() > 0 else 1.0
    left, right, heights, height = _frame(plot.frame, width)
    x = _scale(0.0, top, left, right)
    marks = [_head(plot.rows_axis), _axis(x, _ticks(0.0, top), height, plot.axis, left, right)]
    for y, row in zip(heights, plot.frame.to_dict("records"), strict=True):
        marks += _ends(row, y, right)
        if row["value"] == row["value"]:
            marks.append(ink.box(left, y - 6, x(row["value"]) - left, 12, theme.INK, 0.8))
    return ink.Drawing(width, height, "".join(marks))


def _frame(frame: Frame, width: float) -> tuple[float, float, list[float], float]:
    """Return left and right of the plot, the height of each row, and the height of all."""
    left = min(max((ink.wide(str(v)) for v in frame["label"]), default=40.0), width * 0.38) + 10
    right = width - min(max((ink.wide(str(v)) for v in frame["printed"]), default=40.0), width * 0.34) - 14
    heights, y = [], HEAD
    for row in frame.to_dict("records"):
        lines = len(_folded(str(row["printed"]), width * 0.34))
        heights.append(y + (ROW + (lines - 1) * 13) / 2)
        y += ROW + (lines - 1) * 13
    return left, right, heights, y + FOOT


def _folded(text: str, width: float) -> list[str]:
    return textwrap.wrap(text, max(int(width / ink.wide("n")), 12)) or [""]


def _ends(row: Row, y: float, right: float) -> list[str]:
    lines = _folded(str(row["printed"]), (right + 14) * 0.34 / 0.66)
    first = y - (len(lines) - 1) * 6.5
    hue = ink.TEXT if row["value"] == row["value"] else ink.MUTED
    return [
        ink.words((0, y), _short(str(row["label"]))),
        *(ink.words((right + 12, first + k * 13), text, hue) for k, text in enumerate(lines)),
    ]


def _short(text: str) -> str:
    return text if len(text) <= 36 else f"{text[:35].rstrip()}\u2026"


def _head(words: str) -> str:
    return ink.words((0, HEAD - 14), words, ink.MUTED, size=11)


def _scale(low: float, high: float, left: float, right: float) -> Place:
    span = (high - low) or 1.0
    return lambda value: left + (right - left) * (float(value) - low) / span


def _ticks(low: float, high: float) -> list[tuple[float, str]]:
    steps = ink.round_steps(low, high)
    digits = 0 if all(float(s).is_integer() for s in steps) else 1
    return [(step, number(step, digits)) for step in steps]


def _axis(
    x: Place, ticks: list[tuple[float, str]], height: float, name: str, left: float, right: float
) -> str:
    base = height - FOOT
    marks = [ink.line((left, base), (right, base), ink.MUTED, 0.8)]
    for step, text in ticks:
        marks.append(ink.line((x(step), HEAD - 2), (x(step), base + 4), ink.RULE, 0.7))
        marks.append(ink.words((x(step), base + 12), text, ink.MUTED, "middle", 11))
    middle = min(max((left + right) / 2, ink.wide(name, 11) / 2), right + 130 - ink.wide(name, 11) / 2)
    marks.append(ink.words((middle, base + 27), name, ink.MUTED, "middle", 11))
    return "".join(marks)
