"""Each part of a room is drawn behind a guard: one that fails says so in its place, and the rest stands."""

from collections.abc import Callable
from typing import Any

import panel as pn

from dashboards.conditions import attempted
from dashboards.views.markup import block, condition_markup


class Guard:
    """Keeps the failure of one part to that part.

    Parameters
    ----------
    column : panel.Column
        What the part shows itself as.
    title : str
        What the part is called.
    """

    def __init__(self, column: pn.Column, title: str) -> None:
        self._column, self._title = column, title
        self._objects: list[Any] | None = None

    def stands(self, draw: Callable[[], None]) -> bool:
        """Draw the part; return whether it stands.

        Parameters
        ----------
        draw : callable
            Draws the part.

        Returns
        -------
        bool
            False where drawing failed and a notice with a reference to the log stands in its place.
        """
        failed = attempted(self._title, draw)
        if failed is not None:
            self._hide(condition_markup(failed, "h2"))
            return False
        self._back()
        return True

    def _hide(self, markup: str) -> None:
        if self._objects is None:
            self._objects = list(self._column.objects)
        self._column[:] = [block(markup)]

    def _back(self) -> None:
        if self._objects is not None:
            self._column[:], self._objects = self._objects, None


def column_of(part: Any) -> pn.Column:
    """Return what a part shows itself as; a part that is no column could not be replaced.

    Parameters
    ----------
    part : object
        A view.

    Returns
    -------
    panel.Column
        The same one each time.

    Raises
    ------
    TypeError
        If the part shows itself as something else.
    """
    shown = part.__panel__()
    if not isinstance(shown, pn.Column):
        raise TypeError(f"{type(part).__name__} shows itself as {type(shown).__name__}, not as a column")
    return shown
