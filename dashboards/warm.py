"""Read the newest edition ahead of the readers, so that the first one waits no longer than the next."""

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import Any

import pandas as pd

from dashboards.access import Grant
from dashboards.conditions import attempted
from dashboards.data import ReleaseFrames
from dashboards.page import granted_choices
from dashboards.state import RoomState
from dashboards.views.rooms import Rooms

ROOMS = ("Month", "Load")
"""Rooms that are about one group: there each choice of a group reads anew."""

PAUSE = 0.05
LOOK_EVERY = 60.0
WAY = 2.0
"""Seconds after a request in which a page may still be on its way: a reader who waits goes first."""
PATIENCE = 10.0
"""Seconds the reading waits in all: where pages are opened without end it comes in between them."""

Newest = Callable[[Grant | None], ReleaseFrames]


def read_ahead(frames: ReleaseFrames, grant: Grant | None) -> Iterator[str]:
    """Read each group's newest month in the rooms that are about one group, one view at a step.

    Parameters
    ----------
    frames : ReleaseFrames
        The frames that the sessions share; what is read is kept in them.
    grant : Grant or None
        What these readers may open; None for all.

    Yields
    ------
    str
        The view read: room and group.
    """
    state = RoomState(granted_choices(frames.choices(), grant))
    # Shown nowhere: the rooms read for it as they do for a page.
    rooms = Rooms(frames, state, pd.Timestamp.now())
    for room in ROOMS:
        if room in state.param.room.objects:
            for unit in state.param.unit.objects:
                rooms.state.param.update(room=room, unit=unit)
                yield f"{room} {unit}"


def keep_warm(
    loop: Any,
    newest: Newest,
    grants: Iterable[Grant | None],
    asked: Callable[[float], bool] = lambda _seconds: False,
) -> None:
    """Read each new edition ahead between the requests of the readers.

    In steps on the server's own loop, each as long as one choice, with a pause after it: the drawing
    library is not made for threads.

    Parameters
    ----------
    loop : tornado.ioloop.IOLoop
        The server's.
    newest : callable
        Role -> frames of the newest edition, the same object while it is the newest.
    grants : iterable of Grant or None
        Roles to read for.
    asked : callable, optional
        Seconds -> whether the server was asked for anything within them; the reading waits then.
    """
    wanted, known = tuple(grants), {}

    def look() -> None:
        steps: list[Iterator[str]] = []

        def compare() -> None:
            for grant in wanted:
                if known.get(grant) is not (frames := newest(grant)):
                    known[grant] = frames
                    steps.append(read_ahead(frames, grant))

        # No edition, or one that cannot be read: the page says so to its readers, and the log has it.
        attempted("Reading ahead", compare)
        step(chain.from_iterable(steps))

    def step(views: Iterator[str], waited: float = 0.0) -> None:
        if waited < PATIENCE and asked(WAY):
            loop.call_later(WAY / 4, step, views, waited + WAY / 4)
            return
        left: list[str | None] = [None]

        def read() -> None:
            left[0] = next(views, None)

        if attempted("Reading ahead", read) is None and left[0] is not None:
            loop.call_later(PAUSE, step, views, waited)
        else:
            loop.call_later(LOOK_EVERY, look)

    loop.call_later(PAUSE, look)
