"""The address bar: a view has one, and one address reopens one view."""

from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import panel as pn
import param
from panel.custom import JSComponent

from dashboards.state import RoomState


class Address(JSComponent):
    """Keeps a session's choice in the browser's address.

    The library's own way holds an address back until the document is idle, and on a slow machine a
    choice made at the wrong moment is held back for good; this one writes at once.

    Parameters
    ----------
    state : RoomState
        State of the session; it takes what the address asks for.
    **params : object
        Options of the component.
    """

    query = param.String(doc="Query of the present view, with its question mark.")

    _esm = Path(__file__).with_name("address.js")

    def __init__(self, state: RoomState, **params: Any) -> None:
        super().__init__(width=0, height=0, margin=0, **params)
        self._state = state
        if pn.state.location is not None:
            state.take(pn.state.location.query_params)
        state.param.watch(self._write, list(RoomState.URL))
        self._write()

    def _write(self, *_: object) -> None:
        self.query = f"?{urlencode(self._state.address())}"
