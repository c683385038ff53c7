"""Each reader's whole task, door by door, with the numbers on the page held against the release."""

import re

import pytest

from tests.support.serve import eventually

pytestmark = pytest.mark.browser


def test_the_chair_learns_what_moved_and_what_was_done_without_an_action(visit, sql) -> None:
    """A newcomer's path: the first page is the committee's answer."""
    visit.open("")
    moved = sql("select count(*) from trend where unit = 'ORG' and period = '2026-10' and word = 'rising'")[
        0
    ][0]
    assert moved > 0
    assert visit.headline().startswith("Discomfort is rising")
    text = visit.text()
    for (title,) in sql("select title from change where status <> 'DROPPED'"):
        assert title in text


def test_the_manager_learns_what_is_over_guide_on_what_and_what_would_even_it_out(visit, sql) -> None:
    visit.open("room=Load")
    visit.choose("Who", "\u2013 Quality control 1")
    eventually(lambda: "who=team.QC1" in visit.url(), 60, visit.url)
    over = sql(
        "select value from exposure where unit = 'QC1' and period = '2026-10' and period_kind = 'month' "
        "and measure = 'hours_per_week' and standing = 'over guide'"
    )
    assert len(over) == 1
    eventually(lambda: f"{over[0][0]:.1f} h a week" in visit.text(), 60, visit.text)
    assert visit.headline().startswith("Over guide")
    ((share,),) = sql(
        "select max(share_percent) from exposure_part where unit = 'QC1' and period = '2026-10' "
        "and part_kind = 'task'"
    )
    told = re.compile(rf"Hours by task\s+Most: \S+, {share:.0f} % of the hours")
    # What lies below the first screen comes a moment later.
    eventually(lambda: told.search(visit.text()) is not None, 60, visit.text)
    text = visit.text()
    for (station,) in sql("select distinct station from station_fit where team = 'QC1'"):
        assert station in text


def test_the_ergonomist_learns_what_drives_whether_it_helped_and_what_to_plan(visit, sql) -> None:
    visit.open("room=Drivers")
    ((sentence,),) = sql("select sentence from driver_statement where label = 'main question' limit 1")
    assert sentence.split(":")[0] in f"{visit.headline()} {visit.text()}"
    visit.through("Changes")
    eventually(lambda: "What the verdict rests on" in visit.text(), 60, visit.text)
    ((title,),) = sql("select title from change where change = 'C2'")
    eventually(lambda: title in visit.headline(), 60, visit.headline)
    visit.through("Plan")
    eventually(lambda: "How many teams, how many months" in visit.text(), 60, visit.text)
    costs = [words for (words,) in sql("select cost_words from plan where cost_words is not null")]
    # What lies below the first screen comes a moment later.
    eventually(lambda: any(words in visit.text() for words in costs), 60, visit.text)
