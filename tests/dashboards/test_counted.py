"""A series counted in two ways: said where and how, and drawn as two lines."""

import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from dashboards.figures import small
from dashboards.readings import counting, health
from dashboards.state import Chosen, RoomState
from tests.support.fake_places import MONTHS
from tests.support.fake_release import FrameDoor

OLD, NEW = "discomfort of 4 or more out of 10 on the 0 to 10 rating", "trouble in the last 7 days"
TURN = MONTHS.index("2025-07")


def counted(door: FrameDoor, *, bridged: bool) -> tuple[ReleaseFrames, Chosen]:
    rows = [
        {
            "edition": 28, "period": month, "definition": "score", "scale": "",
            "words": OLD if place < TURN else NEW,
            "comparable_from": "" if place < TURN or bridged else MONTHS[TURN],
        }
        for place, month in enumerate(MONTHS)
    ]  # fmt: skip
    door.frames["case_rule"] = pd.DataFrame(rows)
    frames = ReleaseFrames(door)
    return frames, RoomState(frames.choices()).settings()


def test_each_stretch_says_how_it_was_counted_and_the_line_breaks(door: FrameDoor) -> None:
    frames, chosen = counted(door, bridged=False)
    foot = health.regions_foot(frames, chosen)
    assert f"Counted to June 2025: {OLD}. From July 2025: {NEW}; another series, no line joins them." in foot
    assert counting.case_words(frames, MONTHS[TURN - 1]) == OLD
    assert counting.case_words(frames, MONTHS[TURN]) == NEW
    rows = health.region_series(frames, frames.organisation(), "NECK", chosen.period)
    assert rows.loc[rows["begins"], "period"].tolist() == [MONTHS[TURN]]
    drawn = small.draw(small.SmallPlot(rows, 60.0, ""))
    whole = small.draw(small.SmallPlot(rows.assign(begins=False), 60.0, ""))
    assert drawn.count("<polyline") == whole.count("<polyline") + 1
    assert "stroke-dasharray" in drawn
    assert "stroke-dasharray" not in whole


def test_bridged_scales_are_said_and_drawn_as_one(door: FrameDoor) -> None:
    frames, chosen = counted(door, bridged=True)
    assert "bridged by people who answered both ways" in health.regions_foot(frames, chosen)
    rows = health.region_series(frames, frames.organisation(), "NECK", chosen.period)
    assert not rows["begins"].any()


@pytest.mark.parametrize("period", ["2025-Q2", "2025-Q3"])
def test_a_quarter_was_counted_as_its_months(door: FrameDoor, period: str) -> None:
    frames, _ = counted(door, bridged=False)
    (found,) = counting.stretches(frames, [period])
    assert found.words == (OLD if period == "2025-Q2" else NEW)


def test_a_release_that_does_not_say_it_has_no_stretch(frames: ReleaseFrames, chosen: Chosen) -> None:
    assert counting.stretches(frames, MONTHS) == []
    assert counting.counted_words(frames, MONTHS) == ""
    assert counting.case_words(frames, chosen.period) == "discomfort", "nor do its methods here"
