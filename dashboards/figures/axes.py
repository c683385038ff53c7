"""Shared drawing habits: time axes a reader can read, printed values, tooltips of plain text."""

import textwrap
from collections.abc import Callable, Sequence
from typing import Any

import pandas as pd
from bokeh.models import FixedTicker, HoverTool, LinearAxis

from dashboards.kinds import Day
from dashboards.labels import MONTHS, plain

DAY = pd.Timedelta(days=1)
# Steps between labels, in months; the first that leaves few enough labels is used.
STEPS = (1, 2, 3, 6, 12, 24, 48)


def month_ticks(first: Day, last: Day, most: int = 6) -> list[tuple[float, str]]:
    """Return the labelled places of a time axis, on firsts of a month, never past the data.

    Parameters
    ----------
    first, last : pandas.Timestamp
        First and last drawn day.
    most : int, default 6
        Most labels that fit without touching.

    Returns
    -------
    list of (float, str)
        Milliseconds since 1970 and a label: the month, and the year under the first one and each January.
    """
    months = pd.date_range(first.replace(day=1), last, freq="MS")
    for step in STEPS:
        kept = [day for day in months if (day.year * 12 + day.month - 1) % step == 0 and day >= first]
        if len(kept) <= most:
            break
    kept = kept or [first]
    return [
        (
            day.timestamp() * 1000,
            MONTHS[day.month - 1][:3] + (f"\n{day.year}" if day.month == 1 or day == kept[0] else ""),
        )
        for day in kept
    ]


def tooltip() -> HoverTool:
    """Return a tooltip that shows the column ``text`` (escaped by the drawing library)."""
    return HoverTool(tooltips=[("", "@text")], visible=False, point_policy="snap_to_data")


def printed_beside(values: Sequence[tuple[float, str]]) -> Callable[[Any, Any], None]:
    """Return a hook that prints words at places of the upright axis, on an axis of its own at the right.

    An axis takes the room its words need; words drawn inside the plot would be cut off on a
    narrow screen.

    Parameters
    ----------
    values : sequence of (float, str)
        Place on the upright axis and the words.

    Returns
    -------
    callable
        Hook of a HoloViews plot, right on the first drawing and on each redraw.
    """
    ticks = [place for place, _ in values]
    words = {place: _folded(plain(text)) for place, text in values}

    def hook(plot: Any, _element: Any) -> None:
        figure = plot.state
        axis = next((a for a in figure.right if isinstance(a, LinearAxis)), None)
        if axis is None:
            axis = LinearAxis(axis_line_alpha=0, major_tick_line_alpha=0)
            figure.add_layout(axis, "right")
        axis.update(ticker=FixedTicker(ticks=ticks), major_label_overrides=words, minor_tick_line_alpha=0)

    return hook


def axis_name(words: str) -> dict[str, Any]:
    """Return the options that write the upright axis's name level, above the axis.

    Turned text is slow to read and is cut off when the figure is low.

    Parameters
    ----------
    words : str
        Name and unit of the vertical axis.

    Returns
    -------
    dict of str to object
        Options of an overlay.
    """
    return {"title": plain(words), "ylabel": "", "fontsize": {"title": "13px"}}


def _folded(words: str) -> str:
    # A reason is a sentence; on one line it would leave a narrow screen no room for the figure.
    return "\n".join(textwrap.wrap(words, 27)) if words.startswith("not shown") else words


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
        "backend_opts": {
            "plot.min_border_right": 12,
            "plot.title.text_font_style": "normal",
            "plot.title_location": "above",
            "plot.outline_line_color": None,
        },
        **more,
    }


def positions(count: int) -> list[int]:
    """Return vertical places of ``count`` rows read from top to bottom."""
    return list(range(count, 0, -1))
