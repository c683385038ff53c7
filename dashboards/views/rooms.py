"""All rooms of one release for one session: doors, choices, notices, and the room shown."""

from collections.abc import Callable
from typing import Any

import pandas as pd
import panel as pn

from dashboards import theme
from dashboards.conditions import attempted, no_numbers
from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.state import Chosen, RoomState
from dashboards.views.bar import Bar
from dashboards.views.changes import changes_room
from dashboards.views.drivers import drivers_room
from dashboards.views.live import BELOW, soon
from dashboards.views.load import load_room
from dashboards.views.markup import block, condition_markup
from dashboards.views.month import month_room
from dashboards.views.plan import plan_room
from dashboards.views.quality import quality_room
from dashboards.views.room import Room

# Which choices a room's numbers depend on; the others are not offered there.
CONTROLS = {
    "Month": ("unit", "period"),
    "Load": ("unit", "period", "measure"),
    "Drivers": ("period",),
    "Changes": ("change", "region", "measure", "period"),
    "Plan": ("region", "period"),
    "Data": ("unit", "period"),
}


class Rooms(pn.viewable.Viewer):
    """All rooms of one release for one session.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    state : RoomState
        State of this session.
    today : pandas.Timestamp
        The day of reading.
    doors : bool, default True
        Whether one can walk to the other rooms.
    **params : object
        Options of the viewer.
    """

    def __init__(
        self,
        frames: ReleaseFrames,
        state: RoomState,
        today: pd.Timestamp,
        *,
        doors: bool = True,
        **params: Any,
    ) -> None:
        theme.use()
        super().__init__(**params)
        self.frames, self.state = frames, state
        self._makers: dict[str, Callable[[], Room]] = {
            "Month": lambda: month_room(frames),
            "Load": lambda: load_room(frames),
            "Drivers": lambda: drivers_room(frames),
            "Changes": lambda: changes_room(frames),
            "Plan": lambda: plan_room(frames),
            "Data": lambda: quality_room(frames, today),
        }
        self._made: dict[str, Room] = {}
        self.notice = block(visible=False)
        self.bar = Bar(state, doors=doors)
        self._nothing = no_numbers(frames)
        self._place = pn.Column(sizing_mode="stretch_width", margin=0, stylesheets=[BELOW])
        state.param.watch(self._show, list(RoomState.URL))
        state.param.watch(self._tell, "refused")
        self._tell()
        # While the browser fetches its scripts the room is made.
        soon(self._show)

    @property
    def room(self) -> Room:
        """The room being shown."""
        return self._made[self.state.room]

    def _show(self, *_: object) -> None:
        chosen = self.state.settings()
        self.bar.offer(CONTROLS[chosen.room] if self._nothing is None else ())
        shown = self._shown(chosen)
        if not self._place.objects or self._place.objects[0] is not shown:
            self._place[:] = [shown]

    def _shown(self, chosen: Chosen) -> Any:
        if self._nothing is not None:
            return block(condition_markup(self._nothing))
        # The doors to the other rooms must stay, whatever fails while this one is built.
        failed = attempted(f"The room {chosen.room}", lambda: self._make(chosen.room))
        if failed is not None:
            return block(condition_markup(failed))
        room = self._made[chosen.room]
        room.show(chosen)
        return room._column

    def _make(self, name: str) -> None:
        if name not in self._made:
            self._made[name] = self._makers[name]()

    def _tell(self, *_: object) -> None:
        refused = self.state.refused
        words = "; ".join(f"{safe(name)}={safe(value)}" for name, value in refused.items())
        self.notice.visible = bool(refused)
        self.notice.object = (
            f'<div class="notice" role="status">The address asked for something this release does not have '
            f"({words}). The nearest view is shown; choose again below.</div>"
            if refused
            else ""
        )

    def __panel__(self) -> pn.viewable.Viewable:
        return pn.Column(
            self.notice,
            self.bar,
            self._place,
            sizing_mode="stretch_width",
            margin=0,
            styles={"gap": "14px", "padding": "12px clamp(12px, 2.4vw, 36px) 28px", "max-width": "1480px"},
            stylesheets=[BELOW],
        )
