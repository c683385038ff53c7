"""A drawing as a plot of the drawing library: made once for each figure of a page."""

from typing import Any

import holoviews as hv
import pandas as pd
from bokeh.models import HoverTool

from dashboards import theme
from dashboards.figures.drawing import Drawing, Mark
from dashboards.figures.fed import feed
from dashboards.kinds import Layer
from dashboards.labels import plain

ELEMENT = {
    "segments": hv.Segments,
    "curve": hv.Curve,
    "points": hv.Points,
    "rectangles": hv.Rectangles,
    "labels": hv.Labels,
    "area": hv.Area,
}


def tooltip() -> HoverTool:
    """Return a tooltip that shows the column ``text`` (escaped by the drawing library)."""
    return HoverTool(tooltips=[("", "@text")], visible=False, point_policy="snap_to_data")


def overlay(drawing: Drawing) -> Layer:
    """Return a drawing as layers of one plot.

    Parameters
    ----------
    drawing : Drawing
        What to draw.

    Returns
    -------
    holoviews.Overlay
        One element a mark, in the order of the drawing.
    """

    def finish(plot: Any, _element: Any) -> None:
        # The plot's own ideas of ends, ticks and colours by row give way to the drawing's, by the same
        # road as each later change: what is fed and what is drawn anew cannot differ.
        feed(plot.state, drawing)
        _plain(plot.state, drawing)

    return hv.Overlay([_element(mark) for mark in drawing.marks]).opts(
        responsive=True,
        height=drawing.height,
        toolbar=None,
        default_tools=[],
        show_legend=False,
        show_grid=False,
        shared_axes=False,
        framewise=True,
        xlim=tuple(drawing.x_range),
        ylim=tuple(drawing.y_range),
        xlabel=drawing.x_name,
        ylabel="",
        title=plain(drawing.y_name),
        fontsize={"title": "13px"},
        xticks=_ticks(drawing.x_ticks),
        yticks=_ticks(drawing.y_ticks),
        hooks=[finish],
        backend_opts={
            "plot.min_border_right": 12,
            "plot.title.text_font_style": "normal",
            "plot.title_location": "above",
            "plot.outline_line_color": None,
        },
    )


def _plain(figure: Any, drawing: Drawing) -> None:
    # The library's habits are italic names, small ticks between ticks and lines both ways. Lines across help
    # to read values: from where values stand, and nowhere else.
    # Sizes of type are multiplied by the size around, which is another one until the styles have come.
    figure.styles = {"font-size": "12px"}
    values_up = isinstance(drawing.y_ticks, int)
    values_level = not values_up and not isinstance(drawing.x_range[0], pd.Timestamp)
    for grid, shown in ((figure.ygrid, values_up), (figure.xgrid, values_level)):
        for lines in grid:
            lines.visible = shown
    for axis in {*figure.xaxis, *figure.yaxis, *figure.right}:
        axis.update(
            axis_label_text_font=theme.FONT,
            axis_label_text_font_style="normal",
            axis_label_text_font_size="13px",
            major_label_text_font=theme.FONT,
            major_label_text_font_size="12px",
            minor_tick_in=0,
            minor_tick_out=0,
        )


def _element(mark: Mark) -> Layer:
    tools = {"tools": [tooltip()]} if mark.tip else {}
    kdims, vdims = (
        (list(mark.at[:1]), [*mark.at[1:], *mark.more])
        if mark.kind in ("curve", "area")
        else (list(mark.at), list(mark.more))
    )
    return ELEMENT[mark.kind](mark.frame, kdims, vdims).opts(**mark.style, **tools)


def _ticks(ticks: Any) -> Any:
    return ticks if isinstance(ticks, int) else list(ticks)
