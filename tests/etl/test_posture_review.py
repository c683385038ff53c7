"""Walk-through observations beside discomfort: who worked where, what was seen by then, what goes with it."""

import re
from datetime import date
from pathlib import Path

import numpy as np
import pytest

import etl
from etl.facts import build_facts
from etl.posture_review import BEARS_ON, posture_effect, posture_effects
from etl.settings import Settings
from etl.sqlfiles import sql
from models.driver_fit import Estimate
from models.driver_records import Refusal
from tests.support.person_rows import Answer, TeamSpell, bout, core_store, put
from tests.support.posture_world import watch, world

MONTH = date(2026, 6, 1)
ROOT = Path(etl.__file__).parents[1]


@pytest.fixture
def con():
    con = core_store()
    yield con
    con.close()


def test_work_is_weighed_by_time_and_seen_by_the_newest_walk_through_of_the_day(con):
    put(con, [
        TeamSpell("a", "T1", date(2020, 1, 1)), Answer("a", MONTH, "NECK", 5),
        bout("a", "2026-06-01 09:00:00", "2026-06-01 10:00:00", station="S1"),
        bout("a", "2026-06-02 09:00:00", "2026-06-02 12:00:00", station="S2"),
        bout("a", "2026-06-20 09:00:00", "2026-06-20 11:00:00", station="S1"),
        # Never watched, and watched only later: neither says anything.
        bout("a", "2026-06-21 09:00:00", "2026-06-21 10:00:00", station="S3"),
        bout("a", "2026-06-22 09:00:00", "2026-06-22 10:00:00", station="S4"),
    ])  # fmt: skip
    watch(
        con,
        ("S1", date(2026, 1, 5), "NECK_BENT", 20), ("S1", date(2026, 6, 10), "NECK_BENT", 80),
        ("S2", date(2026, 6, 2), "NECK_BENT", 40), ("S2", date(2026, 6, 2), "BACK_BENT", 99),
        ("S4", date(2026, 6, 30), "NECK_BENT", 100),
    )  # fmt: skip
    build_facts(con, Settings())
    asked = {"month": MONTH, "region": "NECK", "posture": "NECK_BENT"}
    rows = con.execute(sql("review/030_posture"), asked).fetchnumpy()
    # One hour at 20 %, three at 40 %, two at 80 %, of eight hours of work.
    assert rows["share"].tolist() == pytest.approx([(0.2 + 3 * 0.4 + 2 * 0.8) / 6])
    assert rows["known"].tolist() == [6 / 8]
    assert rows["hours"].tolist() == pytest.approx([8 * 7 / 30])
    assert rows["station"].tolist() == ["S2"]


def test_an_association_put_in_is_found_and_none_is_not(con):
    world(con, 0.4, seed=1)
    found = posture_effect(con, date(2026, 12, 1), "NECK", "NECK_BENT")
    assert isinstance(found.ratio, Estimate)
    # Odds times exp(0.4) a step, averaged over shares that lie evenly from 0 to 80 %.
    share = np.linspace(0, 8, 2001)
    truth = [np.mean(1 / (1 + np.exp(2.2 - 0.4 * (share + step)))) for step in (0, 1)]
    assert found.ratio.low < truth[1] / truth[0] < found.ratio.high
    assert found.ratio.low > 1
    assert (found.people, found.teams, found.stations, found.answers) == (48, 8, 48, 576)
    assert 0 < found.low < 0.2 < 0.6 < found.high < 0.8


def test_no_association_is_within_the_interval(con):
    world(con, 0.0, seed=2)
    found = posture_effect(con, date(2026, 12, 1), "NECK", "NECK_BENT")
    assert isinstance(found.ratio, Estimate)
    assert found.ratio.low < 1 < found.ratio.high


def test_too_few_people_is_a_named_refusal_for_every_region_and_posture(con):
    world(con, 0.4, seed=3, teams=4, per_team=4, months=6)
    everything = posture_effects(con, date(2026, 12, 1))
    assert [(e.region, e.posture) for e in everything] == [(r, p) for r, ps in BEARS_ON.items() for p in ps]
    refused = [e.ratio for e in everything if isinstance(e.ratio, Refusal)]
    assert len(refused) == len(everything)
    assert "16 people" in refused[0].sentence


def test_a_posture_seen_alike_everywhere_is_refused(con):
    world(con, 0.0, seed=4, teams=5, per_team=5, months=10)
    con.execute("update core.observations set share_percent = 30")
    alike = posture_effect(con, date(2026, 12, 1), "NECK", "NECK_BENT")
    assert isinstance(alike.ratio, Refusal)
    assert "alike at all stations" in alike.ratio.sentence
    assert (alike.low, alike.high) == (0.3, 0.3)


def test_no_release_and_no_screen_reads_what_was_seen_at_a_station():
    reads = re.compile(r"posture_review|posture_words|review/0[34]0_posture|core\.observations")
    for path in [
        *ROOT.glob("etl/release*.py"),
        *ROOT.glob("etl/sql/release/*.sql"),
        *ROOT.glob("dashboards/**/*.py"),
    ]:
        # The custodian's own command prints to a terminal; it is no screen that a reader opens.
        if path.name != "cli_review.py":
            assert not reads.search(path.read_text(encoding="utf-8")), path
