"""The served app: one page a session over the newest edition."""

import functools
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn

from dashboards.access import Grant
from dashboards.conditions import attempted, no_release
from dashboards.data import ReleaseFrames
from dashboards.granted import GrantedDoor
from dashboards.labels import safe
from dashboards.page import Page, condition_page, make_page
from dashboards.seats import Seats
from dashboards.signin import demo_markup
from dashboards.views.markup import block
from etl.errors import EvenhandError
from etl.home import Home, default_root
from etl.release_door import ReleaseDoor, open_release

# A page that was left is kept in memory until its next look.
LOOK_EVERY_MS = 20_000
# Editions times roles that are kept; a manager's frames hold little, and an old edition is soon unused.
SHARED = 16
_EDGE = {"padding": "24px clamp(12px, 2.4vw, 36px)"}


def build(
    door: ReleaseDoor, today: pd.Timestamp | None = None, grant: Grant | None = None, way_out: str = ""
) -> Any:
    """Return the page of one session.

    The session keeps the edition it opened, so that all its numbers belong together; a newer one
    is announced, not slipped in.

    Parameters
    ----------
    door : ReleaseDoor
        The open release.
    today : pandas.Timestamp, optional
        The day of reading; by default the present day.
    grant : Grant, optional
        What the reader may open; by default all, for one's own machine.
    way_out : {"", "role", "sign-out"}
        How the reader may leave.

    Returns
    -------
    Page
        The page.
    """
    pinned = door.pin()
    frames = frames_of(pinned, grant)
    day = today or pd.Timestamp.now(tz="UTC").tz_localize(None)
    page = make_page(frames, day, grant, way_out)
    newer = block(visible=False, styles={"padding": "10px clamp(12px, 2.4vw, 36px) 0"})
    page.main.insert(0, newer)

    def look() -> None:
        # Looking comes first: it is what finds a newer edition, or one that cannot be read.
        newest = door.pin()
        words, again = door.notice, ""
        if newest.path != pinned.path:
            words = "A newer edition is published; this page keeps the one it opened."
            # An empty address is this page's own: the same view of the newer edition.
            again = '<a href="">Load the newer edition</a>'
        newer.visible = bool(words)
        newer.object = f'<div class="notice" role="status">{safe(words)} {again}</div>' if words else ""

    if pn.state.curdoc is not None and pn.state.curdoc.session_context is not None:
        pn.state.add_periodic_callback(look, period=LOOK_EVERY_MS)
    return page


@functools.lru_cache(SHARED)
def frames_of(pinned: Any, grant: Grant | None) -> ReleaseFrames:
    """Return the frames that all sessions of one role read one edition through.

    Parameters
    ----------
    pinned : PinnedRelease
        An opened edition.
    grant : Grant or None
        What the readers may open; None for all.

    Returns
    -------
    ReleaseFrames
        Read once, and what was made of them kept: a hundred sessions cost the memory of one.
    """
    return ReleaseFrames(GrantedDoor(pinned, grant) if grant else pinned)


def door_of(place: Path | str) -> ReleaseDoor:
    """Return the door of a data home or of a release file.

    Parameters
    ----------
    place : Path or str
        Data home (a folder) or release file.

    Returns
    -------
    ReleaseDoor
        The door.
    """
    path = Path(place)
    return open_release(Home(path) if path.is_dir() else path)


class OneDoor:
    """The door all sessions of a process share, opened when the first one asks.

    Parameters
    ----------
    place : Path or str
        Data home or release file.
    """

    def __init__(self, place: Path | str) -> None:
        self._place = place
        self._door: ReleaseDoor | None = None
        self._lock = threading.Lock()

    def get(self) -> ReleaseDoor:
        """Return the door; one that could not be opened is tried again."""
        with self._lock:
            if self._door is None:
                self._door = door_of(self._place)
            return self._door


def session(place: Path | str | OneDoor, grant: Grant | None = None, way_out: str = "") -> Any:
    """Return the page for a data home or release file, or one that says why there is none.

    Parameters
    ----------
    place : Path, str or OneDoor
        Data home or release file.
    grant : Grant, optional
        What the reader may open; by default all.
    way_out : {"", "role", "sign-out"}
        How the reader may leave.

    Returns
    -------
    Page
        The page.
    """
    door = place if isinstance(place, OneDoor) else OneDoor(place)
    made: list[Any] = []

    def make() -> None:
        try:
            made.append(build(door.get(), grant=grant, way_out=way_out))
        except EvenhandError as error:
            made.append(condition_page(no_release(error, local=grant is None)))

    failed = attempted("This page", make)
    return condition_page(failed) if failed else made[0]


def seated(seats: Seats, make: Callable[[], Any]) -> Any:
    """Return a page while there is room for one more, else one that says so.

    Parameters
    ----------
    seats : Seats
        Open pages.
    make : callable
        Makes the page.

    Returns
    -------
    Page
        The page.
    """
    if not seats.take():
        return said(
            "All places are taken",
            f"{seats.limit} pages are open, which is the most this server keeps at a time. "
            "Try again in a few minutes.",
        )
    pn.state.on_session_destroyed(lambda _context: seats.leave())
    return make()


def denied(way_out: str = "") -> Any:
    """Return the page of a person without a role."""
    words = "You are signed in, and no role is given to you. Ask whoever runs Evenhand."
    return said("No role", words, way_out)


def said(title: str, words: str, way_out: str = "") -> Any:
    """Return a page of one sentence."""
    return Page(
        block(f'<h1>{safe(title)}</h1><div class="notice" role="alert">{safe(words)}</div>', styles=_EDGE),
        way_out=way_out,
    )


def chooser(grants: Mapping[str, Grant]) -> Any:
    """Return the demo sign-in, which says that it checks nothing."""
    return Page(block(demo_markup(grants), styles=_EDGE))


if pn.state.served:
    session(default_root()).servable()
