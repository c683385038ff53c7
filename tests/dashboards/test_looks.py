"""What a reader sees beside the numbers: whole names, words said once, words at their place."""

import dataclasses

import holoviews as hv
import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from dashboards.figures import dose_curve, register, rows
from dashboards.figures.dose_curve import CurvePlot
from dashboards.figures.drawing import folded
from dashboards.figures.holo import overlay
from dashboards.figures.rows import RowsPlot
from dashboards.figures.small import draw as draw_small
from dashboards.kinds import Frame
from dashboards.labels import day_label, guide_number, sentence_case, spelled
from dashboards.readings import changes, groups, health, month, moved, year
from dashboards.readings.base import Reading, inside
from dashboards.state import Chosen
from dashboards.tables import Column, as_html
from dashboards.views.flags import table_of
from dashboards.views.load import profile_markup
from dashboards.views.markup import said
from dashboards.views.month import _regions
from tests.support import fake_release

LINE = 12.0
"""Pixels of a line of the words in a figure."""


def with_(chosen: Chosen, **more: str) -> Chosen:
    return dataclasses.replace(chosen, **more)


def row_plot(count: int, mark: float | None = 2.0) -> RowsPlot:
    names = [f"Team {k}" for k in range(count)]
    frame = pd.DataFrame({"label": names, "value": 1.0, "low": 0.0, "high": 4.0, "kind": "plain"})
    return RowsPlot(frame.assign(text="", printed=""), "x", "Team", mark, "guide 2")


@pytest.mark.parametrize("count", [1, 2, 12])
def test_the_words_at_a_mark_stand_inside_the_figure(count: int) -> None:
    drawn = rows.draw(row_plot(count))
    (words,) = [mark.frame for mark in drawn.marks if mark.kind == "labels"]
    low, high = drawn.y_range
    # Title, axis and its name take some seventy pixels of the height.
    pixels = (drawn.height - 74) / (high - low)
    assert (high - words["y"].iloc[0]) * pixels >= LINE / 2
    assert (words["y"].iloc[0] - count) * pixels >= LINE


def test_the_words_at_a_mark_near_an_edge_lean_inwards() -> None:
    lean = {}
    for mark in (0.1, 2.0, 3.9):
        (words,) = [m for m in rows.draw(row_plot(3, mark)).marks if m.kind == "labels"]
        lean[mark] = words.lean
    assert lean == {0.1: "left", 2.0: "center", 3.9: "right"}


def test_long_names_wrap_and_are_whole(frames: ReleaseFrames, chosen: Chosen) -> None:
    drawn = register.draw(changes.register(frames, chosen).plot)
    told = [label.replace("\n", " ") for _, label in drawn.y_ticks]  # type: ignore[union-attr]
    assert told == changes.register_rows(frames)["title"].tolist()
    lines = max(words.count("\n") + 1 for _, words in drawn.beside)
    low, high = drawn.y_range
    assert (drawn.height - 74) / (high - low) >= lines * LINE
    assert folded("Low-force electronic pipettes for all") == "Low-force electronic\npipettes for all"


def curve(end: float) -> Frame:
    return pd.DataFrame({"x": [1.0, 2.0], "value": [10.0, end], "low": 5.0, "high": 60.0, "text": ""})


@pytest.mark.parametrize(("own", "other"), [(42.0, 46.0), (46.0, 42.0), (20.0, 50.0)])
def test_the_name_of_the_higher_curve_stands_higher(own: float, other: float) -> None:
    rug = pd.DataFrame({"x": [], "text": []})
    drawn = dose_curve.draw(
        CurvePlot(curve(own), curve(other), rug, (), "y", "x", ("average", "rising only"))
    )
    names = {text: at for at, text in drawn.beside}
    assert (names["average"] > names["rising only"]) == (own > other)


def test_words_at_marks_begin_at_their_mark_and_share_no_line() -> None:
    """At the left of its mark a word was cut off on a narrow screen; on one line two of them ran together."""
    rug = pd.DataFrame({"x": [], "text": []})
    marks = ((1.4, "guide 6.8"), (1.3, "budget 5"))
    drawn = dose_curve.draw(CurvePlot(curve(42.0), curve(46.0), rug, marks, "y", "x"))
    (told,) = [mark for mark in drawn.marks if mark.kind == "labels"]
    assert told.lean == "left"
    assert told.frame["y"].is_unique
    lines = drawn.marks[1].frame
    assert lines["y1"].max() < told.frame["y"].min()
    assert told.frame["y"].min() - 0.075 * drawn.y_range[1] > 60.0


def test_lines_across_stand_where_values_are_also_on_an_axis_of_ratios() -> None:
    plain = row_plot(3)
    ratios = dataclasses.replace(plain, frame=plain.frame.assign(value=2.0, low=1.0, high=4.0), ratio=True)
    for plot in (plain, ratios):
        figure = hv.renderer("bokeh").get_plot(overlay(rows.draw(plot))).state
        assert all(grid.visible for grid in figure.xgrid)


