"""Figures that are fed instead of rebuilt, and the rows they stand in."""

from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

import panel as pn

from dashboards.figures.drawing import Drawing
from dashboards.figures.fed import feed
from dashboards.figures.standing import standing


class LiveFigure(pn.viewable.Viewer):
    """A figure that is drawn once for each place it stands at, and then fed.

    Parameters
    ----------
    **params : object
        Options of the viewer.
    """

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self._places = _Places()
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
        self._places.feed(drawing)
        if not self._holder.objects:
            self._holder[:] = [self._places]

    def __panel__(self) -> pn.viewable.Viewable:
        return self._holder


class _Places(pn.pane.Bokeh):
    """The plots of one figure: a page has one, a notebook one for each cell that shows it."""

    def __init__(self, **params: Any) -> None:
        super().__init__(sizing_mode="stretch_width", margin=0, **params)
        self._drawing: Drawing | None = None

    def feed(self, drawing: Drawing) -> None:
        # Places still to come draw this one; those that stand are fed.
        self._drawing = drawing
        for plot in {id(plot): plot for plot, _ in self._models.values()}.values():
            feed(plot, drawing)
        pn.io.push_notebook(self)

    def _get_model(self, doc: Any, root: Any = None, parent: Any = None, comm: Any = None) -> Any:
        if root is None:
            return self.get_root(doc, comm)
        assert self._drawing is not None, "a figure stands nowhere before it is shown"
        plot = standing(self._drawing)
        self._models[root.ref["id"]] = (plot, parent)
        return plot


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


# On paper parts stand one below the other: what moves to the next page would lie over what follows, as rows
# and columns of the screen do not grow with it.
BELOW = "@media print { :host { display: block !important; } :host > * { margin-bottom: 16px; } }"


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
        stylesheets=[BELOW],
    )
