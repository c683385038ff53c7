"""Figures on paper: the same rows as on the screen, words that stay text, nothing that leaves the sheet."""

import re
from xml.etree import ElementTree

import pytest

from dashboards.data import ReleaseFrames
from dashboards.paper import ink
from dashboards.paper.sheet import drawing, sheet
from dashboards.readings import changes, exposure, groups, moved, quality, reach
from dashboards.readings.base import Reading
from dashboards.state import Chosen, RoomState

SVG = "{http://www.w3.org/2000/svg}"


def readings(frames: ReleaseFrames, chosen: Chosen) -> dict[str, Reading]:
    return {
        "moved": moved.moved(frames, chosen),
        "trend": exposure.trend(frames, chosen),
        "standings": groups.standings(frames, chosen),
        "tasks": groups.parts(frames, chosen, "task"),
        "register": changes.register(frames, chosen),
        "reach": reach.reach(frames, chosen),
        "discomfort": reach.discomfort(frames, chosen),
        "response": quality.response(frames, chosen),
    }


@pytest.mark.parametrize("unit", ["organisation.ORG", "cluster.CELL", "team.QC1"])
def test_every_figure_of_the_rooms_has_a_sheet(frames: ReleaseFrames, state: RoomState, unit: str) -> None:
    state.param.update(unit=unit, measure="hours_per_week")
    for name, reading in readings(frames, state.settings()).items():
        if reading.plot is None:
            continue
        text = sheet(reading.plot, name, reading.sentence, reading.foot, "Edition 28")
        assert text is not None
        root = ElementTree.fromstring(text)
        height = float(root.attrib["height"])
        for word in root.iter(f"{SVG}text"):
            assert 0 <= float(word.attrib["y"]) <= height
        said = "".join(root.itertext())
        assert "Edition 28" in said
        assert not re.search(r"\b(nan|None|NaT)\b", text)


def test_rows_print_what_the_room_prints(frames: ReleaseFrames, chosen: Chosen) -> None:
    reading = moved.moved(frames, chosen)
    drawn = drawing(reading.plot)
    assert drawn is not None
    for printed in reading.plot.frame["printed"]:
        assert printed in drawn.marks


def test_a_hidden_month_breaks_the_line(frames: ReleaseFrames, state: RoomState) -> None:
    """Bioprocess has one hidden month: its line comes in two runs and a cross stands between them."""
    state.param.update(unit="cluster.BIO", room="Changes", region="NECK")
    rows = reach.region_series(frames, frames.unit("cluster.BIO"), "NECK", "2026-10")
    plot = exposure.SeriesPlot(rows, "People, %")
    drawn = drawing(plot)
    assert drawn is not None
    assert drawn.marks.count("<polyline") == 2
    assert drawn.marks.count('stroke-width="1.5" fill="none"') == int(rows["value"].isna().sum()) == 1


def test_an_unknown_description_has_no_sheet() -> None:
    assert sheet(object(), "t", "s", "f", "e") is None


def test_words_stay_text() -> None:
    drawn = ink.Drawing(10, 10, ink.words((1, 1), "<script>&\"'")).svg("<b>", 'x" onload="y')
    root = ElementTree.fromstring(drawn)
    assert [child.tag for child in root] == [f"{SVG}text"]
    assert root.attrib["aria-label"] == "<b>"
    assert "onload" not in root.attrib


@pytest.mark.parametrize(
    ("low", "high", "steps"),
    [(0, 10, [0, 2, 4, 6, 8, 10]), (-26, 26, [-20, -10, 0, 10, 20]), (0, 0.9, [0, 0.2, 0.4, 0.6, 0.8])],
)
def test_ticks_are_round_numbers_inside_the_axis(low: float, high: float, steps: list[float]) -> None:
    assert ink.round_steps(low, high) == pytest.approx(steps)