def test_a_plot_has_none_of_the_librarys_habits() -> None:
    figure = hv.renderer("bokeh").get_plot(overlay(rows.draw(row_plot(3)))).state
    for axis in [*figure.xaxis, *figure.yaxis]:
        assert axis.axis_label_text_font_style == "normal"
        assert axis.minor_tick_out == axis.minor_tick_in == 0
    assert not any(grid.visible for grid in figure.ygrid)


def test_a_value_stands_before_its_standing(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    """'over guide 12.2' would name a guide of 12.2."""
    told = dict(groups.standings(frames, chosen).plot.frame[["label", "printed"]].itertuples(index=False))
    ((value, low, high, word),) = sql(
        "select value, low, high, standing from exposure where unit = 'QC1' and period = '2026-10' "
        "and measure = 'hours_per_week' and period_kind = 'month'"
    )
    assert told["Quality control 1"] == f"{value:.1f} ({low:.1f} to {high:.1f}), {word}"


def test_a_word_that_all_rows_share_is_said_once(door: fake_release.FrameDoor, chosen: Chosen) -> None:
    door.frames["trend"]["word"] = "too few answers"
    frames = ReleaseFrames(door)
    assert not moved.moved(frames, chosen).plot.frame["printed"].str.contains("too few").any()
    assert "too few answers" not in _regions(frames, chosen)[0]


def test_regions_that_share_the_highest_share_are_all_named(
    door: fake_release.FrameDoor, chosen: Chosen
) -> None:
    rows_ = door.frames["health"]
    own = (rows_["unit"] == "QC1") & rows_["percent"].notna()
    rows_.loc[own, "percent"] = 10.0
    rows_.loc[own & rows_["region"].isin(["KNEE", "NECK"]), "percent"] = 30.0
    answer = month.answer(ReleaseFrames(door), with_(chosen, unit="team.QC1"))
    assert "2 regions alike: 30 %" in answer.headline
    assert answer.lead.startswith("Neck and knee: 95 % interval")


def test_a_group_that_is_hidden_whole_has_one_line_for_all_measures(
    frames: ReleaseFrames, chosen: Chosen
) -> None:
    markup, behind = profile_markup(frames, with_(chosen, unit="team.TINY"))
    assert markup.count("group too small") == 1
    assert "<table" not in markup
    assert len(behind.rows) > 1


def test_a_small_multiple_has_more_than_one_date(frames: ReleaseFrames, chosen: Chosen) -> None:
    drawn = draw_small(health.region(frames, chosen, "NECK", 60.0).plot)
    assert drawn.count('class="tick"') >= 2


def test_a_column_of_one_reason_is_a_sentence(door: fake_release.FrameDoor, chosen: Chosen) -> None:
    why = "not shown: age bands are known for too few people"
    names = door.frames["year_figure"].columns
    known = {"edition": 28, "year": 2025, "level": "organisation", "unit": "ORG", "reason": "", "word": ""}
    told = [
        known | {"region": "NECK", "kind": "new onset", "value": 4.0, "low": 2.0, "high": 8.0},
        known | {"region": "NECK", "kind": "age", "reason": why},
        known | {"region": "KNEE", "kind": "new onset", "reason": "not shown: fewer than 100 people"},
        known | {"region": "KNEE", "kind": "age", "reason": why},
    ]
    door.frames["year_figure"] = pd.DataFrame(told, columns=names)
    reading = year.year(ReleaseFrames(door), chosen)
    assert "age" not in [column.name for column in reading.columns]
    assert "Difference between ages: not shown (age bands are known for too few people)." in reading.sentence
    assert reading.rows["region"].tolist() == ["NECK", "KNEE"]


def test_a_notice_is_said_once_and_nothing_explains_what_is_not_there() -> None:
    empty = pd.DataFrame({"a": []})
    reading = Reading(None, "no picture yet", "Bars show.", empty, (Column("a", "A"),), "No picture yet.")
    assert said(reading) == '<p class="empty">No picture yet.</p>'
    assert table_of(reading, "A") == ""


def test_a_table_of_words_can_be_read_as_cards_and_stays_a_table() -> None:
    columns = tuple(Column(name, name.upper()) for name in "abcd")
    words = pd.DataFrame([{"a": "One", "b": "x" * 40, "c": "<b>", "d": "End"}])
    markup = as_html(words, columns, "Words")
    assert 'class="cards"' in markup
    assert markup.count('role="cell"') == 3
    assert markup.count('role="columnheader"') == 4
    assert 'data-head="C">&lt;b&gt;</td>' in markup
    assert "cards" not in as_html(words.assign(b="short"), columns, "Words")


def test_words_for_readers() -> None:
    assert spelled("2025-08 to 2026-09") == "August 2025 to September 2026"
    assert spelled("Export dates as 2026-10-31.") == "Export dates as 2026-10-31."
    assert sentence_case("not shown: group too small") == "Not shown: group too small."
    assert sentence_case("") == ""
    assert inside("not shown: group too small.") == "not shown (group too small)"
    assert (guide_number(20.0), guide_number(19.6)) == ("20", "19.6")
    assert day_label(pd.Timestamp("2026-08-09")) == "9 Aug 2026"
    assert day_label(None) == ""
