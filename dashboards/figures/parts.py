"""What a group's pipetting hours are made of: one bar a part, longest on top."""

from dataclasses import dataclass

import pandas as pd

from dashboards import theme
from dashboards.figures.axes import positions
from dashboards.figures.drawing import ENDS, Drawing, Mark, line_height, named
from dashboards.kinds import Frame

COLUMNS = ("label", "value", "printed", "text")
_LOOK = {"color": theme.INK, "line_width": 0, "alpha": 0.8}


@dataclass(frozen=True)
class PartsPlot:
    """What one composition figure draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``, first row on top; a hidden row has no value and its
        reason as ``printed``.
    rows_axis : str
        What a row is: task, instrument or weekday.
    lines : int
        How many rows the figure has room for; those not needed stay empty, at the bottom.
    axis : str
        Name and unit of the horizontal axis.
    """

    frame: Frame
    rows_axis: str
    lines: int
    axis: str = "Pipetting, hours per person and week"


def draw(plot: PartsPlot) -> Drawing:
    """Draw the bars.

    Parameters
    ----------
    plot : PartsPlot
        Parts of the hours.

    Returns
    -------
    Drawing
        Bars from zero.
    """
    count = max(len(plot.frame), plot.lines, 1)
    frame = plot.frame.reset_index(drop=True).assign(y=positions(count)[: len(plot.frame)])
    top = float(frame["value"].max()) if frame["value"].notna().any() else 1.0
    top = top or 1.0
    known = frame[frame["value"].notna()]
    ends = {"x0": 0.0, "y0": known["y"] - 0.3, "x1": known["value"].astype(float), "y1": known["y"] + 0.3}
    bars = pd.DataFrame(ends).assign(text=known["text"])
    return Drawing(
        marks=(Mark("rectangles", bars, ENDS, _LOOK, tip=True),),
        height=line_height(frame["label"], 26) * count + 72,
        x_range=(0, top * 1.06),
        y_range=(0.4, count + 0.6),
        x_name=plot.axis,
        y_name=plot.rows_axis,
        x_ticks=4,
        y_ticks=named(frame["y"], frame["label"]),
        beside=list(zip(frame["y"], frame["printed"].astype(str), strict=True)),
    )
