"""The served app: one page a session over the newest edition."""

from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.labels import safe
from dashboards.page import make_page, missing_page
from dashboards.views.markup import block
from etl.errors import EvenhandError
from etl.home import Home, default_root
from etl.release_door import ReleaseDoor, open_release

LOOK_EVERY_MS = 60_000


def build(door: ReleaseDoor, today: pd.Timestamp | None = None) -> Any:
    """Return the page of one session.

    The session keeps the edition it opened, so that all its numbers belong together; a newer one
    is announced, not slipped in.

    Parameters
    ----------
    door : ReleaseDoor
        The open release.
    today : pandas.Timestamp, optional
        The day of reading; by default the present day.

    Returns
    -------
    panel_material_ui.Page
        The page.
    """
    pinned = door.pin()
    page = make_page(ReleaseFrames(pinned), today or pd.Timestamp.now(tz="UTC").tz_localize(None))
    newer = block(visible=False, styles={"padding": "10px clamp(12px, 2.4vw, 36px) 0"})
    page.main = [newer, *page.main]

    def look() -> None:
        words = door.notice
        if door.pin().path != pinned.path:
            words = "A newer edition is published. Load this page again to see it."
        newer.visible = bool(words)
        newer.object = f'<div class="notice" role="status">{safe(words)}</div>' if words else ""

    if pn.state.curdoc is not None and pn.state.curdoc.session_context is not None:
        pn.state.add_periodic_callback(look, period=LOOK_EVERY_MS)
    return page


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


def session(place: Path | str) -> Any:
    """Return the page for a data home or release file, or one that says why there is none.

    Parameters
    ----------
    place : Path or str
        Data home or release file.

    Returns
    -------
    panel_material_ui.Page
        The page.
    """
    try:
        return build(door_of(place))
    except EvenhandError as error:
        return missing_page(str(error))


if pn.state.served:
    session(default_root()).servable()
