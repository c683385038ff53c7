"""What a figure draws, as data: layers of marks, ends and ticks of its axes, words.

A figure is described anew for each choice and drawn once: `dashboards.figures.holo` makes the plot of
the first description, `dashboards.figures.fed` gives the same plot the numbers of the next ones.
"""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import pandas as pd
from bokeh.core.properties import value

from dashboards import theme
from dashboards.kinds import Frame
from dashboards.labels import plain

Kind = Literal["segments", "curve", "points", "rectangles", "labels", "area"]
Ticks = int | Sequence[tuple[float, str]]
ENDS = ("x0", "y0", "x1", "y1")
SPOT = ("x", "y")
_CORNERS = {"left": "x0", "right": "x1", "bottom": "y0", "top": "y1"}


@dataclass(frozen=True)
class Mark:
    """One layer of equal marks.

    Attributes
    ----------
    kind : str
        ``segments`` and ``rectangles`` (placed by two corners), ``points``, ``curve``, ``labels``, or
        ``area`` (between two curves over one x).
    frame : pandas.DataFrame
        A row a mark; may be empty.
    at : tuple of str
        Columns that place a mark: ``ENDS``, or x and y; for an area x, lower and upper.
    style : mapping of str to object
        Look of the whole layer; the same for each description of a figure.
    looks : mapping of str to str
        Property of the drawn mark -> column that holds it row by row, as a colour or a shape.
    tip : bool
        Whether the column ``text`` is shown at the pointer.
    lean : str
        For labels: which side of the place the words keep to.
    """

    kind: Kind
    frame: Frame
    at: tuple[str, ...]
    style: Mapping[str, Any]
    looks: Mapping[str, str] = field(default_factory=dict)
    tip: bool = False
    lean: Literal["left", "center", "right"] = "left"

    @property
    def more(self) -> tuple[str, ...]:
        """Columns a mark carries beside its place."""
        carried = list(dict.fromkeys(self.looks.values()))
        return tuple(carried + (["text"] if self.tip else []) + (["label"] if self.kind == "labels" else []))

    @cached_property
    def columns(self) -> dict[str, list[Any]]:
        """What the browser needs, by the names the drawing library gives its marks.

        Plain lists: each array would travel as two messages of its own, and a figure has a few dozen
        marks in a dozen columns. Made once, as a description is kept for all its readers.
        """
        frame = self.frame
        if self.kind == "area":
            x, low, high = (_numbers(frame[name]) for name in self.at)
            return {"x": x + x[::-1], "y": low + high[::-1]}
        if self.kind == "rectangles":
            found: dict[str, list[Any]] = {side: _numbers(frame[corner]) for side, corner in _CORNERS.items()}
        else:
            found = {name: _numbers(frame[name]) for name in self.at}
        return found | {name: [str(text) for text in frame[name]] for name in self.more}


def _numbers(column: Any) -> list[float]:
    if pd.api.types.is_datetime64_any_dtype(column):
        days = column.to_numpy(dtype="datetime64[ms]")
        return np.where(np.isnat(days), np.nan, days.astype("int64")).astype(float).tolist()
    return column.to_numpy(dtype=float).tolist()


@dataclass(frozen=True)
class Drawing:
    """A whole figure.

    Attributes
    ----------
    marks : tuple of Mark
        Layers from back to front; number, kind and style are the same for each description of a
        figure, empty where there is nothing.
    height : int
        Pixels.
    x_range, y_range : tuple
        Ends of the axes: numbers, or days.
    x_name, y_name : str
        Names and units; the upright axis's stands level above it, as turned text is slow to read.
    x_ticks, y_ticks : int or sequence of (float, str)
        About how many, or places with their words.
    beside : sequence of (float, str)
        Words at places of the upright axis, on an axis of their own at the right: an axis takes the
        room its words need, while words inside the plot would be cut off on a narrow screen.
    """

    marks: tuple[Mark, ...]
    height: int
    x_range: tuple[Any, Any]
    y_range: tuple[float, float]
    x_name: str
    y_name: str
    x_ticks: Ticks
    y_ticks: Ticks
    beside: Sequence[tuple[float, str]] = ()


def segments(
    data: Mapping[str, Any] | Frame,
    colour: str,
    width: float,
    *,
    dash: str = "solid",
    alpha: float = 1.0,
    looks: Mapping[str, str] | None = None,
    tip: bool = False,
) -> Mark:
    """Return straight lines from (x0, y0) to (x1, y1).

    Parameters
    ----------
    data : mapping or pandas.DataFrame
        Columns of ``ENDS`` and what else the marks carry.
    colour : str
        Of the line.
    width : float
        Pixels.
    dash : str
        Pattern of the line.
    alpha : float
        Share of full strength.
    looks : mapping of str to str, optional
        See `Mark`.
    tip : bool, default False
        See `Mark`.

    Returns
    -------
    Mark
        The layer.
    """
    style = {"color": colour, "line_width": width, "line_dash": dash, "alpha": alpha}
    return Mark("segments", pd.DataFrame(data), ENDS, style, looks or {}, tip)


def words(rows: Sequence[tuple[Any, float, str]] | Frame, colour: str, base: str, lean: Any = "left") -> Mark:
    """Return words at places.

    Parameters
    ----------
    rows : sequence of (x, y, str)
        Place and text, which is shown as text whatever it holds.
    colour : str
        Colour of the type.
    base : str
        Which part of the type stands at the height.
    lean : str, default "left"
        See `Mark`.

    Returns
    -------
    Mark
        The layer.
    """
    frame = pd.DataFrame(rows, columns=["x", "y", "label"])
    frame["label"] = [plain(text) for text in frame["label"]]
    # The library's own family is another one than that of the axes beside, and it takes a bare list of
    # families for the name of a column.
    font = {"text_font": value(theme.FONT), "text_font_size": "12px"}
    style = {**font, "text_color": colour, "text_baseline": base}
    return Mark("labels", frame, SPOT, style, lean=lean)


def named(count: Sequence[int], labels: Sequence[str]) -> list[tuple[float, str]]:
    """Return row labels as ticks, at least one, since an axis without any would number itself."""
    return [(y, folded(plain(label))) for y, label in zip(count, labels, strict=True)] or [(1, "")]


def folded(text: str, width: int = 22) -> str:
    """Return a name on as many lines as it needs: cut off, two names could look the same.

    Parameters
    ----------
    text : str
        Name of a row.
    width : int, default 22
        Characters on a line.

    Returns
    -------
    str
        The name, its lines parted by line breaks.
    """
    return "\n".join(textwrap.wrap(text, width)) or text


def line_height(labels: Sequence[str], least: int) -> int:
    """Return the pixels between rows that leave room for the longest folded name.

    Parameters
    ----------
    labels : sequence of str
        Names of the rows.
    least : int
        Pixels where every name fits on one line.

    Returns
    -------
    int
        Pixels.
    """
    lines = max((folded(plain(label)).count("\n") + 1 for label in labels), default=1)
    return max(least, 15 * lines + 6)
