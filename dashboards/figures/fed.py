"""Give a plot that stands already the numbers of another description: nothing is built anew.

Building plots anew at each choice costs six to eight times as much as this, and a plot that stands
keeps its place, its size and the reader's eye.
"""

import textwrap
from collections.abc import Mapping
from typing import Any

import pandas as pd
from bokeh.models import BasicTicker, FixedTicker, LinearAxis

from dashboards.figures.drawing import Drawing, Mark
from dashboards.labels import plain


def feed(figure: Any, drawing: Drawing) -> None:
    """Set data, ends, ticks and words of a plot.

    Parameters
    ----------
    figure : bokeh.models.Plot
        The plot, of as many layers as the drawing has marks.
    drawing : Drawing
        What it shows from now on.

    Raises
    ------
    ValueError
        If the plot has another number of layers.
    """
    for layer, mark in zip(figure.renderers, drawing.marks, strict=True):
        _layer(layer.data_source, layer.glyph, mark)
    _set(figure, height=drawing.height)
    _set(figure.title, text=plain(drawing.y_name))
    for ends, (start, end) in ((figure.x_range, drawing.x_range), (figure.y_range, drawing.y_range)):
        start, end = place(start), place(end)
        _set(ends, start=start, end=end, reset_start=start, reset_end=end)
    _set(figure.xaxis[0], axis_label=drawing.x_name)
    _ticks(figure.xaxis[0], drawing.x_ticks)
    _ticks(figure.yaxis[0], drawing.y_ticks)
    _beside(figure, drawing)


def place(value: Any) -> float:
    """Return a number, or a day as milliseconds since 1970.

    Parameters
    ----------
    value : float or pandas.Timestamp
        Place on an axis.

    Returns
    -------
    float
        The same place as the browser counts it.
    """
    return value.timestamp() * 1000 if isinstance(value, pd.Timestamp) else float(value)


def _layer(source: Any, glyph: Any, mark: Mark) -> None:
    new = mark.columns
    if not _same(source.data, new):
        source.data = new
    wanted = {**mark.looks, **({"text_align": mark.lean} if mark.kind == "labels" else {})}
    if not mark.looks:
        _set(glyph, **wanted)
        return
    for name, column in wanted.items():
        if getattr(glyph, name) != column:
            setattr(glyph, name, {"field": column})


def _same(old: Mapping[str, Any], new: Mapping[str, list[Any]]) -> bool:
    """Whether nothing would change on the screen; unchanged layers cost no message and no redraw."""
    return old.keys() == new.keys() and all(_alike(old[name], values) for name, values in new.items())


def _alike(old: Any, new: list[Any]) -> bool:
    # What the library drew at first are arrays; a place that is not known equals another such.
    return (
        isinstance(old, list)
        and len(old) == len(new)
        and all(a == b or (a != a and b != b) for a, b in zip(old, new, strict=True))
    )


def _set(model: Any, **values: Any) -> None:
    changed = {name: value for name, value in values.items() if getattr(model, name) != value}
    if changed:
        model.update(**changed)


def _ticks(axis: Any, ticks: Any) -> None:
    if isinstance(ticks, int):
        if not isinstance(axis.ticker, BasicTicker) or axis.ticker.desired_num_ticks != ticks:
            axis.ticker = BasicTicker(desired_num_ticks=ticks)
        _set(axis, major_label_overrides={})
        return
    _fixed(axis, [float(at) for at, _ in ticks], {float(at): text for at, text in ticks})


def _fixed(axis: Any, at: list[float], texts: dict[float, str]) -> None:
    if isinstance(axis.ticker, FixedTicker):
        _set(axis.ticker, ticks=at)
    else:
        axis.ticker = FixedTicker(ticks=at)
    _set(axis, major_label_overrides=texts)


def _beside(figure: Any, drawing: Drawing) -> None:
    axis: Any = next((a for a in figure.right if isinstance(a, LinearAxis)), None)
    if axis is None:
        axis = LinearAxis(axis_line_alpha=0, major_tick_line_alpha=0, minor_tick_line_alpha=0)
        axis.ticker = FixedTicker(ticks=[])
        figure.add_layout(axis, "right")
    texts = {float(at): _folded(plain(text)) for at, text in drawing.beside}
    _fixed(axis, list(texts), texts)


def _folded(text: str) -> str:
    # A reason is a sentence; on one line it would leave a narrow screen no room for the figure.
    return "\n".join(textwrap.wrap(text, 27)) if text.startswith("not shown") else text
