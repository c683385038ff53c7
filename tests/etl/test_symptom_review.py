"""The custodian's review on a small person store, and that no release and no screen reads it."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import duckdb
import numpy as np
import pytest

import etl
from etl.facts import build_facts
from etl.settings import Settings
from etl.sqlfiles import sql
from etl.store import open_store
from etl.symptom_answers import Review, read_review
from etl.symptom_flags import monthly_flags
from etl.symptom_review import history_weights, onset, pooled_year, severity, weighted_share
from tests.support.small_store import FIRST, MONTHS, Frames, frames, small_store

ROOT = Path(etl.__file__).parents[1]
LAST = FIRST.plus(MONTHS - 1)


@pytest.fixture(scope="module")
def review(tmp_path_factory: pytest.TempPathFactory) -> Review:
    full = frames()
    surveys = full.surveys
    # From the second February on everybody of one team who answers has it in the neck.
    team = surveys["person"].str.contains("A-ONE") & (surveys["month"] >= FIRST.plus(12).first_day)
    surveys = surveys.assign(score=surveys["score"].where(~(team & (surveys["region"] == "NECK")), 8))
    home = small_store(tmp_path_factory.mktemp("review"), Frames(full.people, full.bouts.iloc[:200], surveys))
    with open_store(home, write=True) as con:
        build_facts(con, Settings())
        return read_review(con, LAST.first_day)


def test_people_are_numbers_and_months_run_on(review: Review):
    assert review.month == 12 * LAST.year + LAST.month - 1
    assert review.answers.person.dtype.kind == "i"
    assert len(review.answers.regions()) == 9
    assert set(np.unique(review.asked.answered)) == {False, True}


def test_a_team_of_fifteen_has_a_pooled_year_and_one_of_seven_has_none(review: Review):
    found = pooled_year(review, "A-TWO", "WRIST_HAND")
    assert found.share is not None
    assert found.answers > 100 > 20 > found.effective_n, "lasting symptoms make many answers worth few"
    assert pooled_year(review, "P-TWO", "WRIST_HAND").reason == "too few answers"


def test_onset_and_severity_of_the_whole_organisation(review: Review):
    found = onset(review, "WRIST_HAND")
    assert found.rate is not None
    assert found.low is not None
    assert found.high is not None
    assert 0 < found.low < found.rate < found.high
    assert severity(review, "KNEE").people >= 50


def test_a_region_never_asked_gives_words_everywhere(review: Review):
    assert onset(review, "TOE").reason == "too few answers"
    assert severity(review, "TOE").reason == "too few answers"
    assert pooled_year(review, "A-TWO", "TOE").reason == "too few answers"
    assert weighted_share(review, "TOE") is None
    assert monthly_flags(review, "TOE", np.random.default_rng(1)) is None


def test_weights_meet_the_head_counts_of_teams(review: Review):
    weight = history_weights(review)
    now = review.asked.month == review.month
    people, team = review.asked.person[now], review.asked.team[now]
    for name in np.unique(team):
        if weight[people[team == name]].sum() > 0:
            assert weight[people[team == name]].sum() == pytest.approx((team == name).sum())
    assert (weight[people[~review.asked.answered[now]]] == 0).all()


def test_weighted_stands_beside_plain_within_its_band(review: Review):
    found = weighted_share(review, "WRIST_HAND")
    assert found is not None
    low, middle, high = (s.share for s in found.band)
    assert low < middle < high
    assert middle == pytest.approx(found.weighted.weighted)
    # Answering is by chance here, so weights must not move the share by much.
    assert abs(found.weighted.plain - found.weighted.weighted) < 0.06


def test_the_team_made_worse_is_flagged_and_no_other(review: Review):
    found = monthly_flags(review, "NECK", np.random.default_rng(2))
    assert found is not None
    assert "P-TWO" not in found.teams
    flagged = [team for team, at in zip(found.teams, found.flags.flagged_at, strict=True) if at >= 0]
    assert flagged == ["A-ONE"]
    assert found.flags.since[found.teams.index("A-ONE")] == 12
    assert 4 <= found.limit <= 15


def test_an_empty_store_is_reviewed_without_an_error():
    with duckdb.connect() as con:
        con.execute("create schema facts")
        con.execute(sql("facts/012_case_rule"))
        con.execute(
            "create table facts.symptom (person varchar, month date, region varchar, team varchar, "
            "score double, is_case boolean)"
        )
        con.execute(
            "create table facts.roster (person varchar, month date, team varchar, days_on_team integer)"
        )
        empty = read_review(con, date(2026, 1, 1))
    assert weighted_share(empty, "NECK") is None
    assert severity(empty, "NECK").reason == "too few answers"
    assert len(history_weights(empty)) == 0


def python_files(*rooms: str) -> Iterator[Path]:
    for room in rooms:
        yield from (ROOT / room).rglob("*.py")


def test_neither_release_nor_screen_reads_the_review():
    readers = [*python_files("dashboards"), *(ROOT / "etl").glob("release*.py")]
    assert len(readers) > 40
    for path in readers:
        assert not re.search(r"symptom_(review|answers|flags)", path.read_text(encoding="utf-8")), path
