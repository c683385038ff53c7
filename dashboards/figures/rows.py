"""Rows read from top to bottom on one scale: a value, its interval, a zero line or a guide."""

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from dashboards import theme
from dashboards.figures.axes import positions
from dashboards.figures.drawing import ENDS, Drawing, Mark, line_height, named, segments, words
from dashboards.kinds import Frame

COLUMNS = ("label", "value", "low", "high", "kind", "text", "printed")
# Each kind of row has a shape and a hue; the word stands in the printed text.
LOOK = {
    "rising": ("triangle", theme.SOIL),
    "steady": ("square", theme.ASH),
    "easing": ("inverted_triangle", theme.INK),
    "too few answers": ("diamond", theme.ASH),
    "own": ("circle", theme.INK),
    "plain": ("circle", theme.ASH),
    "before": ("circle", theme.ASH),
    "after": ("square", theme.INK),
    "over guide": ("triangle", theme.SOIL),
}


@dataclass(frozen=True)
class RowsPlot:
    """What one row figure draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``, first row on top; a hidden row has no numbers and its
        reason as ``printed``.
    axis : str
        Name and unit of the horizontal axis.
    rows_axis : str
        What a row is.
    mark : float or None
        An upright line: zero of a change, or a guide.
    mark_label : str
        Words at that line.
    row_height : int
        Pixels a row.
    symmetric : bool
        Let the axis reach as far left as right, for changes.
    from_zero : bool
        Start the axis at zero; dots, unlike bars, may start nearer where differences matter.
    ratio : bool
        Values are ratios: half and double lie equally far from 1.
    """

    frame: Frame
    axis: str
    rows_axis: str
    mark: float | None = None
    mark_label: str = ""
    row_height: int = 27
    symmetric: bool = False
    from_zero: bool = True
    ratio: bool = False


# Places on an axis of ratios, within a tenfold; the first that names three of them or more is taken.
_LADDERS = ((1,), (1, 2, 5), (1, 1.5, 2, 3, 5, 7), (1, 1.2, 1.4, 1.6, 1.8, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9))
# A limit that is printed as 0.0 has no place on such an axis: it is drawn here, its number stands beside.
_LEAST_RATIO = 0.1


def draw(plot: RowsPlot) -> Drawing:
    """Draw rows with intervals.

    Parameters
    ----------
    plot : RowsPlot
        Rows and words of the figure.

    Returns
    -------
    Drawing
        Mark, intervals, points, words at the mark; always these layers.
    """
    plot = on_scale(plot)
    frame = plot.frame.reset_index(drop=True).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    low, high = reach(plot)
    known = frame[frame["value"].notna()]
    # Words at the mark take a line of their own above the rows; a lower one would cut their heads off.
    top = count + (1.3 if plot.mark is not None else 0.6)
    row_height = line_height(frame["label"], plot.row_height)
    return Drawing(
        marks=(_mark(plot, count), _intervals(known), _points(known), _mark_label(plot, count, low, high)),
        height=round(row_height * (top - 0.4)) + 74,
        x_range=(low, high),
        y_range=(0.4, top),
        x_name=plot.axis,
        y_name=plot.rows_axis,
        x_ticks=ratio_ticks(low, high) if plot.ratio else 3,
        y_ticks=named(frame["y"], frame["label"]),
        beside=list(zip(frame["y"], frame["printed"].astype(str), strict=True)),
    )


def on_scale(plot: RowsPlot) -> RowsPlot:
    """Return rows as they lie on their axis: ratios by their logarithms, all else as it is.

    Parameters
    ----------
    plot : RowsPlot
        Rows and words of the figure.

    Returns
    -------
    RowsPlot
        The same words.
    """
    if not plot.ratio:
        return plot
    placed = {
        name: np.log(plot.frame[name].astype(float).clip(lower=_LEAST_RATIO))
        for name in ("value", "low", "high")
    }
    mark = None if plot.mark is None else math.log(plot.mark)
    return replace(plot, frame=plot.frame.assign(**placed), mark=mark)


def ratio_ticks(low: float, high: float) -> list[tuple[float, str]]:
    """Return round ratios between two ends, three or more where they fit.

    Parameters
    ----------
    low, high : float
        Ends of the axis, logarithms of ratios.

    Returns
    -------
    list of (float, str)
        Place on the axis and the ratio's words.
    """
    tens = range(math.floor(low / math.log(10)), math.ceil(high / math.log(10)) + 1)
    found: list[tuple[float, str]] = []
    for ladder in _LADDERS:
        ratios = [step * 10.0**ten for ten in tens for step in ladder]
        found = [(math.log(ratio), f"{ratio:g}") for ratio in ratios if low <= math.log(ratio) <= high]
        if len(found) >= 3:
            break
    return found


def reach(plot: RowsPlot) -> tuple[float, float]:
    """Return both ends of the horizontal axis.

    Parameters
    ----------
    plot : RowsPlot
        Rows and words of the figure.

    Returns
    -------
    tuple of (float, float)
        Ends in the unit of the axis, with room for marks at the edge.
    """
    frame = plot.frame
    ends = [v for v in (*frame["low"], *frame["high"], *frame["value"]) if v is not None and v == v]
    ends += [] if plot.mark is None else [plot.mark]
    if not ends:
        return 0.0, 1.0
    if plot.symmetric:
        far = max(abs(min(ends)), abs(max(ends)), 5.0) * 1.08
        return -far, far
    least, most = (min(0.0, min(ends)) if plot.from_zero else min(ends)), max(ends)
    edge = (most - least) * 0.12 or 1.0
    return (least if plot.from_zero else least - edge), most + edge


def _mark(plot: RowsPlot, count: int) -> Mark:
    colour, dash = (theme.ASH, "solid") if plot.symmetric else (theme.SOIL, "dashed")
    rows = [(plot.mark, 0.4, plot.mark, count + 0.48, colour, dash)] if plot.mark is not None else []
    data = pd.DataFrame(rows, columns=[*ENDS, "hue", "dash"])
    return segments(data, theme.ASH, 1.4, looks={"line_color": "hue", "line_dash": "dash"})


def _intervals(known: Frame) -> Mark:
    rows = known[known["low"].notna()]
    data = {"x0": rows["low"], "y0": rows["y"], "x1": rows["high"], "y1": rows["y"]}
    hues = [LOOK[kind][1] for kind in rows["kind"]]
    return segments(data | {"hue": hues}, theme.ASH, 2.4, alpha=0.6, looks={"line_color": "hue"})


def _points(known: Frame) -> Mark:
    looks = [LOOK[kind] for kind in known["kind"]]
    rows = known.assign(shape=[shape for shape, _ in looks], hue=[hue for _, hue in looks])
    by_row = {"marker": "shape", "line_color": "hue", "fill_color": "hue"}
    return Mark("points", rows, ("value", "y"), {"color": theme.ASH, "size": 10}, by_row, tip=True)


def _mark_label(plot: RowsPlot, count: int, low: float, high: float) -> Mark:
    # Words lean inwards near an edge, or a narrow screen would cut them off.
    share = ((plot.mark or 0.0) - low) / (high - low)
    lean = "left" if share < 0.3 else "right" if share > 0.7 else "center"
    rows = [(plot.mark, count + 0.86, plot.mark_label)] if plot.mark is not None else []
    return words(rows, theme.ASH, "middle", lean)
