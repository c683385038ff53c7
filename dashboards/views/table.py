"""The rows behind a figure, as a table on request and as CSV."""

import io
from typing import Any

import pandas as pd
import panel as pn
import panel_material_ui as pmui

from dashboards.kinds import Frame
from dashboards.tables import as_csv, as_html
from dashboards.views.markup import block

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
            label="CSV", callback=self._csv, filename=filename, size="small", sx=SOFT, margin=0, icon=None
        )
        # Set afterwards: given to the constructor, the library translates them twice and warns of itself.
        self.csv.param.update(color="primary", variant="text")
        self._table = block(visible=False)
        self.open.param.watch(self._fill, "value")

    def show(self, rows: Frame, columns: tuple) -> None:
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
