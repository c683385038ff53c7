"""The Drivers room."""

from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.figures import diagram, dose_curve
from dashboards.figures import rows as rows_figure
from dashboards.labels import safe
from dashboards.readings import driver_budget, driver_other, driver_prediction, driver_trust, drivers
from dashboards.readings.base import Reading, listed
from dashboards.state import Chosen
from dashboards.tables import Column
from dashboards.views.figure import FigureView
from dashboards.views.flags import WordTable
from dashboards.views.live import flexible, side_by_side
from dashboards.views.markup import block
from dashboards.views.room import Room
from dashboards.views.table import TableBehind, place_words

TITLE = "What is taken to act on what"
_COLUMNS = (Column("words", "What"), Column("role", "Role"), Column("handled", "What is done"))


class Diagram(pn.viewable.Viewer):
    """The declared causal diagram: drawn, and as the rows it is drawn from."""

    title = TITLE

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self.table = TableBehind(TITLE, "evenhand_diagram.csv")
        self._column = pn.Column(
            self.body, self.table, sizing_mode="stretch_width", margin=0, styles=flexible(480)
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the diagram of the release."""
        rows, arrows = frames.frame("driver_node"), frames.frame("driver_arrow")
        reading = Reading(None, "", "", rows, _COLUMNS)
        drawn = diagram.draw(rows, arrows) or f'<p class="empty">{safe(drivers.NONE)}</p>'
        open_ = rows[rows["handled"].isin(["not measured, left open"])]
        words = f"Left open: {listed([w.lower() for w in open_['words']])}." if len(open_) else ""
        self.body.object = (
            f"<h2>{TITLE}</h2><p>Declared before any result; an arrow is an assumption, not a finding. "
            f"Dashed: not measured.</p>{drawn}"
            f'<p class="foot">{safe(words)}</p>'
        )
        self.table.show(rows, _COLUMNS, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


def drivers_room(frames: ReleaseFrames) -> Room:
    """Return the Drivers room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Room
        Not shown yet.
    """
    curve = FigureView("Discomfort over weekly hours", drivers.curve, dose_curve.draw, "curve", wide=560)
    lags = FigureView("Hours of which month", driver_budget.lags, rows_figure.draw, "lags", wide=400)
    regions = FigureView("All body regions", driver_other.regions, rows_figure.draw, "regions", wide=440)
    budget = WordTable("Hours budget", driver_budget.budget_rows, "evenhand_budget.csv", wide=760)
    effects = WordTable("The same asked in other ways", driver_other.effects, "evenhand_effects.csv")
    trust = WordTable(driver_trust.TITLE, driver_trust.trust, "evenhand_trust.csv")
    checks = WordTable("Checks", driver_other.checks, "evenhand_checks.csv")
    predicted = FigureView(
        "Can next quarter be predicted?", driver_prediction.prediction, rows_figure.draw, "prediction",
        wide=480,
    )  # fmt: skip
    leans = FigureView(
        "What the prediction leans on", driver_prediction.importance, rows_figure.draw, "importance", wide=480
    )
    assumed = Diagram()
    return Room(
        frames,
        drivers.answer,
        (curve, lags, budget, regions, effects, trust, checks, predicted, leans, assumed),
        (
            side_by_side(curve, lags),
            side_by_side(budget, regions),
            side_by_side(effects, trust),
            side_by_side(predicted, leans),
            side_by_side(checks),
            # A line of its own: half a line would cut the drawing off.
            side_by_side(assumed),
        ),
    )
