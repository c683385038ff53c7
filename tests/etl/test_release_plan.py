"""What readers see of plans: ground and reach by quarter, made of rounded numbers; lots proposed and kept."""

import math
from datetime import UTC, date, datetime

import pytest

from etl.home import Home
from etl.keys import Key
from etl.plan import plan_change
from etl.plan_draft import CHANGED, MONTHS, Wish, site_grid
from etl.plan_ground import learn_ground, rounded, team_sizes
from etl.release_calendar import Month
from etl.release_door import pinned
from etl.release_history import adherence_rows, history_rows, published_register
from etl.release_plan import FALL, TOO_FEW, _published, add_plans
from etl.release_rows import Job, Rows
from etl.settings import Settings
from etl.store import open_store
from models.change_world import Ground
from models.verdict import MEANINGFUL_POINTS
from tests.support.small_store import FIRST, publish, small_store

DECEMBER = FIRST.plus(11)
KEPT = datetime(2026, 1, 20, tzinfo=UTC)


@pytest.fixture(scope="module")
def year(tmp_path_factory) -> Home:
    """Thirteen months published; a plan was kept in the thirteenth."""
    home = small_store(tmp_path_factory.mktemp("plan") / "home")
    wish = Wish(fall=0.1, changed=3, months=6, cost=1_000.0, seed=7, first=Month(2026, 9))
    plan_change(home, "NECK", wish, KEPT, keep=("TIMER-1", "Shared timer"))
    publish(home, DECEMBER, FIRST.plus(12))
    return home


@pytest.fixture
def job(year):
    with open_store(year, write=True) as con:
        con.execute("begin")
        yield Job(con, DECEMBER, 9, Settings(), Key("release1", bytes(range(32))))
        con.execute("rollback")


def test_ground_and_reach_appear_with_the_last_month_of_a_quarter(year):
    with pinned(year) as release:
        ground, reach = release.table("plan_ground"), release.table("plan_reach")
    assert set(ground["period"]) == {str(DECEMBER)}
    assert set(ground["region"]) == {"WRIST_HAND", "NECK", "SHOULDER"}
    shown = ground[ground["reason"].isna()]
    assert len(shown) == 3
    # 97 people: shares to 2 points, limits outward.
    assert (shown[["percent", "low", "high"]] % 2 == 0).all(axis=None)
    assert (shown["low"] < shown["percent"]).all()
    assert len(reach) == 3 * len(CHANGED) * len(MONTHS)
    assert set(reach["fall_points"]) == {MEANINGFUL_POINTS}
    assert reach["teams_enough"].tolist() == [n <= 3 for n in reach["changed"]]
    told = reach[reach["points"].notna()]
    assert (told["points"] <= 100).all()


def test_the_reach_published_follows_from_the_ground_published(year, job):
    """Every number a plan rests on is published: nothing else of the answers goes into it."""
    with pinned(year) as release:
        row = release.table("plan_ground", region="NECK").iloc[0]
        reach = release.table("plan_reach", region="NECK")
    site = learn_ground(job.con, DECEMBER, "NECK")
    p = row["percent"] / 100
    again = Ground(
        p, row["lasting_percent"] / 100, row["carried"], row["answered_percent"] / 100,
        1 - (1 - row["leaving_percent"] / 100) ** (1 / 12),
        row["team_points"] / 100 / (p * (1 - p)), row["shock_points"] / 100 / (p * (1 - p)),
        site.ground.shock_persistence,
    )  # fmt: skip
    for name, value in vars(site.ground).items():
        assert getattr(again, name) == pytest.approx(value, abs=1e-9), name
    assert rounded(again, site.step) == site.ground
    grid = site_grid(site, team_sizes(job.con, DECEMBER), FALL)
    promised = [None if math.isinf(r.effect) else math.ceil(100 * r.effect) for r in grid]
    assert [None if math.isnan(p) else p for p in reach["points"].astype(float)] == promised


