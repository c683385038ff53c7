"""What a group's pipetting hours are made of: one bar a part, longest on top."""

from dataclasses import dataclass

import holoviews as hv
import pandas as pd

from dashboards import theme
from dashboards.figures.axes import axis_name, positions, printed_beside, quiet, tooltip
from dashboards.kinds import Frame, Layer
from dashboards.labels import plain

COLUMNS = ("label", "value", "printed", "text")


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
    axis : str
        Name and unit of the horizontal axis.
    """

    frame: Frame
    rows_axis: str
    axis: str = "Pipetting, hours per person and week"


def draw(plot: PartsPlot) -> Layer:
    """Draw the bars.

    Parameters
    ----------
    plot : PartsPlot
        Parts of the hours.

    Returns
    -------
    holoviews.Overlay
        Bars from zero.
    """
    frame = plot.frame.reset_index(drop=True).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    top = float(frame["value"].max()) if frame["value"].notna().any() else 1.0
    top = top or 1.0
    known = frame[frame["value"].notna()]
    ends = {"x0": 0.0, "y0": known["y"] - 0.3, "x1": known["value"].astype(float), "y1": known["y"] + 0.3}
    bars = pd.DataFrame(ends).assign(text=known["text"])
    drawn = hv.Rectangles(bars, ["x0", "y0", "x1", "y1"], ["text"]).opts(
        color=theme.INK, line_width=0, alpha=0.8, tools=[tooltip()]
    )
    return hv.Overlay([drawn]).opts(
        **quiet(
            height=26 * count + 72,
            xlim=(0, top * 1.06),
            ylim=(0.4, count + 0.6),
            xlabel=plot.axis,
            **axis_name(plot.rows_axis),
            xticks=4,
            yticks=[(int(row.y), plain(row.label)) for row in frame.itertuples()] or [(1, "")],
            hooks=[printed_beside([(int(row.y), str(row.printed)) for row in frame.itertuples()])],
        )
    )
