"""What every room has: an answer on top, its parts below, the caution; shown for one choice."""

import functools
from collections.abc import Callable, Sequence
from typing import Any

import panel as pn

from dashboards.conditions import attempted
from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.readings.base import CAUTION, Answer
from dashboards.state import Chosen
from dashboards.views.guard import Guard, column_of
from dashboards.views.live import BELOW, held, soon
from dashboards.views.markup import answer_markup, block, condition_markup


class Room(pn.viewable.Viewer):
    """A room: call :meth:`show` with a choice.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    answer : callable
        Frames and choice -> Answer.
    parts : sequence
        Views with a ``title`` and a ``show(frames, chosen)`` of their own.
    layout : sequence
        What stands below the answer, top to bottom.
    first : int, default 2
        How many parts, from the front, a reader sees without scrolling: they are sent first.
    **params : object
        Options of the viewer.
    """

    def __init__(
        self,
        frames: ReleaseFrames,
        answer: Callable[[ReleaseFrames, Chosen], Answer],
        parts: Sequence[Any],
        layout: Sequence[Any],
        first: int = 2,
        **params: Any,
    ) -> None:
        super().__init__(**params)
        self.frames, self._answer, self.parts = frames, answer, tuple(parts)
        self._guards = tuple(Guard(column_of(part), part.title) for part in self.parts)
        self.top = block()
        self._first = first
        self.chosen: Chosen | None = None
        self._wanted: Chosen | None = None
        self._column = pn.Column(
            self.top,
            *layout,
            block(f'<p class="caution">{safe(CAUTION)}</p>'),
            sizing_mode="stretch_width",
            margin=0,
            styles={"gap": "22px"},
            stylesheets=[BELOW],
        )

    def show(self, chosen: Chosen) -> None:
        """Show the room for a choice; the same choice twice draws nothing.

        A part that fails says so in its place; the others stand.

        Parameters
        ----------
        chosen : Chosen
            State.
        """
        if chosen == self.chosen:
            return
        building = self.chosen is None
        self._wanted = chosen
        with held(building):
            stands = self._top(chosen) & self._shown(slice(None, self._first), chosen)
        # A room with a fault in it is drawn again when asked for again.
        self.chosen = chosen if stands else None
        soon(lambda: self._rest(chosen, building))

    def _rest(self, chosen: Chosen, building: bool) -> None:
        # Whoever chose again meanwhile gets the rest of that choice.
        if chosen == self._wanted:
            with held(building):
                stands = self._shown(slice(self._first, None), chosen)
            self.chosen = self.chosen if stands else None

    def _shown(self, which: slice, chosen: Chosen) -> bool:
        stands = True
        for guard, part in zip(self._guards[which], self.parts[which], strict=True):
            stands &= guard.stands(functools.partial(part.show, self.frames, chosen))
        return stands

    def _top(self, chosen: Chosen) -> bool:
        def answered() -> None:
            self.top.object = answer_markup(self.frames.read(self._answer, chosen))

        failed = attempted("The answer of this room", answered)
        if failed is not None:
            self.top.object = condition_markup(failed)
        return failed is None

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column
