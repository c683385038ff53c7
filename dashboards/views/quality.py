"""The Data room."""

from typing import Any

import pandas as pd
import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.figures import rows as rows_figure
from dashboards.figures import series as series_figure
from dashboards.kinds import Frame
from dashboards.labels import month_label, safe, true_minus
from dashboards.readings import quality
from dashboards.state import Chosen
from dashboards.tables import as_html
from dashboards.views.figure import FigureView
from dashboards.views.live import side_by_side
from dashboards.views.markup import block, bullets
from dashboards.views.reports import Reports
from dashboards.views.room import Room

AUDIT_SHAPE = {True: "\u25cf passed", False: "\u25b2 failed", None: "\u25c7 not done"}


class Ledger(pn.viewable.Viewer):
    """Rows set aside, sources, audit, methods, promises and the edition's identity, as text and tables."""

    title = "The ledger of this edition"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.aside, self.audit, self.methods, self.identity = block(), block(), block(), block()
        self._column = pn.Column(
            self.aside,
            self.audit,
            self.methods,
            self.identity,
            sizing_mode="stretch_width",
            margin=0,
            styles={"gap": "22px"},
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the newest edition's ledger; it does not depend on the choice."""
        aside = frames.frame("set_aside_reason").sort_values("rows", ascending=False)
        self.aside.object = (
            "<h2>Rows set aside, and what to do</h2><p>A row is accepted whole or set aside whole, with its "
            "file, row number and reason kept.</p>"
            + '<div class="pair"><div>'
            + as_html(frames.frame("data_quality"), quality.QUALITY_COLUMNS, "Rows by source", tall=False)
            + "</div><div>"
            + as_html(aside.rename(columns={"reason": "code"}), _ASIDE, "Reasons, most rows first")
            + "</div></div>"
        )
        _, rows = quality.audit_words(frames)
        counts = quality.audit_counts(rows) if len(rows) else "This edition has no audit report."
        self.audit.object = f"<h2>Audit of this edition</h2><p>{safe(counts)}</p>{_audit_list(rows)}"
        self.methods.object = "<h2>Methods and sources</h2>" + as_html(
            frames.frame("method"), quality.METHOD_COLUMNS, "How each number is counted, and who says so"
        )
        self.identity.object = (
            f"<h2>What is promised</h2>{bullets(quality.PROMISED)}"
            f"<h2>What is not promised</h2>{bullets(quality.NOT_PROMISED)}{_identity(frames)}"
        )

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


_ASIDE = tuple(
    column.__class__("code", "Code") if column.name == "reason" else column
    for column in quality.ASIDE_COLUMNS
)


def _audit_list(rows: Frame) -> str:
    items = []
    for row in rows.to_dict("records"):
        passed = None if pd.isna(row["passed"]) else bool(row["passed"])
        # A detail of one word is the check's code name, which tells a reader nothing.
        told = row["detail"] and " " in str(row["detail"])
        detail = f"<small>{safe(true_minus(row['detail']))}</small>" if told else ""
        items.append(f"<li>{AUDIT_SHAPE[passed]}: {safe(true_minus(row['sentence']))}{detail}</li>")
    return f'<ul class="plain">{"".join(items)}</ul>'


def _identity(frames: ReleaseFrames) -> str:
    edition = frames.edition()
    note = f" Remark: {safe(edition.note)}." if edition.note else ""
    return (
        "<h2>This edition</h2>"
        f"<p>No. {edition.number} for {safe(month_label(edition.period))}, made "
        f"{edition.created_at:%d %B %Y, %H:%M} UTC with version {safe(edition.tool_version)}.{note}</p>"
        f"<p>Content hash <code>{safe(edition.content_hash)}</code></p>"
    )


def quality_room(frames: ReleaseFrames, today: pd.Timestamp) -> Room:
    """Return the Data room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    today : pandas.Timestamp
        The day of reading, for the age of the edition.

    Returns
    -------
    Room
        Not shown yet.
    """
    response = FigureView("Who answered", quality.response, series_figure.draw, "response", wide=480)
    coverage = FigureView("Whose work is logged", quality.coverage, rows_figure.draw, "coverage", wide=480)
    reports, ledger = Reports(), Ledger()

    def answer(frames: ReleaseFrames, chosen: Chosen) -> Any:
        return quality.answer(frames, chosen, today)

    return Room(
        frames,
        answer,
        (response, coverage, reports, ledger),
        (side_by_side(response, coverage), side_by_side(reports), ledger),
    )
