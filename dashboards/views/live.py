"""Figures that are fed instead of rebuilt, and the rows they stand in."""

from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

import holoviews as hv
import panel as pn
from holoviews.streams import Pipe

from dashboards import theme


class LiveFigure(pn.viewable.Viewer):
    """A figure that is built once and then fed; redrawing rebuilds nothing.

    Parameters
    ----------
    draw : callable
        Plot description -> HoloViews element, always of the same layers.
    **params : object
        Options of the viewer.
    """

    def __init__(self, draw: Callable[[Any], Any], **params: Any) -> None:
        theme.use()
        super().__init__(**params)
        self._draw = draw
        self._pipe: Pipe | None = None
        self._holder = pn.Column(sizing_mode="stretch_width", margin=0)

    def show(self, plot: Any) -> None:
        """Show a plot description; None hides the figure.

        Parameters
        ----------
        plot : object or None
            What the draw function takes.
        """
        self._holder.visible = plot is not None
        if plot is None:
            return
        if self._pipe is None:
            self._pipe = Pipe(data=plot)
            live = hv.DynamicMap(self._drawn, streams=[self._pipe])
            self._holder[:] = [
                pn.pane.HoloViews(live, sizing_mode="stretch_width", linked_axes=False, margin=0)
            ]
        else:
            self._pipe.send(plot)

    def _drawn(self, data: Any) -> Any:
        return self._draw(data)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._holder


def flexible(width: int) -> dict[str, str]:
    """Return the styles of a part that shares a row while it has this width.

    Parameters
    ----------
    width : int
        Pixels.

    Returns
    -------
    dict of str to str
        Styles.
    """
    return {"flex": f"1 1 {width}px", "min-width": f"min(100%, {width}px)"}


def held() -> ExitStack:
    """Return a context in which all changes of one redraw travel together."""
    stack = ExitStack()
    document = pn.state.curdoc
    if document is not None:
        stack.enter_context(document.models.freeze())
    stack.enter_context(pn.io.hold())
    return stack


def side_by_side(*parts: Any, gap: str = "22px 36px") -> pn.Row:
    """Return parts in a row that wraps on narrow screens.

    A figure always stands in such a row, alone or not: placed straight into a column beside flexible
    rows, the drawing library never finishes laying out the others.

    Parameters
    ----------
    *parts : object
        Views.
    gap : str
        Distance between them.

    Returns
    -------
    panel.Row
        The row.
    """
    return pn.Row(
        *parts,
        sizing_mode="stretch_width",
        margin=0,
        styles={"flex-wrap": "wrap", "align-items": "flex-start", "gap": gap},
    )
