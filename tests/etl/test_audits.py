"""Each audit finds its offender, and only that audit does."""

from datetime import date

import pytest

from etl.audits import AUDITS, run_audits
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.settings import Settings
from tests.support.person_rows import (
    Answer,
    Instrument,
    Stroke,
    TeamSpell,
    bout,
    core_store,
    instant,
    put,
    put_teams,
)

MARCH = date(2026, 3, 1)


@pytest.fixture
def con():
    """A store in order: two people on a team with work over midnight, an instrument and answers."""
    con = core_store()
    put_teams(con, {"T1": "C1", "T2": "C1"})
    put(
        con,
        [
            TeamSpell("a", "T1", date(2026, 1, 1), date(2026, 3, 31)),
            TeamSpell("b", "T1", date(2026, 1, 1)),
            Instrument("P1", 10_000, 15_000, 40_000),
            bout("a", "2026-03-02 23:30:00", "2026-03-03 00:10:00", strokes=101, tips=3),
            bout("a", "2026-03-03 10:30:00", "2026-03-03 11:10:00", strokes=50),
            bout("b", "2026-03-02 09:30:00", "2026-03-02 09:40:00", strokes=100),
            Stroke("b", instant("2026-03-04 09:30:00")),
            Stroke("b", instant("2026-03-04 09:31:00"), action="EJECT"),
            Answer("a", MARCH, "NECK", 3),
            Answer("b", MARCH, "NECK", None),
        ],
    )
    yield con
    con.close()


def found(con):
    return {finding.name: finding for finding in run_audits(con) if finding.offenders}


def test_a_store_in_order_has_no_findings(con):
    build_facts(con, Settings())
    findings = run_audits(con)
    assert [finding.name for finding in findings] == [audit.name for audit in AUDITS]
    assert [finding.name for finding in findings if finding.offenders] == []
    assert not any(finding.stops for finding in findings)


def test_facts_must_exist(con):
    with pytest.raises(EvenhandError, match="facts have not been built"):
        run_audits(con)


CORE_FAULTS = {
    "two_teams_one_day": (TeamSpell("a", "T2", date(2026, 3, 31)), "a T1 T2 2026-03-31"),
    "team_spell_reversed": (
        TeamSpell("c", "T1", date(2026, 3, 2), date(2026, 3, 1)),
        "c T1 2026-03-02 2026-03-01",
    ),
    "team_unlisted": (TeamSpell("c", "T9", date(2026, 3, 2)), "c T9"),
    "instrument_listed_twice": (Instrument("P1", 10_000, 15_000, 40_000), "P1"),
    "score_out_of_range": (Answer("a", MARCH, "ELBOW", 11), "a 2026-03-01 ELBOW NONE"),
    "survey_answered_twice": (Answer("a", MARCH, "NECK", 3), "a 2026-03-01 NECK NONE"),
    "work_without_team": (bout("a", "2026-04-01 09:00:00", "2026-04-01 09:10:00"), "a 2026-04-01"),
    "survey_without_team": (Answer("z", MARCH, "NECK", 3), "z 2026-03-01"),
    "instrument_unlisted": (
        bout("a", "2026-03-05 09:00:00", "2026-03-05 09:10:00", instrument="P7"),
        "P7",
    ),
    "tips_unknown": (
        bout("a", "2026-03-05 09:00:00", "2026-03-05 09:10:00", tips=None),
        "a 2026-03-05 08:00:00",
    ),
    "presses_over_time": (
        bout("a", "2026-03-05 09:00:00", "2026-03-05 09:10:00", strokes=3000),
        "a 2026-03-05 08:00:00",
    ),
    "station_unlisted": (
        bout("a", "2026-03-05 09:00:00", "2026-03-05 09:10:00", station="S1"),
        "S1",
    ),
    "bout_clipped": (bout("a", "2026-03-03 11:09:30", "2026-03-03 11:20:00"), "a 2026-03-03 10:09:30"),
    "bout_left_out": (bout("a", "2026-03-03 11:00:00", "2026-03-03 11:20:00"), "a 2026-03-03 10:00:00"),
    "two_logs_one_day": (Stroke("a", instant("2026-03-03 15:00:00")), "a 2026-03-03"),
    "scale_not_scored": (Answer("a", MARCH, "ELBOW", 55, scale="PERCENT"), "PERCENT"),
}


