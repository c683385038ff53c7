"""The Plan room answers how many teams, how many months and who first, with published numbers only."""

import dataclasses

import pandas as pd
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.figures import calendar as calendar_figure
from dashboards.figures import rows as rows_figure
from dashboards.paper.sheet import drawing
from dashboards.readings import plan, roll_out
from dashboards.state import Chosen
from dashboards.views.plan import Reach
from tests.support import fake_release

theme.use()


@pytest.fixture
def wrist(chosen: Chosen) -> Chosen:
    return dataclasses.replace(chosen, region="WRIST_HAND", period="2026-10")


def test_the_first_screen_answers_the_three_questions(frames: ReleaseFrames, wrist: Chosen) -> None:
    said = plan.answer(frames, wrist)
    assert said.headline == "4 teams from January 2027, 12 months on either side"
    assert [(fact.name, fact.value) for fact in said.facts] == [
        ("How many teams", "4"), ("How many months", "12 + 12"), ("Who first", "4 teams"),
        ("A case-month avoided", "60"),
    ]  # fmt: skip
    assert "a fall of 12 points in four of five cases, and 8 points in 46 of 100" in said.lead
    assert "seed 7" in said.facts[2].behind
    assert said.facts[3].behind == "35 to 240"


def test_a_plan_kept_later_is_not_shown_for_an_earlier_month(frames: ReleaseFrames, wrist: Chosen) -> None:
    september = dataclasses.replace(wrist, period="2026-09")
    said = plan.answer(frames, september)
    assert said.headline.startswith("4 teams in 2 steps from")
    assert said.facts[3].value == "\u2013"
    august = plan.answer(frames, dataclasses.replace(wrist, period="2026-08"))
    assert august.headline == "No plan can be proposed yet."
    assert august.lead == plan.NONE


def test_another_region_falls_back_and_says_so(frames: ReleaseFrames, wrist: Chosen) -> None:
    said = plan.answer(frames, dataclasses.replace(wrist, region="KNEE"))
    assert "knee has no plan" in said.eyebrow


def test_the_figures_draw_the_published_numbers(frames: ReleaseFrames, wrist: Chosen, sql) -> None:
    reading = plan.by_teams(frames, wrist)
    published = sql("select points, points_error from plan_reach where months = 12 and points is not null")
    drawn = [
        (row.value, round(row.high - row.value, 6))
        for row in reading.plot.frame.dropna(subset=["value"]).itertuples()
    ]
    assert sorted(drawn) == sorted((float(p), round(1.96 * e, 6)) for p, e in published)
    assert reading.plot.frame["printed"].iloc[0] == "cannot tell, p 0.33"
    ((least,),) = sql("select min(points) from plan_reach where months = 12 and changed = 4")
    assert reading.sentence == f"With a year on either side, 4 of 8 teams find {least:.0f} points."
    price = roll_out.cost(frames, wrist)
    assert price.plot.frame["value"].tolist()[0] == 60.0
    assert pd.isna(price.plot.frame["value"].tolist()[1])
    assert rows_figure.draw(price.plot) is not None


def test_the_calendar_starts_some_and_lets_the_others_follow(frames: ReleaseFrames, wrist: Chosen) -> None:
    reading = roll_out.calendar(frames, wrist)
    frame = reading.plot.frame
    assert frame["follows"].tolist() == [False] * 4 + [True] * 4
    assert reading.plot.judged == pd.Timestamp("2028-01-01")
    assert set(frame["begin"]) == {pd.Timestamp("2026-01-01")}
    assert "The other 4 follow once it is judged, from January 2028" in reading.sentence
    drawn = calendar_figure.draw(reading.plot)
    waits, runs, _ = (mark.frame for mark in drawn.marks if mark.kind == "segments")
    assert len(waits) == 8
    assert set(runs["x0"]) == {pd.Timestamp("2027-01-01")}
    paper = drawing(reading.plot)
    assert paper is not None
    assert paper.svg().count("polygon") == 8


def test_the_grid_names_every_cell_and_boxes_the_plan(frames: ReleaseFrames, wrist: Chosen) -> None:
    view = Reach()
    view.show(frames, wrist)
    text = view.body.object
    assert text.count("\u2715") == 2
    assert text.count('class="own"') == 1
    assert '<td class="own" title="a fall of 12 points"><b>12</b>' in text
    assert text.count("more than there are") == 1


def test_what_can_never_be_shown_is_said(frames: ReleaseFrames, wrist: Chosen) -> None:
    reading = plan.never(frames, wrist)
    assert reading.sentence.startswith(
        "With fewer than 4 of 8 teams nothing can be shown. This plan: a fall of 8"
    )
    assert reading.rows["never"].tolist()[0].startswith("anything at all")
    assert reading.rows["smallest_p_words"].tolist() == ["0.333", "0.029", "under 0.001"]
    assert "26 % of answers" in plan.ground(frames, wrist).sentence


def test_a_release_without_plans_says_so(door: fake_release.FrameDoor, wrist: Chosen) -> None:
    for name in ("plan", "plan_start", "plan_reach", "plan_ground"):
        door.frames[name] = door.frames[name].iloc[:0]
    frames = ReleaseFrames(door)
    assert plan.answer(frames, wrist).lead == plan.NONE
    for read in (plan.by_teams, roll_out.calendar, roll_out.cost, plan.never, plan.ground):
        assert read(frames, wrist).notice
