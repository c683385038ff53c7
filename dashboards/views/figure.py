"""One figure with all that belongs to it: sentence, denominator, source, table and download."""

import io
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

import holoviews as hv
import pandas as pd
import panel as pn
import panel_material_ui as pmui

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.tables import as_csv, as_html
from dashboards.views.markup import block

Read = Callable[[ReleaseFrames, Chosen], Reading]
SOFT = {
    "minHeight": "28px",
    "fontSize": "13px",
    "px": 1,
    "py": 0,
    "border": 0,
    "color": "primary.main",
    "textDecoration": "underline",
    "textUnderlineOffset": "3px",
}


class LiveFigure(pn.viewable.Viewer):
    """A figure that is built once and then fed; redrawing rebuilds nothing.

    Parameters
    ----------
    draw : callable
        Plot description -> HoloViews element, always of the same layers.
    **params : object
        Options of the viewer.
    """

    def __init__(self, draw: Callable[[Any], Any], **params: Any) -> None:
        theme.use()
        super().__init__(**params)
        self._draw = draw
        self._pipe: hv.streams.Pipe | None = None
        self._holder = pn.Column(sizing_mode="stretch_width", margin=0)

    def show(self, plot: Any) -> None:
        """Show a plot description; None hides the figure.

        Parameters
        ----------
        plot : object or None
            What the draw function takes.
        """
        self._holder.visible = plot is not None
        if plot is None:
            return
        if self._pipe is None:
            self._pipe = hv.streams.Pipe(data=plot)
            live = hv.DynamicMap(self._drawn, streams=[self._pipe])
            self._holder[:] = [
                pn.pane.HoloViews(live, sizing_mode="stretch_width", linked_axes=False, margin=0)
            ]
        else:
            self._pipe.send(plot)

    def _drawn(self, data: Any) -> Any:
        return self._draw(data)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._holder


class TableBehind(pn.viewable.Viewer):
    """The rows behind a figure, made only when somebody asks, and the same rows as CSV.

    Parameters
    ----------
    title : str
        What the table shows.
    filename : str
        Name of the download.
    table : bool, default True
        Whether to offer the table too, or only the download (where the rows are shown already).
    **params : object
        Options of the viewer.
    """

    def __init__(self, title: str, filename: str, *, table: bool = True, **params: Any) -> None:
        super().__init__(**params)
        self._title = title
        self._offered = table
        self._rows, self._columns = pd.DataFrame(), ()
        # The accessible name carries the figure: nine buttons called 'Table' help nobody.
        self.open = pmui.Toggle(
            label="Table",
            value=False,
            variant="text",
            color="primary",
            size="small",
            sx=SOFT,
            margin=0,
            description=None,
        )
        self.csv = pmui.FileDownload(
            label="CSV", callback=self._csv, filename=filename, variant="text", size="small", sx=SOFT, margin=0,
            icon=None,
        )  # fmt: skip
        self._table = block(visible=False)
        self.open.param.watch(self._fill, "value")

    def show(self, rows: pd.DataFrame, columns: tuple) -> None:
        """Keep rows for the table; an open table is filled again.

        Parameters
        ----------
        rows : pandas.DataFrame
            Release rows.
        columns : tuple of Column
            Printed columns.
        """
        self._rows, self._columns = rows, columns
        self._fill()

    def _fill(self, *_: object) -> None:
        self._table.visible = bool(self.open.value)
        self._table.object = as_html(self._rows, self._columns, self._title) if self.open.value else ""

    def _csv(self) -> io.StringIO:
        return io.StringIO(as_csv(self._rows))

    def __panel__(self) -> pn.viewable.Viewable:
        return pn.Column(
            pn.Row(
                *([self.open] if self._offered else []), self.csv, margin=(0, 0, 0, -6), css_classes=["tools"]
            ),
            self._table,
            sizing_mode="stretch_width",
            margin=0,
        )


class FigureView(pn.viewable.Viewer):
    """A titled figure with its reading.

    Parameters
    ----------
    title : str
        Heading.
    read : callable
        Frames and choice -> Reading.
    draw : callable
        Plot description -> HoloViews element.
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
        draw: Callable[[Any], Any],
        name_of_file: str,
        wide: int = 420,
        **params: Any,
    ) -> None:
        super().__init__(**params)
        self.title, self._read = title, read
        self.reading: Reading | None = None
        self.head, self.foot = block(), block()
        self.figure = LiveFigure(draw)
        self.table = TableBehind(title, f"evenhand_{name_of_file}.csv")
        self._column = pn.Column(
            self.head,
            self.figure,
            self.foot,
            self.table,
            sizing_mode="stretch_width",
            margin=0,
            styles=flexible(wide),
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
        reading = self._read(frames, chosen)
        self.reading = reading
        notice = f'<p class="empty">{safe(reading.notice)}</p>' if reading.notice else ""
        self.head.object = (
            f"<h2>{safe(reading.title or self.title)}</h2><p>{safe(reading.sentence)}</p>{notice}"
        )
        self.foot.object = f'<p class="foot">{safe(reading.foot)}</p>' if reading.foot else ""
        self.figure.show(reading.plot)
        self.table.show(reading.rows, reading.columns)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


def flexible(width: int) -> dict[str, str]:
    """Return the styles of a part that shares a row while it has this width.

    Parameters
    ----------
    width : int
        Pixels.

    Returns
    -------
    dict of str to str
        Styles.
    """
    return {"flex": f"1 1 {width}px", "min-width": f"min(100%, {width}px)"}


def held() -> ExitStack:
    """Return a context in which all changes of one redraw travel together."""
    stack = ExitStack()
    document = pn.state.curdoc
    if document is not None:
        stack.enter_context(document.models.freeze())
    stack.enter_context(pn.io.hold())
    return stack


def side_by_side(*parts: Any, gap: str = "22px 36px") -> pn.FlexBox:
    """Return parts in a row that wraps on narrow screens.

    A figure always stands in such a row, alone or not: placed straight into a column beside flexible
    rows, the drawing library never finishes laying out the others.

    Parameters
    ----------
    *parts : object
        Views.
    gap : str
        Distance between them.

    Returns
    -------
    panel.FlexBox
        The row.
    """
    return pn.FlexBox(
        *parts, sizing_mode="stretch_width", margin=0, flex_wrap="wrap", align_items="flex-start", gap=gap
    )
