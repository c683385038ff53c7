"""Rooms are built without a browser for every choice; what they show is text, and redraws rebuild nothing."""

import re
from pathlib import Path

import pandas as pd
import panel as pn
import pytest

from dashboards.app import build, session
from dashboards.data import ReleaseFrames
from dashboards.page import Page, make_page
from dashboards.rooms import OpenRooms
from dashboards.state import ROOMS, RoomState
from dashboards.views.figure import FigureView
from dashboards.views.rooms import CONTROLS, Rooms
from etl.errors import EvenhandError
from etl.release_door import open_release
from tests.support import fake_release

TODAY = pd.Timestamp("2026-11-25")


def markup(shown: Rooms) -> str:
    """Return all markup of the room being shown."""
    panes = list(shown.__panel__().select(pn.pane.HTML))
    return "\n".join(pane.object for pane in panes if pane.object)


@pytest.fixture
def rooms(frames: ReleaseFrames, state: RoomState) -> Rooms:
    return Rooms(frames, state, TODAY)


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize("unit", ["organisation.ORG", "cluster.CELL", "team.QC1", "team.TINY", "team.PUR"])
def test_every_room_shows_every_kind_of_group(rooms: Rooms, room: str, unit: str) -> None:
    rooms.state.param.update(room=room, unit=unit)
    text = markup(rooms)
    assert "<h1>" in text
    assert "it diagnoses nobody" in text
    assert not re.search(r"\b(nan|NaN|NaT|None)\b|<NA>", text)


@pytest.mark.parametrize("room", ROOMS)
def test_first_and_last_month_work(rooms: Rooms, room: str) -> None:
    for period in ("2024-07", "2026-10"):
        rooms.state.param.update(room=room, period=period)
        assert "<h1>" in markup(rooms)


@pytest.mark.parametrize("room", ROOMS)
def test_every_measure_and_change_works(rooms: Rooms, room: str) -> None:
    rooms.state.room = room
    for name in CONTROLS[room]:
        for value in list(rooms.state.param[name].objects)[:6]:
            setattr(rooms.state, name, value)
            assert "<h1>" in markup(rooms)


def test_each_figure_has_a_sentence_a_denominator_and_a_table(rooms: Rooms) -> None:
    for room in ROOMS:
        rooms.state.room = room
        for part in rooms.room.parts:
            if isinstance(part, FigureView):
                assert part.reading is not None
                assert part.reading.sentence, (room, part.title)
                assert part.reading.foot, (room, part.title)
                assert len(part.reading.rows), (room, part.title)


def test_markup_in_names_stays_text(rooms: Rooms) -> None:
    """The invented release carries markup in a cluster name, a change title and a reason's meaning."""
    for room in ROOMS:
        rooms.state.param.update(room=room, unit="cluster.CELL", change="C4")
        text = markup(rooms)
        assert not re.search(r"<lab>|<b>trial|<script", text)
    assert "Unknown team &lt;script&gt;" in text


def test_a_table_is_made_on_request_only(rooms: Rooms) -> None:
    part = rooms.room.parts[0]
    assert part.table._table.object == ""
    part.table.tools.open = True
    assert "<table>" in part.table._table.object
    rooms.state.unit = "cluster.ANALYT"
    assert part.table._table.object.count("<tr>") == 10


def test_a_redraw_keeps_every_figure_pane(rooms: Rooms) -> None:
    rooms.state.room = "Load"
    before = [id(pane) for pane in rooms.__panel__().select(pn.pane.Bokeh)]
    assert before
    rooms.state.param.update(unit="team.QC1", measure="force_time")
    assert [id(pane) for pane in rooms.__panel__().select(pn.pane.Bokeh)] == before


def test_rooms_are_made_when_entered_and_kept(rooms: Rooms) -> None:
    assert set(rooms._made) == {"Month"}
    first = rooms.room
    rooms.state.room = "Load"
    rooms.state.room = "Month"
    assert rooms.room is first


def test_only_choices_that_matter_are_offered(rooms: Rooms) -> None:
    for room in ROOMS:
        rooms.state.room = room
        assert set(rooms.bar.shown) == set(CONTROLS[room])


def test_a_refused_address_is_told_as_text(rooms: Rooms) -> None:
    assert not rooms.notice.visible
    rooms.state.take({"who": "<img src=x onerror=alert(1)>"})
    assert rooms.notice.visible
    assert "&lt;img" in rooms.notice.object
    assert "<img" not in rooms.notice.object


def test_a_release_with_nothing_but_names_still_opens(door: fake_release.FrameDoor) -> None:
    for name, frame in door.frames.items():
        if name not in ("edition", "unit", "exposure"):
            door.frames[name] = frame.iloc[:0]
    frames = ReleaseFrames(door)
    rooms = Rooms(frames, RoomState(frames.choices()), TODAY)
    for room in ROOMS:
        rooms.state.room = room
        assert "<h1>" in markup(rooms)


def test_an_old_edition_is_called_old(frames: ReleaseFrames) -> None:
    def notices(today: str) -> str:
        page = make_page(frames, pd.Timestamp(today))
        return "".join(pane.object for pane in page.select(pn.pane.HTML) if 'class="notice"' in pane.object)

    assert "weeks old and ends with October 2026" in notices("2027-03-01")
    assert "weeks old" not in notices("2026-11-25")


def test_the_page_builds_from_the_door(release_file: Path) -> None:
    assert isinstance(build(open_release(release_file), TODAY), Page)


def test_no_release_is_a_page_that_says_what_to_do(tmp_path: Path) -> None:
    page = session(tmp_path)
    text = "".join(pane.object for pane in page.select(pn.pane.HTML))
    assert "No release to show" in text
    assert "evenhand release" in text


class TestPython:
    """The same rooms from a notebook."""

    def test_a_room_for_a_choice(self, frames: ReleaseFrames) -> None:
        shown = OpenRooms(frames).load(unit="team.QC1", measure="force_time")
        assert shown.state.settings().measure == "force_time"
        assert "Quality control 1" in markup(shown)

    def test_a_choice_the_release_does_not_have(self, frames: ReleaseFrames) -> None:
        with pytest.raises(EvenhandError, match=r"'team\.X' is not a unit of this release"):
            OpenRooms(frames).month(unit="team.X")

    def test_an_unknown_name(self, frames: ReleaseFrames) -> None:
        with pytest.raises(EvenhandError, match="is not a colour"):
            OpenRooms(frames).month(colour="red")

    def test_frames_are_copies_of_rows(self, frames: ReleaseFrames) -> None:
        rooms = OpenRooms(frames)
        mine = rooms.frame("unit")
        mine["name"] = "X"
        assert "Kestrel Institute" in set(rooms.frame("unit")["name"])
