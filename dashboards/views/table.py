"""The rows behind a figure, as a table on request and as files."""

import base64
from pathlib import Path
from typing import Any, ClassVar

import panel as pn
import param
from panel.custom import JSComponent

from dashboards.data import Edition, ReleaseFrames
from dashboards.files import MIME, Behind
from dashboards.kinds import Frame
from dashboards.labels import month_label
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.tables import as_html
from dashboards.views.markup import block

STYLE = """
.tools { display: flex; flex-wrap: wrap; gap: 2px 14px; min-height: 28px; align-items: center; }
.tools[hidden] { display: none; }
button { font: 13px/1.4 "Source Sans 3", "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif;
  background: none; border: 0; padding: 4px 2px; min-height: 26px; min-width: 26px; cursor: pointer;
  color: var(--ev-primary, #22556d); text-decoration: underline; text-underline-offset: 3px; }
button:focus-visible { outline: 2px solid var(--ev-primary, #22556d); outline-offset: 1px; }
span { font: 12.5px sans-serif; color: var(--ev-muted, #535d64); }
@media print { .tools { display: none; } }
"""


def place_words(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return group and month in words, where a room depends on them.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    str
        Empty in a room that is not about a group.
    """
    if chosen.room not in ("Month", "Load", "Data"):
        return ""
    return f"{frames.unit(chosen.unit).name}, {month_label(chosen.period)}"


class Tools(JSComponent):
    """The buttons under a figure. Their accessible names carry the figure's: nine called 'Table' help nobody.

    Parameters
    ----------
    behind : Behind
        What can be taken away.
    stem : str
        Start of the files' names.
    table : bool, default True
        Whether the rows can be opened as a table too, or only taken away.
    **params : object
        Options of the component.
    """

    figure = param.String(doc="What the figure is called.")
    sentence = param.String(doc="What the figure says; the text of its plot.")
    kinds = param.List(item_type=str, doc="Files offered.")
    open = param.Boolean(default=False, doc="Whether the table is shown.")
    offers_table = param.Boolean(default=False, doc="Whether there is a table to open.")

    _esm = Path(__file__).with_name("tools.js")
    _stylesheets: ClassVar[list[str]] = [STYLE]

    def __init__(self, behind: Behind, stem: str, *, table: bool = True, **params: Any) -> None:
        super().__init__(margin=0, **params)
        self._stem, self._with_table = stem, table
        self.show(behind)

    def show(self, behind: Behind) -> None:
        """Offer table and files of another choice; of a figure without rows, neither.

        Parameters
        ----------
        behind : Behind
            What can be taken away now.
        """
        self.behind = behind
        self.param.update(
            figure=behind.title,
            sentence=behind.sentence,
            kinds=list(behind.kinds()),
            offers_table=self._with_table and bool(len(behind.rows)),
        )

    def _handle_msg(self, data: Any) -> None:
        # Whatever a browser sends: only a kind that is offered makes a file, and only of the rows shown.
        kind = data.get("kind") if isinstance(data, dict) else None
        if kind not in self.behind.kinds():
            return
        content = base64.b64encode(self.behind.file(kind)).decode("ascii")
        self._send_msg({"name": f"{self._stem}.{kind}", "mime": MIME[kind], "content": content})


class TableBehind(pn.viewable.Viewer):
    """The rows behind a figure, made only when somebody asks, and the same rows as files.

    Parameters
    ----------
    title : str
        What the table shows.
    filename : str
        Name of the CSV file; the others end differently.
    table : bool, default True
        Whether to offer the table too, or only the files (where the rows are shown already).
    **params : object
        Options of the viewer.
    """

    def __init__(self, title: str, filename: str, *, table: bool = True, **params: Any) -> None:
        super().__init__(**params)
        self._title = title
        self._columns: tuple = ()
        self.tools = Tools(Behind(title), Path(filename).stem, table=table)
        self._table = block(visible=False)
        self.tools.param.watch(self._fill, "open")

    @property
    def behind(self) -> Behind:
        """What can be taken away."""
        return self.tools.behind

    def show(
        self,
        rows: Frame,
        columns: tuple,
        reading: Reading | None = None,
        edition: Edition | None = None,
        where: str = "",
    ) -> None:
        """Keep rows for the table and the files; an open table is filled again, or hidden without rows.

        Parameters
        ----------
        rows : pandas.DataFrame
            Release rows.
        columns : tuple of Column
            Printed columns.
        reading : Reading, optional
            Words and plot of the figure, for the files.
        edition : Edition, optional
            Where the rows come from.
        where : str, default ""
            Group and month, for the files.
        """
        self._columns = columns
        title = (reading.title if reading else "") or self._title
        words = (reading.sentence, reading.foot, reading.plot) if reading else ("", "", None)
        self.tools.show(Behind(title, rows, *words, edition, where))
        self._fill()

    def _fill(self, *_: object) -> None:
        # A table that was open comes back with the next choice that has rows.
        shown = self.tools.open and self.tools.offers_table
        self._table.visible = shown
        self._table.object = as_html(self.behind.rows, self._columns, self._title) if shown else ""

    def __panel__(self) -> pn.viewable.Viewable:
        return pn.Column(self.tools, self._table, sizing_mode="stretch_width", margin=0)
