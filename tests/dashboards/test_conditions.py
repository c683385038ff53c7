"""What is said where numbers cannot stand; a fault stays in its own figure and is found again in the log."""

import logging
import re
from typing import Any

import pytest

from dashboards.conditions import attempted, no_numbers, no_release
from dashboards.data import ReleaseFrames
from dashboards.labels import true_minus
from dashboards.readings import drivers
from dashboards.state import RoomState
from dashboards.views.guard import Guard, column_of
from dashboards.views.markup import condition_markup
from dashboards.views.month import Done
from etl.errors import EvenhandError
from tests.support.fake_release import FrameDoor


def broken() -> None:
    raise KeyError("planted")


def test_a_fault_is_logged_under_the_reference_the_reader_gets(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, "evenhand.rooms"):
        failed = attempted("What was done", broken)
    assert failed is not None
    found = re.search(r"reference ([0-9a-f]{8})", failed.remedy)
    assert found is not None
    assert f"fault {found.group(1)}: What was done" in caplog.text
    assert "KeyError: 'planted'" in caplog.text
    assert "planted" not in condition_markup(failed)
    assert attempted("What was done", lambda: None) is None


def test_an_error_of_ours_keeps_its_own_words() -> None:
    def unread() -> None:
        raise EvenhandError("The release can no longer be read", "edition-0015.duckdb", "Put a copy there.")

    failed = attempted("Where", unread)
    assert failed is not None
    assert (failed.found, failed.where) == ("The release can no longer be read", "edition-0015.duckdb")
    assert failed.remedy.startswith("Put a copy there.")


def test_a_part_that_fails_is_replaced_and_comes_back(
    frames: ReleaseFrames, chosen: Any, caplog: pytest.LogCaptureFixture
) -> None:
    done = Done()
    column = column_of(done)
    before = list(column.objects)
    guard = Guard(column, done.title)
    assert not guard.stands(broken)
    assert "What was done cannot be shown." in column.objects[0].object
    assert guard.stands(lambda: done.show(frames, chosen))
    assert list(column.objects) == before


@pytest.mark.parametrize(
    ("emptied", "lacking"), [(("unit",), "no group"), (("health", "exposure"), "no month")]
)
def test_an_edition_without_numbers_says_what_it_lacks(
    door: FrameDoor, emptied: tuple[str, ...], lacking: str
) -> None:
    for name in emptied:
        door.frames[name] = door.frames[name].iloc[:0]
    said = no_numbers(ReleaseFrames(door))
    assert said is not None
    assert lacking in said.found
    assert "evenhand load" in said.remedy


def test_an_edition_with_numbers_is_shown(frames: ReleaseFrames) -> None:
    assert no_numbers(frames) is None


def test_a_site_does_not_tell_its_readers_where_files_lie() -> None:
    error = EvenhandError("Nothing is published yet", "/srv/secret/place", "Run 'evenhand release'.")
    assert "/srv/secret/place" in condition_markup(no_release(error, local=True))
    assert "/srv/secret/place" not in condition_markup(no_release(error, local=False))


def test_a_hyphen_before_a_number_is_a_minus_and_no_other_is() -> None:
    assert true_minus("fell by -5 (-10 to 0), 100-119 people, 2026-10, low-force") == (
        "fell by \u22125 (\u221210 to 0), 100-119 people, 2026-10, low-force"
    )
    assert true_minus(None) == ""


def test_a_limit_rounded_onto_zero_is_said_so(door: FrameDoor) -> None:
    rows = door.frames["driver_effect"]
    main = (
        (rows["label"] == "main question")
        & (rows["question"] == "prevalence")
        & (rows["exposure"] == "hours")
    )
    assert main.any()
    for low, word, said in (
        (0, "goes with more", True),
        (5, "goes with more", False),
        (0, "no clear association", False),
    ):
        changed = rows.copy()
        changed.loc[main, ["word", "points_low"]] = [word, low]
        door.frames["driver_effect"] = changed
        frames = ReleaseFrames(door)
        lead = drivers.answer(frames, RoomState(frames.choices()).settings()).lead
        assert ("the lower one, above 0, reads 0" in lead) is said
