"""Changes, recorded cases and the private ledger on the small institute."""

from dataclasses import replace
from datetime import date

import pytest

from etl.home import Home
from etl.keys import Key
from etl.release_audit_case import read_ledger
from etl.release_changes import (
    NO_BEFORE,
    NO_OTHERS,
    WAITING,
    Change,
    completed_changes,
    other_teams,
    reach_rows,
)
from etl.release_door import pinned
from etl.release_exposure import coverage_rows
from etl.release_ledger import give_tokens
from etl.release_rows import Job
from etl.release_tables import case_rows
from etl.settings import Settings
from etl.sqlfiles import sql
from etl.store import open_store
from models.disclosure import DOMINATED, TOO_SMALL
from tests.support.small_store import FIRST, NOW, changes_frame, small_release


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Fourteen editions: the first change is six months old, the second is too young."""
    return small_release(tmp_path_factory.mktemp("year"), 14)


@pytest.fixture
def job(year: Home):
    """A job over a store that is thrown away afterwards."""
    with open_store(year, write=True) as con:
        con.execute("begin")
        con.execute(sql("release/010_place"))
        yield Job(con, FIRST.plus(13), 15, Settings(), Key("release1", bytes(range(32))))
        con.execute("rollback")


def test_the_register_is_published_as_it_stands(year):
    with pinned(year) as release:
        change = release.table("change", edition=14)
    assert change["change"].tolist() == ["LIGHT", "PAUSE"]
    assert set(change.columns) - {"edition"} == set(changes_frame().columns)


def test_a_change_is_stated_once_six_months_after_completion(year):
    with pinned(year) as release:
        rows = release.table("change_reach", change="LIGHT")
    waiting, final = rows[rows["reason"] == WAITING], rows[rows["reason"].isna()]
    assert set(waiting["edition"]) == {7}  # July 2025, the month of completion
    assert set(final["edition"]) == {13}  # August to January are its six months
    assert set(final["periods"]) == {"2025-01 to 2025-06", "2025-08 to 2026-01"}
    grain = ["side", "measure", "periods"]
    assert sorted(final[grain].itertuples(index=False)) == sorted(waiting[grain].itertuples(index=False))
    assert set(final["teams"]) == {"C-ONE", "5 other teams"}
    changed = final[(final["side"] == "changed") & (final["measure"] == "hours_per_week")]
    assert (changed["low"] < changed["value"]).all()
    assert set(changed["n_band"]) == {"15-19"}


def test_a_younger_change_only_says_what_is_awaited(year):
    with pinned(year) as release:
        rows = release.table("change_reach", change="PAUSE")
    assert set(rows["edition"]) == {13}
    assert set(rows["reason"]) == {WAITING}
    assert rows["value"].isna().all()


def test_reach_equals_the_months_own_sums(year):
    with pinned(year) as release:
        row = release.table("change_reach", change="LIGHT", side="changed", measure="strokes_per_week")
        after = row[(row["periods"] == "2025-08 to 2026-01") & row["reason"].isna()].iloc[0]
    with open_store(year, write=False) as con:
        strokes, weeks = con.execute(
            "select sum(strokes), count(distinct (person, date_trunc('week', local_date))) "
            "from facts.person_day where team = 'C-ONE' "
            "and local_date >= '2025-08-01' and local_date < '2026-02-01'"
        ).fetchall()[0]
    # Weeks cut by the ends of the span count in part, so whole weeks are at most one too many a person.
    assert strokes / weeks <= after["value"] <= strokes / weeks * 1.06


def test_a_change_from_the_first_months_has_no_before(job):
    job.con.execute(
        "update core.changes set started = '2025-03-03', completed = '2025-03-20' where change = 'LIGHT'"
    )
    (light, _) = completed_changes(job)
    assert (str(light.before[0]), str(light.before[1])) == ("2025-01", "2025-02")
    rows = [r for r in reach_rows(job, frozenset()) if r[0] == "LIGHT"]
    assert {r[10] for r in rows} == {NO_BEFORE}
    job.con.execute("update core.changes set started = '2025-01-03' where change = 'LIGHT'")
    assert completed_changes(job)[0].before is None
    assert {r[4] for r in reach_rows(job, frozenset()) if r[0] == "LIGHT"} == {"2025-04 to 2025-09"}


def test_teams_with_a_change_of_the_same_kind_are_no_comparison(job):
    (light, _) = completed_changes(job)
    assert (
        other_teams(job, light) == ("A-ONE", "A-TWO", "P-ONE", "P-TWO", "C-TWO")
        or len(other_teams(job, light)) == 5
    )
    job.con.execute(
        "update core.changes set kind = 'INSTRUMENT', started = '2025-10-01' where change = 'PAUSE'"
    )
    assert "A-ONE" not in other_teams(job, light)
    job.con.execute(
        "update core.changes set started = '2026-03-01', completed = '2026-03-01' where change = 'PAUSE'"
    )
    assert "A-ONE" in other_teams(job, light)


def test_a_change_everywhere_has_nothing_to_compare_with(job):
    job.con.execute(
        "insert into core.changes select c.* replace (t.team as team) from core.changes c, core.teams t "
        "where c.change = 'LIGHT' and t.team <> 'C-ONE'"
    )
    assert {r[10] for r in reach_rows(job, frozenset()) if r[0] == "LIGHT"} == {NO_OTHERS}


def test_one_side_is_never_shown_alone(job):
    job.con.execute(
        "update facts.person_day set pipetting_us = pipetting_us * 40 where person = 'person-C-ONE-00'"
    )
    rows = [r for r in reach_rows(job, frozenset()) if r[0] == "LIGHT" and r[3] == "hours_per_week"]
    assert len(rows) == 4
    assert {r[10] for r in rows} == {DOMINATED}
    assert all(r[5] is None and r[9] is None for r in rows)


def test_what_was_stated_is_not_stated_again(job):
    assert reach_rows(job, frozenset({("LIGHT", True), ("PAUSE", False)})) == []
    assert {r[0] for r in reach_rows(job, frozenset({("LIGHT", False), ("PAUSE", False)}))} == {"LIGHT"}
    assert Change("X", "K", ("T",), None, (FIRST, FIRST)).before is None


def test_recorded_cases_are_published_once_the_year_is_over(year):
    with pinned(year) as release:
        rows = release.table("case_rate")
    assert set(rows["edition"]) == {12}
    assert set(rows["kind"]) == {"recordable", "lost_time"}
    assert (rows["count_rounded"] % 5 == 0).all()
    assert (rows["low"] <= rows["rate"]).all()
    assert (rows["rate"] <= rows["high"]).all()
    # 18 recordable cases in the store (6 teams x months 0, 5, 10): the published count stands for 14 to 22.
    recordable = rows[rows["kind"] == "recordable"].iloc[0]
    assert abs(recordable["count_rounded"] - 18) < 5
    assert recordable["rate"] == pytest.approx(
        recordable["count_rounded"] * 200_000 / recordable["hours_worked"], rel=1e-3
    )


@pytest.mark.parametrize(
    ("statement", "reasons"),
    [
        ("delete from core.hours where month = '2025-06-01'", {"not shown: hours of 11 of 12 months"}),
        ("update core.hours set hours_worked = 0", {TOO_SMALL}),
        ("delete from core.hours", set()),
    ],
)
def test_a_year_without_its_hours_has_no_rate(job, statement, reasons):
    job.con.execute(statement)
    december = replace(job, month=FIRST.plus(11))
    assert {row[9] for row in case_rows(december)} == reasons


def test_coverage_of_a_team_below_the_floor_is_hidden(job):
    job.con.execute("delete from facts.roster where team = 'P-TWO' and person > 'person-P-TWO-03'")
    rows = {row[2]: row for row in coverage_rows(job) if row[1] == "team"}
    # Four people: hidden, and the neighbour with them.
    assert [rows[team][-1] for team in ("P-TWO", "P-ONE", "A-ONE")] == [TOO_SMALL, TOO_SMALL, None]


def test_the_ledger_holds_contributors_and_published_counts_and_no_true_ones(year):
    with open_store(year, write=False) as con:
        ledger = read_ledger(con)
        people = {p for (p,) in con.execute("select person from core.people").fetchall()}
        columns = {c for (c,) in con.execute(
            "select column_name from information_schema.columns where table_schema = 'release_private'"
        ).fetchall()}  # fmt: skip
    with pinned(year) as release:
        health = release.table("health")
    shown = health[health["reason"].isna()]
    assert len(ledger.cells) == len(shown)
    assert {(c.period, c.unit, c.region, c.value) for c in ledger.cells} == set(
        zip(
            shown["period"],
            shown["level"] + "/" + shown["unit"],
            shown["region"],
            shown["count_rounded"],
            strict=True,
        )
    )
    assert len(ledger.hidden) == len(health) - len(shown)
    assert not people & {token for c in ledger.cells for token in c.contributors}
    assert not columns & {"cases", "count", "score", "is_case"}
    for cell in ledger.cells:
        inside = ledger.answered[cell.region]
        assert all(set(cell.months) & set(inside[token]) for token in cell.contributors)


def test_somebody_new_gets_a_token_that_nobody_had(job):
    con = job.con
    tokens = dict(con.execute("select person, token from release_private.token").fetchall())
    con.execute("insert into facts.roster select * replace ('new-name' as person) from facts.roster limit 1")
    give_tokens(con)
    now = dict(con.execute("select person, token from release_private.token").fetchall())
    fresh = now.pop("new-name")
    assert now == tokens
    assert fresh not in tokens.values()
    assert len(fresh) == 32
    assert len(set(tokens.values())) == len(tokens)


def test_dates_used_here_are_those_of_the_small_institute():
    frame = changes_frame().set_index("change")
    assert frame.loc["LIGHT", "completed"] == date(2025, 7, 31)
    assert NOW.date() > FIRST.plus(13).last_day
