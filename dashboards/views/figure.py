"""One figure with all that belongs to it: sentence, denominator, source, table and download."""

from collections.abc import Callable
from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.figures.drawing import Drawing
from dashboards.labels import safe
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.views.live import LiveFigure, flexible
from dashboards.views.markup import block, said
from dashboards.views.table import TableBehind, place_words

Read = Callable[[ReleaseFrames, Chosen], Reading]
# On paper a figure stays on one page with its heading and its foot.
WHOLE = "@media print { :host { break-inside: avoid; } }"


def _drawn(
    frames: ReleaseFrames, read: Read, draw: Callable[[Any], Drawing], chosen: Chosen
) -> tuple[Reading, Drawing | None]:
    reading = read(frames, chosen)
    return reading, None if reading.plot is None else draw(reading.plot)


class FigureView(pn.viewable.Viewer):
    """A titled figure with its reading.

    Parameters
    ----------
    title : str
        Heading.
    read : callable
        Frames and choice -> Reading.
    draw : callable
        Plot description -> Drawing.
    name_of_file : str
        Stem of the download.
    wide : int
        Least width in pixels before the view takes a row of its own.
    **params : object
        Options of the viewer.
    """

    def __init__(
        self,
        title: str,
        read: Read,
        draw: Callable[[Any], Drawing],
        name_of_file: str,
        wide: int = 420,
        **params: Any,
    ) -> None:
        super().__init__(**params)
        self.title, self._read, self._draw = title, read, draw
        self.reading: Reading | None = None
        self.head, self.foot = block(), block()
        self.figure = LiveFigure()
        self.table = TableBehind(title, f"evenhand_{name_of_file}.csv")
        self._column = pn.Column(
            self.head,
            self.figure,
            self.foot,
            self.table,
            sizing_mode="stretch_width",
            margin=0,
            styles=flexible(wide),
            stylesheets=[WHOLE],
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Read the release for a choice and show it.

        Parameters
        ----------
        frames : ReleaseFrames
            The release.
        chosen : Chosen
            State.
        """
        reading, drawing = frames.read(_drawn, self._read, self._draw, chosen)
        self.reading = reading
        self.head.object = f"<h2>{safe(reading.title or self.title)}</h2>{said(reading)}"
        self.foot.object = f'<p class="foot">{safe(reading.foot)}</p>' if reading.foot else ""
        self.figure.show(drawing)
        # Without a row there is nothing to open or to take away.
        self.table.tools.visible = len(reading.rows) > 0
        self.table.show(reading.rows, reading.columns, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column
