"""The page: rooms, choices, notices; one state a session, kept in the address."""

import dataclasses
from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn
import panel_material_ui as pmui
from panel.util.parameters import edit_readonly

from dashboards import theme
from dashboards.access import Grant
from dashboards.conditions import Condition
from dashboards.data import Edition, ReleaseFrames
from dashboards.labels import month_label, safe
from dashboards.readings.quality import age_words
from dashboards.state import Choices, RoomState
from dashboards.views.address import Address
from dashboards.views.manners import Manners
from dashboards.views.markup import block, condition_markup
from dashboards.views.rooms import Rooms

STALE_DAYS = 62
_EDGE = {"padding": "10px clamp(12px, 2.4vw, 36px) 0", "max-width": "1480px"}


# Each choice is a step in the browser's history; loading the earlier address again shows the earlier view.
BACK = """{% extends "base.html" %}
{% block postamble %}{{ super() }}
<script>window.addEventListener("popstate", () => window.location.reload())</script>
{% endblock %}"""


def make_page(frames: ReleaseFrames, today: pd.Timestamp, grant: Grant | None = None) -> pmui.Page:
    """Return the page of one session.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    today : pandas.Timestamp
        The day of reading.
    grant : Grant, optional
        What the reader may open; by default all.

    Returns
    -------
    panel_material_ui.Page
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
    line += f" \u00b7 shown to the {grant.words}" if grant else ""
    return bare_page(*(stale if old else []), Rooms(frames, state, today), address, line=line)


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


def _stale_words(edition: Edition, today: pd.Timestamp) -> str:
    return (
        f"This edition is {age_words(edition, today)} and ends with {month_label(edition.period)}. "
        f"Later months are "
        "not in it; ask whoever publishes the releases before you act on it."
    )


def bare_page(*main: Any, line: str = "") -> pmui.Page:
    """Return an empty page of ours.

    Parameters
    ----------
    *main : object
        What stands in it.
    line : str, default ""
        Plain words in the strip on top.

    Returns
    -------
    panel_material_ui.Page
        The page.
    """
    strip = (
        '<div class="strip"><span class="brand">Evenhand</span>'
        f'<span class="eyebrow">{safe(line)}</span></div>'
    )
    manners = Manners()
    before = _following()
    page = pmui.Page(
        meta_title="Evenhand",
        meta_name="Evenhand",
        main=[*main, manners],
        header=[block(strip)],
        raw_css=[theme.RAW_CSS],
        theme_config=theme.PAGE_THEME,
        sx=theme.PAGE_SX,
        busy_indicator=None,
        template=BACK,
        favicon=Path(__file__).with_name("evenhand.svg"),
    )
    _deaf(page, before)
    manners.param.watch(lambda wish: page.param.update(dark_theme=wish.new), "dark")
    return page


def _following() -> list[Any]:
    return list(pn.state.param.watchers.get("busy", {}).get("value", []))


def _deaf(page: pmui.Page, before: list[Any]) -> None:
    # The library has each page follow whether any session of the process is busy: for a choice of one reader
    # it searched all parts of every open page, twice, and it kept the pages of those who had left for good.
    with edit_readonly(page):
        page.busy = False
    for watcher in _following():
        if all(watcher is not old for old in before):
            pn.state.param.unwatch(watcher)


def condition_page(condition: Condition) -> pmui.Page:
    """Return the page for a release that cannot be shown.

    Parameters
    ----------
    condition : Condition
        What was found, where, and what to do.

    Returns
    -------
    panel_material_ui.Page
        The page.
    """
    theme.use()
    return bare_page(
        block(condition_markup(condition), styles={"padding": "24px clamp(12px, 2.4vw, 36px)"}),
    )
