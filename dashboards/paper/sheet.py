"""A figure that can stand alone: drawing, title, reading, who was counted, and the edition."""

import functools
import textwrap
from typing import Any

from dashboards.figures.calendar import CalendarPlot
from dashboards.figures.dose_curve import CurvePlot
from dashboards.figures.parts import PartsPlot
from dashboards.figures.register import RegisterPlot
from dashboards.figures.rows import RowsPlot
from dashboards.figures.series import SeriesPlot
from dashboards.figures.small import SmallPlots
from dashboards.paper import ink
from dashboards.paper.calendar import draw_calendar
from dashboards.paper.curve import draw_curve
from dashboards.paper.register import draw_register
from dashboards.paper.rows import draw_parts, draw_rows
from dashboards.paper.series import draw_series
from dashboards.paper.small import draw_multiples

WIDTH = 720.0
EDGE = 24.0


@functools.singledispatch
def drawing(plot: Any, width: float = WIDTH) -> ink.Drawing | None:
    """Return a plot of the rooms as a drawing on paper.

    Parameters
    ----------
    plot : object
        Plot description.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing or None
        None for a description that has no drawing on paper.
    """
    return None


@drawing.register
def _(plot: CurvePlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_curve(plot, width)


@drawing.register
def _(plot: RowsPlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_rows(plot, width)


@drawing.register
def _(plot: PartsPlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_parts(plot, width)


@drawing.register
def _(plot: SeriesPlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_series(plot, width)


@drawing.register
def _(plot: RegisterPlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_register(plot, width)


@drawing.register
def _(plot: CalendarPlot, width: float = WIDTH) -> ink.Drawing | None:
    return draw_calendar(plot, width)


@drawing.register
def _(plot: SmallPlots, width: float = WIDTH) -> ink.Drawing | None:
    return draw_multiples(plot, width)


def sheet(plot: Any, title: str, sentence: str, foot: str, source: str, font: str = ink.SANS) -> str | None:
    """Return a figure with all that belongs to it as one SVG document.

    Parameters
    ----------
    plot : object
        Plot description.
    title, sentence, foot : str
        Heading, reading, and who was counted; plain text.
    source : str
        Edition and hash, so that the figure can be traced.
    font : str
        Families to take type from.

    Returns
    -------
    str or None
        SVG; None for a description that has no drawing on paper.
    """
    drawn = drawing(plot)
    if drawn is None:
        return None
    y, marks = EDGE, [ink.box(0, 0, WIDTH + 2 * EDGE, 10_000, "#ffffff")]
    y = _written(marks, title, y + 6, 17, ink.TEXT, 700)
    y = _written(marks, sentence, y, 13, ink.TEXT) + 6
    marks.append(f'<g transform="translate({EDGE:g} {y:g})">{drawn.marks}</g>')
    y = _written(marks, foot, y + drawn.height + 14, 11, ink.MUTED)
    y = _written(marks, source, y, 11, ink.MUTED)
    return ink.Drawing(WIDTH + 2 * EDGE, y + EDGE - 8, "".join(marks)).svg(f"{title}. {sentence}", font)


def _written(marks: list[str], text: str, y: float, size: float, colour: str, weight: int = 400) -> float:
    for line in textwrap.wrap(text, int(WIDTH / (size * 0.5))):
        marks.append(ink.words((EDGE, y), line, colour, "start", size, weight))
        y += size * 1.4
    return y
