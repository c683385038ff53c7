"""Doors and lists offer what the session may choose, show what was chosen, and take nothing else."""

from typing import Any

import pytest

from dashboards.access import Grant
from dashboards.data import ReleaseFrames
from dashboards.page import granted_choices
from dashboards.state import RoomState
from dashboards.views.bar import Bar


@pytest.fixture
def bar(frames: ReleaseFrames) -> Bar:
    return Bar(RoomState(frames.choices()))


def told(bar: Bar, data: Any) -> dict[str, str]:
    """What the state is after the browser has sent this."""
    bar._handle_msg(data)
    return bar._state.settings().__dict__


def test_a_choice_reaches_the_state_and_comes_back(bar: Bar) -> None:
    assert told(bar, {"name": "unit", "value": "team.QC1"})["unit"] == "team.QC1"
    assert told(bar, {"name": "room", "value": "Load"})["room"] == "Load"
    assert (bar.values["unit"], bar.values["room"]) == ("team.QC1", "Load")


def test_what_was_chosen_elsewhere_is_shown(bar: Bar) -> None:
    bar._state.unit = "cluster.BIO"
    assert bar.values["unit"] == "cluster.BIO"


@pytest.mark.parametrize(
    "data",
    [
        None,
        "room",
        [],
        {},
        {"name": "unit"},
        {"name": "unit", "value": "team.NONE"},
        {"name": "unit", "value": ["team.QC1"]},
        {"name": ["unit"], "value": "team.QC1"},
        {"name": "refused", "value": ""},
        {"name": "_state", "value": "Load"},
        {"name": "name", "value": "Load"},
        {"name": "room", "value": "<b>Load</b>"},
    ],
)
def test_nothing_else_is_taken(bar: Bar, data: Any) -> None:
    # A browser can write the component's properties as well.
    bar.values = {"refused": "", "name": "", "_state": ""}
    before = bar._state.settings().__dict__
    assert told(bar, data) == before


def test_a_role_finds_its_own_doors_and_no_message_opens_another(frames: ReleaseFrames) -> None:
    grant = Grant("manager", ("QC1",), ("Load",))
    bar = Bar(RoomState(granted_choices(frames.choices(), grant)))
    assert bar.doors == ["Load"]
    assert told(bar, {"name": "room", "value": "Plan"})["room"] == "Load"


def test_a_list_says_its_options_in_words_and_knows_them_by_value(bar: Bar) -> None:
    units = next(one for one in bar.lists if one["name"] == "unit")
    assert units["label"] == "Who"
    assert ["team.QC1", "\u2013 Quality control 1"] in units["options"]
    assert [value for value, _ in units["options"]] == list(bar._state.param.unit.objects)


def test_only_lists_that_the_room_depends_on_are_shown_in_the_bar_s_order(bar: Bar) -> None:
    bar.offer(("period", "unit"))
    assert bar.shown == ["unit", "period"]
