"""Small multiples as markup: a group's months in a few hundred bytes, ten to a screen.

Ten plots of a drawing library would cost ten plots' time for a page and for each change of it; these
cost none, wrap on any width, print, and follow the page's light or dark text colour.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from dashboards import theme
from dashboards.figures.axes import month_ticks
from dashboards.kinds import Day, Frame, Row
from dashboards.labels import safe

WIDTH, HEIGHT = 250.0, 118.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 8.0, 8.0, 20.0
Place = Callable[[Any], float]


@dataclass(frozen=True)
class SmallPlot:
    """What one small multiple draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with ``series``, ``x``, ``value``, ``low``, ``high`` and ``text``, ``smooth`` where a line
        is published, and ``begins`` where another way of counting begins; hidden rows have no numbers.
    top : float
        Top of the axis, %, the same for all multiples of a page.
    words : str
        The reading, for those who do not see the drawing.
    """

    frame: Frame
    top: float
    words: str


@dataclass(frozen=True)
class SmallPlots:
    """Small multiples that belong together, by their titles."""

    plots: dict[str, SmallPlot]


def draw(plot: SmallPlot) -> str:
    """Return one small multiple.

    Parameters
    ----------
    plot : SmallPlot
        Rows and the common top.

    Returns
    -------
    str
        SVG with a title for each point; text is escaped.
    """
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" class="small" '
        f'role="img" aria-label="{safe(plot.words)}">'
        f"{marks(plot)}</svg>"
    )


def marks(plot: SmallPlot) -> str:
    """Return the strokes, points and words of one small multiple.

    Parameters
    ----------
    plot : SmallPlot
        Rows and the common top.

    Returns
    -------
    str
        SVG elements; text is escaped.
    """
    frame = plot.frame
    first, last = frame["x"].min(), frame["x"].max()
    span = max((last - first).days, 30)

    def x(day: Day) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (day - first).days / span

    def y(value: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (1 - value / plot.top)

    parts = [_grid(plot.top, y), _months(first, last, x)]
    parts += [_line(frame[frame["series"] == "other"], x, y, theme.ASH, 1.2)]
    own = frame[frame["series"] == "own"]
    if "begins" in own:
        parts += [_begin(row, x) for row in own[own["begins"].eq(True)].itertuples()]
    parts += [_bar(row, x, y) for row in own[own["low"].notna()].itertuples()]
    # The smooth line takes the place of strokes from point to point, which invite reading single jumps.
    smooth = own.assign(value=own["smooth"]) if "smooth" in own and own["smooth"].notna().any() else own
    parts += [_line(smooth, x, y, theme.INK, 1.8)]
    parts += [_point(row, x, y, row.x == own["x"].max()) for row in own.itertuples()]
    return "".join(parts)


def _grid(top: float, y: Place) -> str:
    step = 10 if top <= 35 else 20 if top <= 65 else 25
    lines = []
    for value in range(0, int(top) + 1, step):
        lines.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y(value):.1f}" y2="{y(value):.1f}" class="grid"/>'
            f'<text x="{LEFT - 4}" y="{y(value) + 3.5:.1f}" text-anchor="end">{value}\u2009%</text>'
        )
    return "".join(lines)


def _months(first: Day, last: Day, x: Place) -> str:
    marks = []
    for at, label in month_ticks(first, last, 3):
        day = pd.Timestamp(at, unit="ms")
        # Words near the right end keep inside, or the drawing's edge would cut them off.
        anchor = "end" if x(day) > WIDTH - 30 else "middle"
        marks.append(
            f'<line x1="{x(day):.1f}" x2="{x(day):.1f}" y1="{HEIGHT - BOTTOM}" '
            f'y2="{HEIGHT - BOTTOM + 4}" '
            f'class="tick"/>'
            f'<text x="{x(day):.1f}" y="{HEIGHT - 5}" text-anchor="{anchor}">'
            f"{label.replace(chr(10), ' ')}</text>"
        )
    return "".join(marks)


def _line(rows: Frame, x: Place, y: Place, colour: str, width: float) -> str:
    # A hidden month breaks the line: drawing through it would invent a value. So does a new way of counting.
    runs: list[list[str]] = [[]]
    for row in rows.sort_values("x").itertuples():
        if getattr(row, "begins", False) is True:
            runs.append([])
        if row.value == row.value:
            runs[-1].append(f"{x(row.x):.1f},{y(row.value):.1f}")
        elif runs[-1]:
            runs.append([])
    return "".join(
        f'<polyline points="{" ".join(run)}" fill="none" stroke="{colour}" stroke-width="{width}"/>'
        for run in runs
        if len(run) > 1
    )


def _begin(row: Row, x: Place) -> str:
    return (
        f'<line x1="{x(row.x) - 2:.1f}" x2="{x(row.x) - 2:.1f}" y1="{TOP}" y2="{HEIGHT - BOTTOM}" '
        f'stroke="{theme.ASH}" stroke-width="1" stroke-dasharray="2 3"/>'
    )


def _bar(row: Row, x: Place, y: Place) -> str:
    return (
        f'<line x1="{x(row.x):.1f}" x2="{x(row.x):.1f}" y1="{y(row.low):.1f}" y2="{y(row.high):.1f}" '
        f'stroke="{theme.INK}" stroke-width="2.4" opacity=".42"/>'
    )


def _point(row: Row, x: Place, y: Place, newest: bool) -> str:
    title = f"<title>{safe(row.text)}</title>"
    if row.value != row.value:
        cx, cy = x(row.x), HEIGHT - BOTTOM - 4
        return (
            f'<path d="M{cx - 2.5:.1f} {cy - 2.5:.1f}l5 5m0 -5l-5 5" stroke="{theme.ASH}" '
            f'stroke-width="1.3">{title}</path>'
        )
    size = 3.4 if newest else 1.7
    return (
        f'<circle cx="{x(row.x):.1f}" cy="{y(row.value):.1f}" r="{size}" fill="{theme.INK}">{title}</circle>'
    )
