"""What can be downloaded of a figure: its release rows as CSV and XLSX, its drawing as SVG and PNG."""

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from dashboards.data import Edition
from dashboards.kinds import Frame
from dashboards.labels import month_label
from dashboards.paper.sheet import drawing, sheet
from dashboards.readings.base import CAUTION
from dashboards.tables import as_csv, tamed

SERIF = "Libertinus Serif"
MIME = {
    "csv": "text/csv;charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "svg": "image/svg+xml",
    "png": "image/png",
}


@dataclass(frozen=True)
class Behind:
    """One figure as it can be taken away; release rows and words only.

    Attributes
    ----------
    title, sentence, foot : str
        Heading, reading, who was counted; plain text.
    rows : pandas.DataFrame
        Release rows.
    plot : object
        Plot description, None without a figure.
    edition : Edition or None
        Where the rows come from.
    where : str
        Group and month in words, empty where neither is chosen.
    """

    title: str
    rows: Frame = field(default_factory=pd.DataFrame)
    sentence: str = ""
    foot: str = ""
    plot: Any = None
    edition: Edition | None = None
    where: str = ""

    @property
    def source(self) -> str:
        """Edition and hash in words."""
        if self.edition is None:
            return "Evenhand"
        of = month_label(self.edition.period)
        return f"Evenhand, edition {self.edition.number} of {of}, hash {self.edition.content_hash[:16]}"

    def kinds(self) -> tuple[str, ...]:
        """Return what can be downloaded: rows and a drawing only where there are any."""
        drawn = self.plot is not None and drawing.dispatch(type(self.plot)) is not drawing.dispatch(object)
        return (("csv", "xlsx") if len(self.rows) else ()) + (("svg", "png") if drawn else ())

    def file(self, kind: str) -> bytes:
        """Return one file.

        Parameters
        ----------
        kind : str
            One of :meth:`kinds`.

        Returns
        -------
        bytes
            The file.

        Raises
        ------
        KeyError
            If this figure has no such file.
        """
        if kind not in self.kinds():
            raise KeyError(kind)
        return _MAKE[kind](self)


# Places and words that only the drawing needs.
_DRAWN = ["x", "series", "text", "key", "printed"]


def _rows(behind: Behind) -> Frame:
    return behind.rows.drop(columns=_DRAWN, errors="ignore")


def _csv(behind: Behind) -> bytes:
    return as_csv(_rows(behind)).encode("utf-8")


def _xlsx(behind: Behind) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    rows_sheet = book.worksheets[0]
    rows_sheet.title = "Rows"
    _write(rows_sheet, [list(_rows(behind).columns), *_cells(_rows(behind))])
    rows_sheet.freeze_panes = "A2"
    about = book.create_sheet("About")
    told = {
        "Figure": behind.title,
        "Group and month": behind.where,
        "Reading": behind.sentence,
        "Who was counted": behind.foot,
        "Source": behind.source,
        "Caution": CAUTION,
    }
    _write(about, [list(pair) for pair in told.items() if pair[1]])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _cells(rows: Frame) -> list[list[object]]:
    plain = rows.astype(object).where(rows.notna(), None)
    return [
        [value.to_pydatetime() if isinstance(value, pd.Timestamp) else value for value in row]
        for row in plain.itertuples(index=False, name=None)
    ]


def _write(page: Any, rows: list[list[object]]) -> None:
    for y, row in enumerate(rows, start=1):
        for x, value in enumerate(row, start=1):
            cell = page.cell(y, x)
            cell.value = tamed(value)
            if isinstance(value, str):
                # The library takes a leading '=' for a formula; here every text is text.
                cell.data_type = "s"


def _svg(behind: Behind) -> bytes:
    return _sheet(behind).encode("utf-8")


def _sheet(behind: Behind, **more: str) -> str:
    source = f"{behind.source}. {CAUTION}"
    title = f"{behind.title}: {behind.where}" if behind.where else behind.title
    return sheet(behind.plot, title, behind.sentence, behind.foot, source, **more) or ""


def _png(behind: Behind) -> bytes:
    import typst

    # Drawn on the server by the typesetter of the brief, with its own type: the same image everywhere.
    page = b'#set page(width: auto, height: auto, margin: 0pt)\n#image(bytes(sys.inputs.svg), format: "svg")'
    inputs = {"svg": _sheet(behind, font=SERIF)}
    image = typst.Compiler(ignore_system_fonts=True).compile(
        input=page, format="png", ppi=144.0, sys_inputs=inputs
    )
    return image if isinstance(image, bytes) else b""


_MAKE: dict[str, Callable[[Behind], bytes]] = {"csv": _csv, "xlsx": _xlsx, "svg": _svg, "png": _png}
