"""Figures that are fed instead of rebuilt, and the rows they stand in."""

import weakref
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

import holoviews as hv
import panel as pn

from dashboards import theme
from dashboards.figures.drawing import Drawing
from dashboards.figures.fed import feed
from dashboards.figures.holo import overlay


class LiveFigure(pn.viewable.Viewer):
    """A figure that is built once for each place it stands at, and then fed.

    Parameters
    ----------
    **params : object
        Options of the viewer.
    """

    def __init__(self, **params: Any) -> None:
        theme.use()
        super().__init__(**params)
        self._drawing: Drawing | None = None
        # A page has one plot of it; a notebook one for each cell that shows it.
        self._plots: list[Any] = []
        self._live = hv.DynamicMap(self._present)
        self._holder = pn.Column(sizing_mode="stretch_width", margin=0)

    def show(self, drawing: Drawing | None) -> None:
        """Show a drawing; None hides the figure.

        Parameters
        ----------
        drawing : Drawing or None
            Always of the same marks.
        """
        self._holder.visible = drawing is not None
        if drawing is None:
            return
        first, self._drawing = self._drawing is None, drawing
        # Places still to come draw this one; those that stand are fed.
        self._live.reset()
        if first:
            self._holder[:] = [
                pn.pane.HoloViews(self._live, sizing_mode="stretch_width", linked_axes=False, margin=0)
            ]
        self._plots = [made for made in self._plots if made.state.document is not None]
        for made in self._plots:
            feed(made, drawing)
            made.push()

    def _present(self) -> Any:
        # The library keeps a hook as long as what it belongs to; one that held this view would keep both,
        # and with them the page of a reader who has left.
        own = weakref.ref(self)
        assert self._drawing is not None, "a figure stands nowhere before it is shown"

        def made(plot: Any) -> None:
            view = own()
            if view is not None:
                view._plots.append(plot)

        return overlay(self._drawing, made)

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


def held(building: bool) -> ExitStack:
    """Return a context in which all changes of one redraw travel together.

    Parameters
    ----------
    building : bool
        Whether new parts come into the page. They are then counted once at the end; where none come,
        counting all parts of the page would cost more than the redraw.

    Returns
    -------
    contextlib.ExitStack
        The context.
    """
    stack = ExitStack()
    document = pn.state.curdoc
    if building and document is not None:
        stack.enter_context(document.models.freeze())
    stack.enter_context(pn.io.hold())
    return stack


def soon(draw: Callable[[], None]) -> None:
    """Draw once what was decided so far is on its way to the reader; outside a served page at once.

    Parameters
    ----------
    draw : callable
        Draws what can wait.
    """
    document = pn.state.curdoc
    if document is not None and document.session_context is not None:
        document.add_next_tick_callback(draw)
    else:
        draw()


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
