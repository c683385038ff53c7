"""Flags and who answered, as tables in words: neither is a matter for a plot."""

from collections.abc import Callable
from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.tables import as_html
from dashboards.views.live import flexible
from dashboards.views.markup import block, said
from dashboards.views.table import TableBehind, place_words


class WordTable(pn.viewable.Viewer):
    """A heading, a sentence, a table of release rows and a foot.

    Parameters
    ----------
    title : str
        Heading.
    reading : callable
        From the release and the state to the reading shown.
    file_name : str
        Name of the rows' download.
    wide : int, default 480
        Least width in pixels before the view takes a row of its own.
    """

    def __init__(
        self,
        title: str,
        reading: Callable[[ReleaseFrames, Chosen], Reading],
        file_name: str,
        wide: int = 480,
        **params: Any,
    ) -> None:
        super().__init__(**params)
        self.title, self._reading = title, reading
        self.body = block()
        self.table = TableBehind(title, file_name, table=False)
        self._column = pn.Column(
            self.body, self.table, sizing_mode="stretch_width", margin=0, styles=flexible(wide)
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the reading of the chosen unit and month."""
        reading = frames.read(self._reading, chosen)
        self.body.object = f"<h2>{safe(self.title)}</h2>{said(reading)}{table_of(reading, self.title)}"
        self.table.tools.visible = len(reading.rows) > 0
        self.table.show(reading.rows, reading.columns, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


def table_of(reading: Reading, title: str) -> str:
    """Return the rows of a reading with its foot; nothing where a notice stands for them.

    Parameters
    ----------
    reading : Reading
        Rows, columns, foot and notice.
    title : str
        The heading above, which is the caption for those who do not see the page.

    Returns
    -------
    str
        Markup.
    """
    # Under a box that says why there is nothing, a foot would explain columns that nobody sees.
    if reading.notice:
        return ""
    rows = as_html(reading.rows, reading.columns, title) if len(reading.rows) else ""
    foot = f'<p class="foot">{safe(reading.foot)}</p>' if reading.foot else ""
    return f'<div class="headed">{rows}</div>{foot}'
