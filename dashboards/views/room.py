"""What every room has: an answer on top, its parts below, the caution; shown for one choice."""

from collections.abc import Callable, Sequence
from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.readings.base import CAUTION, Answer
from dashboards.state import Chosen
from dashboards.views.live import held
from dashboards.views.markup import answer_markup, block


class Room(pn.viewable.Viewer):
    """A room: call :meth:`show` with a choice.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    answer : callable
        Frames and choice -> Answer.
    parts : sequence
        Views with a ``show(frames, chosen)`` of their own.
    layout : sequence
        What stands below the answer, top to bottom.
    **params : object
        Options of the viewer.
    """

    def __init__(
        self,
        frames: ReleaseFrames,
        answer: Callable[[ReleaseFrames, Chosen], Answer],
        parts: Sequence[Any],
        layout: Sequence[Any],
        **params: Any,
    ) -> None:
        super().__init__(**params)
        self.frames, self._answer, self.parts = frames, answer, tuple(parts)
        self.top = block()
        self.chosen: Chosen | None = None
        self._column = pn.Column(
            self.top,
            *layout,
            block(f'<p class="caution">{safe(CAUTION)}</p>'),
            sizing_mode="stretch_width",
            margin=0,
            styles={"gap": "22px"},
        )

    def show(self, chosen: Chosen) -> None:
        """Show the room for a choice; the same choice twice draws nothing.

        Parameters
        ----------
        chosen : Chosen
            State.
        """
        if chosen == self.chosen:
            return
        with held():
            self.top.object = answer_markup(self._answer(self.frames, chosen))
            for part in self.parts:
                part.show(self.frames, chosen)
        self.chosen = chosen

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column
