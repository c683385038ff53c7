"""Plots for a page: drawn once a process by the drawing library, copied for each place, and fed.

The drawing library takes about a tenth of a second a figure; a reader who opens a room would wait for
each of them. A copy takes a few milliseconds and is the same parts with names of their own.
"""

import functools
from dataclasses import dataclass, field
from typing import Any

import holoviews as hv
import pandas as pd
from bokeh.core.serialization import Deserializer, Serializer
from bokeh.models import Plot
from bokeh.util.serialization import make_id

from dashboards import theme
from dashboards.figures.drawing import Drawing, Mark
from dashboards.figures.fed import feed
from dashboards.figures.holo import overlay

# Kinds of figures in all rooms, with room to spare.
KEPT = 64


@dataclass(frozen=True)
class _Form:
    """What of a drawing the library decides on, and feeding does not change."""

    layers: tuple[Any, ...]
    first: Drawing = field(compare=False)


def standing(drawing: Drawing) -> Plot:
    """Return a new plot of a drawing that stands nowhere yet.

    Parameters
    ----------
    drawing : Drawing
        What to draw.

    Returns
    -------
    bokeh.models.Plot
        Belongs to whoever asked; `dashboards.figures.fed.feed` gives it other numbers.
    """
    plot: Any = Deserializer().deserialize(
        _renamed(_pattern(_Form(tuple(map(_layer, drawing.marks)), drawing)))
    )
    feed(plot, drawing)
    return plot


def _layer(mark: Mark) -> tuple[Any, ...]:
    days = tuple(pd.api.types.is_datetime64_any_dtype(mark.frame[name]) for name in mark.at)
    return mark.kind, mark.at, mark.more, repr(dict(mark.style)), repr(dict(mark.looks)), mark.tip, days


@functools.lru_cache(KEPT)
def _pattern(form: _Form) -> Any:
    theme.use()
    plot = hv.renderer("bokeh").get_plot(overlay(form.first)).state
    for renderer in plot.renderers:
        # Nothing is selected or muted in our figures; looks for it would triple what is sent.
        renderer.update(nonselection_glyph=None, selection_glyph=None, muted_glyph=None)
    return Serializer(deferred=False).serialize(plot).content


def _renamed(pattern: Any) -> Any:
    """Return a copy in which each part has a name that no other part of this process has."""
    names: dict[str, str] = {}

    def copied(value: Any) -> Any:
        if isinstance(value, dict):
            new = {key: copied(one) for key, one in value.items()}
            # Parts and mentions of parts alike; the values of no property are called so.
            if isinstance(own := value.get("id"), str):
                new["id"] = names.setdefault(own, make_id())
            return new
        if isinstance(value, list):
            return [copied(one) for one in value]
        return value

    return copied(pattern)
