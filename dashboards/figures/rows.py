"""Rows read from top to bottom on one scale: a value, its interval, a zero line or a guide."""

from dataclasses import dataclass

import holoviews as hv
import pandas as pd

from dashboards import theme
from dashboards.figures.axes import axis_name, positions, printed_beside, quiet, tooltip
from dashboards.kinds import Frame, Layer
from dashboards.labels import plain

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
    """

    frame: Frame
    axis: str
    rows_axis: str
    mark: float | None = None
    mark_label: str = ""
    row_height: int = 27
    symmetric: bool = False
    from_zero: bool = True


def draw(plot: RowsPlot) -> Layer:
    """Draw rows with intervals.

    Parameters
    ----------
    plot : RowsPlot
        Rows and words of the figure.

    Returns
    -------
    holoviews.Overlay
        Mark, intervals, points, words at the mark; always these layers.
    """
    frame = plot.frame.reset_index(drop=True).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    low, high = reach(plot)
    known = frame[frame["value"].notna()]
    layers = [_mark(plot, count), _intervals(known), _points(known), _mark_label(plot, count, low, high)]
    ticks = [(int(row.y), plain(row.label)) for row in frame.itertuples()]
    return hv.Overlay(layers).opts(
        **quiet(
            height=plot.row_height * count + 78,
            xlim=(low, high),
            ylim=(0.4, count + 0.95),
            xlabel=plot.axis,
            **axis_name(plot.rows_axis),
            yticks=ticks or [(1, "")],
            xticks=3,
            hooks=[printed_beside([(int(row.y), str(row.printed)) for row in frame.itertuples()])],
        )
    )


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


def _mark(plot: RowsPlot, count: int) -> Layer:
    ends = ([plot.mark], [0.4], [plot.mark], [count + 0.6]) if plot.mark is not None else ([], [], [], [])
    data = dict(zip(("x0", "y0", "x1", "y1"), ends, strict=True))
    dash = "solid" if plot.symmetric else "dashed"
    colour = theme.ASH if plot.symmetric else theme.SOIL
    return hv.Segments(data, ["x0", "y0", "x1", "y1"]).opts(color=colour, line_width=1.4, line_dash=dash)


def _intervals(known: Frame) -> Layer:
    rows = known[known["low"].notna()]
    data = pd.DataFrame({"x0": rows["low"], "y0": rows["y"], "x1": rows["high"], "y1": rows["y"]})
    data["hue"] = [LOOK[kind][1] for kind in rows["kind"]]
    return hv.Segments(data, ["x0", "y0", "x1", "y1"], "hue").opts(color="hue", line_width=2.4, alpha=0.6)


def _points(known: Frame) -> Layer:
    looks = [LOOK[kind] for kind in known["kind"]]
    rows = known.assign(shape=[shape for shape, _ in looks], hue=[hue for _, hue in looks])
    return hv.Points(rows, ["value", "y"], ["text", "shape", "hue"]).opts(
        marker="shape", color="hue", size=10, tools=[tooltip()]
    )


def _mark_label(plot: RowsPlot, count: int, low: float, high: float) -> Layer:
    # Words lean inwards, or a mark near the edge would have them cut off.
    lean = "center" if plot.symmetric else "right" if (plot.mark or 0.0) > (low + high) / 2 else "left"
    words = [(plot.mark, count + 0.78, plain(plot.mark_label))] if plot.mark is not None else []
    data = pd.DataFrame(words, columns=["x", "y", "label"])
    return hv.Labels(data, ["x", "y"], "label").opts(
        text_align=lean, text_font_size="12px", text_color=theme.ASH, text_baseline="middle"
    )
