"""Quarters, checks and the register's history are shown as published, hidden quarters in words."""

import dataclasses

import pandas as pd
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.figures import rows as rows_figure
from dashboards.readings import event
from dashboards.state import Chosen
from tests.support import fake_release

theme.use()


@pytest.fixture
def first(chosen: Chosen) -> Chosen:
    return dataclasses.replace(chosen, change="C1", region="WRIST_HAND")


def test_quarters_are_drawn_in_order_from_the_reference(frames: ReleaseFrames, first: Chosen, sql) -> None:
    reading = event.quarters(frames, first)
    frame = reading.plot.frame
    assert frame["label"].tolist() == [
        "3rd before", "2nd before", "Last before (reference)", "1st with it", "2nd with it",
    ]  # fmt: skip
    published = sql("select points, low, high from change_event where change = 'C1' order by quarter")
    assert frame["value"].tolist()[:4] == [row[0] for row in published[:4]]
    assert frame["low"].tolist()[:4] == [row[1] for row in published[:4]]
    assert frame["printed"].tolist()[2] == "0, reference"
    assert frame["printed"].tolist()[4].startswith("not shown")
    dots = next(mark.frame for mark in rows_figure.draw(reading.plot).marks if mark.kind == "points")
    assert len(dots) == 4
    assert (
        dict(zip(dots["text"].str.split(":").str[0], dots["shape"], strict=True))["1st with it"] == "square"
    )
    assert "A drift of 5 points would have been" in reading.sentence
    assert "20-24 changed, 120-139 others" in reading.foot


def test_another_target_region_stands_in_for_one_that_is_none(frames: ReleaseFrames, first: Chosen) -> None:
    knee = event.quarters(frames, dataclasses.replace(first, region="KNEE"))
    assert knee.sentence.startswith("Wrist and hand.")
    none = event.quarters(frames, dataclasses.replace(first, change="C3"))
    assert none.plot is None
    assert none.notice == "No picture by quarters is drawn: there is no comparison."
    assert event.quarters(frames, dataclasses.replace(first, change="C4")).notice == event.NO_PICTURE


def test_each_check_is_a_row_in_words(frames: ReleaseFrames, first: Chosen) -> None:
    reading = event.checks(frames, first)
    assert reading.rows["passed_words"].tolist() == ["be careful", "as it should be", "cannot be told"]
    assert reading.sentence == "Be careful: lots (wrist and hand)."
    assert event.checks(frames, dataclasses.replace(first, change="C4")).notice == event.NO_CHECKS


def test_the_history_keeps_every_version_and_month(frames: ReleaseFrames, first: Chosen) -> None:
    reading = event.history(frames, first)
    assert reading.rows["status_word"].tolist() == ["planned", "started", "complete"]
    assert reading.rows["allocation_words"].tolist() == ["teams by lot (TIMER-1)"] * 3
    assert "60 % in April 2025 and 85 % in May 2025" in reading.sentence
    other = event.history(frames, dataclasses.replace(first, change="C4"))
    assert other.rows["allocation_words"].tolist() == ["not recorded"]
    assert "not noted month by month" in other.sentence


def test_a_release_of_before_says_that_it_has_none(door: fake_release.FrameDoor, first: Chosen) -> None:
    for name in ("change_event", "change_check", "change_history", "change_adherence"):
        door.frames[name] = door.frames[name].iloc[:0]
    frames = ReleaseFrames(door)
    for read in (event.quarters, event.checks, event.history):
        reading = read(frames, first)
        assert reading.notice
        assert isinstance(reading.rows, pd.DataFrame)
