"""Shared drawing habits: time axes a reader can read, tooltips of plain text, quiet frames."""

from typing import Any

import pandas as pd
from bokeh.models import DatetimeTickFormatter, HoverTool

DAY = pd.Timedelta(days=1)


def month_ticks() -> DatetimeTickFormatter:
    """Return month labels such as ``Jul 2026``; never rotated, never a bare number."""
    form = "%b %Y"
    return DatetimeTickFormatter(
        days="%d %b", months=form, years=form, hours="%d %b", minutes="%d %b", seconds="%d %b"
    )


def tooltip() -> HoverTool:
    """Return a tooltip that shows the column ``text`` (escaped by the drawing library)."""
    return HoverTool(tooltips=[("", "@text")], visible=False, point_policy="snap_to_data")


def quiet(**more: Any) -> dict[str, Any]:
    """Return the options of one overlay.

    Parameters
    ----------
    **more : object
        Options of this figure.

    Returns
    -------
    dict of str to object
        Options with our defaults below them.
    """
    return {
        "responsive": True,
        "toolbar": None,
        "default_tools": [],
        "show_legend": False,
        "show_grid": False,
        "shared_axes": False,
        "framewise": True,
        "border": 2,
        "backend_opts": {"plot.min_border_right": 12, "plot.min_border_top": 8},
        **more,
    }


def positions(count: int) -> list[int]:
    """Return vertical places of ``count`` rows read from top to bottom."""
    return list(range(count, 0, -1))
