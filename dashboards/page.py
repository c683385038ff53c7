"""The page: rooms, choices, notices; one state a session, kept in the address."""

import base64
import dataclasses
import functools
from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn

from dashboards import theme
from dashboards.access import Grant
from dashboards.conditions import Condition
from dashboards.data import Edition, ReleaseFrames
from dashboards.labels import month_label, safe
from dashboards.offline import use_own_server
from dashboards.plain import Plain
from dashboards.readings.quality import age_words
from dashboards.state import Choices, RoomState
from dashboards.views.address import Address
from dashboards.views.markup import block, condition_markup
from dashboards.views.rooms import Rooms

STALE_DAYS = 62
_EDGE = {"padding": "10px clamp(12px, 2.4vw, 36px) 0", "max-width": "1480px"}


class Page(pn.Template):
    """Our page: a strip, one column of views, light and dark, nothing from another host.

    Plain markup around the views: a page library's own scripts took longer to fetch and start than all
    figures of a room together, and what a page needs is in every browser.

    Parameters
    ----------
    *main : object
        What stands in it, top to bottom.
    line : str, default ""
        Plain words in the strip on top.
    way_out : {"", "role", "sign-out"}
        What the strip offers besides: nothing, another role of the demo, or signing out.
    """

    def __init__(self, *main: Any, line: str = "", way_out: str = "") -> None:
        use_own_server()
        super().__init__(_file("page.html"), design=Plain)
        self.main = pn.Column(*main, sizing_mode="stretch_width", margin=0)
        self.add_panel("main", self.main)
        mark = f"data:image/svg+xml;base64,{base64.b64encode(_file('evenhand.svg').encode()).decode()}"
        variables = {
            "line": line,
            "way_out": way_out,
            "page_css": theme.page_css(_file("page.css")),
            "page_js": _file("page.js"),
            "app_favicon": mark,
            "apple_icon": mark,
        }
        for name, value in variables.items():
            self.add_variable(name, value)

    def __repr__(self) -> str:
        # The library describes a page when one is made, view by view, for whoever reads it in a notebook.
        return f"{type(self).__name__}()"

    def _init_doc(self, *args: Any, **more: Any) -> Any:
        return super()._init_doc(*args, **{**more, "title": "Evenhand"})


@functools.cache
def _file(name: str) -> str:
    return Path(__file__).with_name(name).read_text(encoding="utf-8")


def make_page(
    frames: ReleaseFrames, today: pd.Timestamp, grant: Grant | None = None, way_out: str = ""
) -> Page:
    """Return the page of one session.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    today : pandas.Timestamp
        The day of reading.
    grant : Grant, optional
        What the reader may open; by default all.
    way_out : {"", "role", "sign-out"}
        How the reader may leave.

    Returns
    -------
    Page
        The page, its state linked to the address.
    """
    theme.use()
    state = RoomState(granted_choices(frames.choices(), grant))
    address = Address(state)
    edition = frames.edition()
    old = (today - edition.created_at).days > STALE_DAYS
    stale = [
        block(f'<div class="notice" role="status">{safe(_stale_words(edition, today))}</div>', styles=_EDGE)
    ]
    line = f"Edition {edition.number}, {month_label(edition.period)}, {age_words(edition, today)}"
    line += f" \u00b7 shown to the {_role_words(frames, grant)}" if grant else ""
    return Page(*(stale if old else []), Rooms(frames, state, today), address, line=line, way_out=way_out)


def granted_choices(choices: Choices, grant: Grant | None) -> Choices:
    """Return the closed lists that a role may choose from; the rows behind them are cut by the door.

    Parameters
    ----------
    choices : Choices
        Lists of the release as the role's door shows it.
    grant : Grant or None
        What the reader may open; None for all.

    Returns
    -------
    Choices
        With the role's rooms, and a manager's own team chosen first.
    """
    if grant is None or grant.rooms is None:
        return choices
    rooms = tuple(room for room in choices.rooms if room in grant.rooms)
    own = {"unit": f"team.{grant.teams[0]}"} if grant.teams else {}
    return dataclasses.replace(choices, rooms=rooms, preferred={**choices.preferred, **own})


def _role_words(frames: ReleaseFrames, grant: Grant) -> str:
    # A manager knows the team by its name; its code stands in where the edition knows no name.
    if grant.role != "manager":
        return grant.words
    names = {unit.code: unit.name for unit in frames.units("team")}
    return f"manager of {', '.join(names.get(team, team) for team in grant.teams)}"


def _stale_words(edition: Edition, today: pd.Timestamp) -> str:
    return (
        f"This edition is {age_words(edition, today)} and ends with {month_label(edition.period)}. "
        f"Later months are "
        "not in it; ask whoever publishes the releases before you act on it."
    )


def condition_page(condition: Condition) -> Page:
    """Return the page for a release that cannot be shown.

    Parameters
    ----------
    condition : Condition
        What was found, where, and what to do.

    Returns
    -------
    Page
        The page.
    """
    theme.use()
    return Page(
        block(condition_markup(condition), styles={"padding": "24px clamp(12px, 2.4vw, 36px)"}),
    )