def test_a_proposal_is_drawn_with_the_month_as_seed_and_a_kept_plan_published_once(year):
    with pinned(year) as release:
        plans, starts = release.table("plan"), release.table("plan_start")
    kept = plans[plans["status"] == "kept"].iloc[0]
    assert (kept["plan"], kept["seed"], kept["edition"]) == ("TIMER-1", 7, 2)
    assert kept["drawn_on"].date() == date(2026, 1, 20)
    assert "evaluations would put it between" in kept["cost_words"]
    assert "smallest p" in kept["cannot"]
    assert len(starts[starts["plan"] == "TIMER-1"]) == 6
    proposed = plans[plans["status"] == "proposed"]
    assert set(proposed["seed"]) == {202512}
    assert "TIMER-1" in published_register(year.current_release.resolve()).plans


def test_a_proposal_of_few_teams_goes_step_by_step(job):
    """One start at 3 of 6 teams reaches p = 0.1 at best; three steps of two teams reach 1/90."""
    job.con.execute("delete from core.changes")
    job.con.execute("delete from release_private.statement")
    rows = Rows()
    add_plans(job, rows, frozenset({"TIMER-1"}))
    assert {row[2] for row in rows.of("plan")} == {"proposed"}
    assert {row[6] for row in rows.of("plan")} == {202512}
    regions = ("WRIST_HAND", "NECK", "SHOULDER")
    assert [row[0] for row in rows.of("plan")] == [f"LOT-2025-12-{r}" for r in regions]
    assert {row[7] for row in rows.of("plan")} == {3}
    assert {round(row[18], 4) for row in rows.of("plan")} == {round(1 / 90, 4)}
    assert all(row[-3] is None and "not known" in row[-2] for row in rows.of("plan"))


def test_few_people_leave_no_ground_and_other_months_nothing(job):
    job.con.execute("delete from facts.symptom where person not like 'person-A-ONE%'")
    rows = Rows()
    add_plans(job, rows, frozenset())
    assert {row[-1] for row in rows.of("plan_ground")} == {TOO_FEW}
    assert rows.of("plan_reach") == []
    assert rows.of("plan") == []
    later = Rows()
    add_plans(Job(job.con, DECEMBER.plus(1), 10, job.settings, job.key), later, frozenset({"TIMER-1"}))
    assert not any(later.by_table.values())


def test_versions_and_months_of_the_register_are_published_once(year, job):
    with pinned(year) as release:
        history = release.table("change_history")
    assert history.groupby("change")["version"].max().to_dict() == {"LIGHT": 1, "PAUSE": 1}
    known = published_register(year.current_release.resolve())
    assert history_rows(job, known) == []
    job.con.execute("insert into core.change_adherence values ('LIGHT', '2025-09-01', 40, '2025-10-01')")
    job.con.execute("insert into core.change_adherence values ('LIGHT', '2025-09-01', 55, '2025-11-01')")
    assert adherence_rows(job, known) == [("LIGHT", "2025-09", 55.0)]
    known.months["LIGHT", "2025-09"] = 55.0
    assert adherence_rows(job, known) == []


def test_plans_are_printed_to_two_digits():
    head = ["P", "t", "kept", date(2026, 1, 1), "NECK", "common start", 7, 1, 3, 3, 6, date(2026, 9, 1), 10.0]
    row = _published([*head, 12.3, 0.52, 55.4, 2.49, 400, 0.1, 17.4, 3_000.0, 172.41, 98.7, None, ""])
    assert row[13:21] == (13, 0.5, 55, 2.5, 400, 0.1, 17, 3_000.0)
    assert row[21:24] == (170.0, 99.0, None)
    assert "no upper limit" in row[24]


@pytest.mark.parametrize(("before", "told"), [("2025-01 to 2025-09", 0), ("2024-01 to 2024-09", 3)])
def test_the_ground_of_few_people_is_stated_once_a_year(job, before, told):
    """97 people: a second share within the year would be nearly the same equation about the same answers."""
    job.con.execute("update release_private.statement set period = ? where asked = 'plan ground'", [before])
    rows = Rows()
    add_plans(job, rows, frozenset({"TIMER-1"}))
    assert len(rows.of("plan_ground")) == told
    assert bool(rows.of("plan_reach")) == bool(told)