@pytest.mark.parametrize("name", CORE_FAULTS)
def test_one_wrong_row_is_found_by_its_audit_alone(con, name):
    row, key = CORE_FAULTS[name]
    put(con, [row])
    build_facts(con, Settings())
    findings = found(con)
    assert list(findings) == [name]
    assert (findings[name].offenders, findings[name].examples) == (1, (key,))
    assert findings[name].stops == (findings[name].severity == "stop")


def test_unmeasured_force_is_told_only_where_the_instrument_is_used(con):
    put(con, [Instrument("P2", 1, None, 1), Instrument("P3", 1, None, 1)])
    put(con, [bout("a", "2026-03-05 09:00:00", "2026-03-05 09:10:00", instrument="P2")])
    build_facts(con, Settings())
    assert {name: finding.examples for name, finding in found(con).items()} == {
        "instrument_unmeasured": ("P2",)
    }


def test_a_team_in_two_clusters(con):
    put_teams(con, {"T1": "C2"})
    build_facts(con, Settings())
    assert {name: finding.examples for name, finding in found(con).items()} == {"team_listed_twice": ("T1",)}


def test_impossible_bouts(con):
    put(
        con,
        [
            bout("a", "2026-03-05 09:00:00", "2026-03-06 01:00:01"),
            bout("a", "2026-03-07 09:00:00", "2026-03-07 09:00:00"),
            bout("a", "2026-03-08 09:00:00", "2026-03-08 09:00:01", tips=-1),
            bout("a", "2026-03-09 09:00:00", "2026-03-10 01:00:00"),
        ],
    )
    build_facts(con, Settings())
    assert found(con)["bout_impossible"].examples == (
        "a 2026-03-05 08:00:00",
        "a 2026-03-07 08:00:00",
        "a 2026-03-08 08:00:00",
    )


FACT_FAULTS = {
    "update facts.bout_piece set strokes = strokes + 1 where person = 'b'": {
        "strokes_not_conserved",
        "days_not_adding_up",
    },
    "update facts.bout_piece set end_us = end_us + 1 where person = 'a'": {
        "time_not_conserved",
        "days_not_adding_up",
        "time_counted_twice",
    },
    "update facts.person_day set pipetting_us = 86400000001 where local_date = '2026-03-03'": {
        "day_over_24_hours",
        "days_not_adding_up",
    },
    "update facts.person_week set strokes = 0": {"days_not_adding_up"},
    "update facts.spell set end_us = end_us - 1 where spell = 1 and person = 'a'": {
        "spell_shorter_than_work"
    },
    "update facts.bout_piece set beyond_guide_us = end_us - start_us + 1": {"fact_out_of_bounds"},
    "update facts.bout_piece set force_time_mn_ms = -1": {"fact_out_of_bounds"},
    "update facts.roster set days_on_team = 32": {"fact_out_of_bounds"},
    "update facts.person_day set force_known_us = pipetting_us + 1": {"fact_out_of_bounds"},
    "update facts.symptom set score = 4": {"symptoms_not_matching"},
    "delete from facts.symptom": {"symptoms_not_matching"},
    "delete from core.people where person = 'a'": {"person_not_in_store"},
    "delete from core.bouts where person = 'b'": {"time_not_conserved", "strokes_not_conserved"},
    "delete from core.strokes": {"strokes_not_conserved"},
}


@pytest.mark.parametrize("tampering", FACT_FAULTS)
def test_facts_that_do_not_match_the_store_are_found(con, tampering):
    build_facts(con, Settings())
    con.execute(tampering)
    findings = found(con)
    assert set(findings) == FACT_FAULTS[tampering]
    assert all(finding.stops for finding in findings.values())


def test_a_finding_reads_as_a_sentence(con):
    put(con, [TeamSpell(f"x{number}", "T9", MARCH) for number in range(5)])
    build_facts(con, Settings())
    by_name = {finding.name: str(finding) for finding in run_audits(con)}
    assert by_name["team_unlisted"] == (
        "stop: 5 people on a team missing from the list of teams (x0 T9, x1 T9, x2 T9, ...). Load that team."
    )
    assert by_name["two_teams_one_day"] == "none: people listed on two teams at once"


def test_every_audit_is_shown_to_find_something():
    shown = {*CORE_FAULTS, *(name for names in FACT_FAULTS.values() for name in names)}
    shown |= {"instrument_unmeasured", "team_listed_twice", "bout_impossible"}
    assert shown == {audit.name for audit in AUDITS}
