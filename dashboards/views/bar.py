"""The doors to the rooms and the choices within one."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, ClassVar

import param
from panel.custom import JSComponent

from dashboards.state import RoomState


class Bar(JSComponent):
    """Doors and lists, of the browser's own kinds: they open by keyboard, finger and voice as everywhere.

    Parameters
    ----------
    state : RoomState
        State of the session; it takes what is chosen here, and shows what was chosen elsewhere.
    doors : bool, default True
        Whether one can walk to the other rooms.
    **params : object
        Options of the component.
    """

    doors = param.List(item_type=str, doc="Rooms that can be walked to.")
    lists = param.List(item_type=dict, doc="Of each choice name, label and options, as [value, words].")
    values = param.Dict(default={}, doc="Name -> value chosen, the room's among them.")
    shown = param.List(item_type=str, doc="Names of the choices that this room depends on.")

    _esm = Path(__file__).with_name("bar.js")
    _stylesheets: ClassVar[list[str]] = [Path(__file__).with_name("bar.css").read_text(encoding="utf-8")]

    LISTS: ClassVar[tuple[str, ...]] = ("change", "unit", "region", "measure", "period")

    def __init__(self, state: RoomState, *, doors: bool = True, **params: Any) -> None:
        super().__init__(
            doors=list(state.param.room.objects) if doors else [],
            lists=[_list(state, name) for name in self.LISTS],
            sizing_mode="stretch_width",
            margin=0,
            **params,
        )
        self._state = state
        state.param.watch(self._tell, ["room", *self.LISTS])
        self._tell()

    def offer(self, names: Sequence[str]) -> None:
        """Show some of the choices.

        Parameters
        ----------
        names : sequence of str
            Names of the choices.
        """
        self.shown = [name for name in self.LISTS if name in names]

    def _tell(self, *_: object) -> None:
        self.values = {name: getattr(self._state, name) for name in ("room", *self.LISTS)}

    def _handle_msg(self, data: Any) -> None:
        # Whatever a browser sends: only what is on the list of this session can be chosen.
        name, value = (data.get("name"), data.get("value")) if isinstance(data, dict) else (None, None)
        if not isinstance(name, str) or not isinstance(value, str) or name not in ("room", *self.LISTS):
            return
        if value in list(self._state.param[name].objects):
            setattr(self._state, name, value)


def _list(state: RoomState, name: str) -> dict[str, Any]:
    options = state.param[name].names or {value: value for value in state.param[name].objects}
    return {
        "name": name,
        "label": state.param[name].label,
        "options": [[value, words] for words, value in options.items()],
    }
