"""Refusals before an edition is made: what is found, where, and the remedy, word for word."""

from datetime import date

import duckdb
import pytest

from etl.audits import AuditFinding
from etl.errors import ReleaseRefused
from etl.release_calendar import Month
from etl.release_checks import CheckRow
from etl.release_gate import refuse_audits, refuse_empty, refuse_mixed, refuse_units
from etl.settings import CaseRule, PrivacySettings, SymptomSettings
from etl.sqlfiles import sql

OCTOBER = Month(2026, 10)


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect(":memory:")
    con.execute(sql("store/030_tokens"))
    con.execute("create schema core; create schema facts")
    con.execute("create table core.teams (team varchar, cluster varchar)")
    con.execute("create table core.surveys (month date, score integer, scale varchar)")
    con.execute("create table facts.person_day (local_date date)")
    con.execute("create table facts.symptom (month date)")
    con.execute("create table facts.roster (month date, person varchar, cluster varchar)")
    return con


def told(refusal: pytest.ExceptionInfo[ReleaseRefused]) -> tuple[str, str, str]:
    return refusal.value.what, refusal.value.where, refusal.value.remedy


def test_a_month_without_anything_is_refused(con) -> None:
    for statement in (
        "insert into facts.person_day values ('2026-09-30'), ('2026-11-01')",
        "insert into facts.symptom values ('2026-09-01')",
    ):
        con.execute(statement)
        with pytest.raises(ReleaseRefused) as refusal:
            refuse_empty(con, OCTOBER)
    assert told(refusal) == (
        "No logged work and no answers in 2026-10", "person store", "Load that month's files first.",
    )  # fmt: skip


@pytest.mark.parametrize(
    "statement",
    [
        "insert into facts.person_day values ('2026-10-01')",
        "insert into facts.person_day values ('2026-10-31')",
        "insert into facts.symptom values ('2026-10-01')",
    ],
)
def test_a_month_with_work_or_answers_goes_on(con, statement: str) -> None:
    con.execute(statement)
    assert refuse_empty(con, OCTOBER) is None


def test_a_month_on_another_scale_is_refused_and_a_mixed_one_goes_on(con) -> None:
    con.execute("insert into core.surveys values ('2026-10-01', 3, 'CR10'), ('2026-09-01', 3, 'NRS_0_10')")
    with pytest.raises(ReleaseRefused) as refusal:
        refuse_mixed(con, OCTOBER, SymptomSettings())
    assert told(refusal) == (
        "2026-10: the answers are on CR10, the series is on NRS_0_10",
        "symptoms in the settings",
        "Begin a new series there: [[symptoms.series]] with since and scale, bridged or not.",
    )
    con.execute("insert into core.surveys values ('2026-10-01', 3, 'NRS_0_10')")
    assert refuse_mixed(con, OCTOBER, SymptomSettings()) is None
    assert refuse_mixed(con, Month(2026, 11), SymptomSettings()) is None
    # The rule is the month's own: a later series on the other scale, and an earlier month on the first.
    changed = SymptomSettings(series=(CaseRule(since="2026-10", scale="CR10", case_score=3),))
    assert refuse_mixed(con, OCTOBER, changed) is None
    assert refuse_mixed(con, Month(2026, 9), changed) is None
    con.execute("delete from core.surveys where scale = 'CR10'")
    with pytest.raises(ReleaseRefused, match="the answers are on NRS_0_10, the series is on CR10"):
        refuse_mixed(con, OCTOBER, changed)


def staff(con, cluster: str | None, people: int, month: date = OCTOBER.first_day) -> None:
    for k in range(people):
        con.execute("insert into facts.roster values (?, ?, ?)", [month, f"{cluster}{k}", cluster])


def test_a_cluster_under_its_floor_is_refused_with_what_to_join(con) -> None:
    staff(con, "C0", 20)
    staff(con, "C1", 19)
    staff(con, "C1", 1)  # Somebody on two of its teams counts once.
    staff(con, None, 3)
    staff(con, "C2", 3, date(2026, 9, 1))
    with pytest.raises(ReleaseRefused) as refusal:
        refuse_units(con, OCTOBER, PrivacySettings())
    assert told(refusal) == (
        "Cluster C1 has 19 people, fewer than 20",
        "teams, 2026-10",
        "Join it with another cluster in the teams file, from the start of a calendar year.",
    )
    con.execute("insert into facts.roster values ('2026-10-01', 'one more', 'C1')")
    assert refuse_units(con, OCTOBER, PrivacySettings()) is None
    with pytest.raises(ReleaseRefused, match="Cluster C0 has 20 people, fewer than 21"):
        refuse_units(con, OCTOBER, PrivacySettings(cluster_floor=21))


@pytest.mark.parametrize(("period", "stops"), [("2026-01", True), ("2026-09", True), ("2025-12", False)])
def test_a_team_that_changes_cluster_within_the_year_is_refused(con, period: str, stops: bool) -> None:
    con.execute("insert into core.teams values ('T0', 'C1')")
    con.execute("insert into release_private.roster values (1, ?, 'T0', 'C0', 'x')", [period])
    if not stops:
        assert refuse_units(con, OCTOBER, PrivacySettings()) is None
        return
    with pytest.raises(ReleaseRefused) as refusal:
        refuse_units(con, OCTOBER, PrivacySettings())
    assert told(refusal) == (
        "Team T0 moved from cluster C0 to C1 within 2026",
        "teams, 2026-10",
        "Clusters are fixed for a calendar year: keep C0 until January, then load the new teams.",
    )


def finding(name: str, severity: str, offenders: int) -> AuditFinding:
    return AuditFinding(name, severity, offenders, ("person-1",), f"rows of {name}", f"Mend {name}.")


def test_an_audit_that_says_stop_stops_and_one_that_informs_is_printed(con, monkeypatch) -> None:
    found = [finding("a", "stop", 0), finding("b", "inform", 2), finding("c", "inform", 0)]
    monkeypatch.setattr("etl.release_gate.run_audits", {con: found}.__getitem__)
    assert refuse_audits(con) == [CheckRow("store", True, "2 rows of b.", "b")]
    found[1] = finding("b", "inform", 0)
    assert refuse_audits(con) == [CheckRow("store", True, "The audits of the store found nothing.")]
    found.append(finding("d", "stop", 4))
    with pytest.raises(ReleaseRefused) as refusal:
        refuse_audits(con)
    assert told(refusal) == ("4 rows of d", "audit d", "Mend d.")
