"""What the page library leaves to us: names for its own parts, and the system's wish for dark."""

from pathlib import Path
from typing import Any

import param
from panel.custom import JSComponent


class Manners(JSComponent):
    """Names the parts of the page that have none and says whether the reader's system prefers dark.

    Parameters
    ----------
    **params : object
        Options of the component.
    """

    dark = param.Boolean(default=False, doc="Whether the reader's system prefers dark.")

    _esm = Path(__file__).with_name("manners.js")

    def __init__(self, **params: Any) -> None:
        super().__init__(width=0, height=0, margin=0, **params)
