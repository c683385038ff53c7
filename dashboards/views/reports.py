"""How far self-reported hours can be trusted, as sentences in the Data room."""

from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.labels import month_label, true_minus
from dashboards.readings import dose
from dashboards.state import Chosen
from dashboards.views.live import flexible
from dashboards.views.markup import block, bullets


class Reports(pn.viewable.Viewer):
    """The newest statement up to the chosen month: slope, steadiness, or what is assumed."""

    title = "How far reported hours can be trusted"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self._column = pn.Column(self.body, sizing_mode="stretch_width", margin=0, styles=flexible(480))

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show what is known at the chosen month."""
        rows = dose.reliability(frames, chosen)
        told = tuple(
            f"{month_label(str(row['period']))}: {true_minus(row['sentence'])}"
            for row in rows.to_dict("records")
        )
        self.body.object = "<h2>How far reported hours can be trusted</h2>" + bullets(
            told or ("Nothing is stated up to this month; it is once a quarter.",)
        )

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column
