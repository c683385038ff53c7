"""What readers have already, from the ledger and the newest edition: nothing hidden, nothing else."""

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import duckdb
import pytest

from etl.release_calendar import Month
from etl.release_chain import open_release_file
from etl.release_ledger import QUARTER_KIND
from etl.release_published import (
    QuarterCount,
    published_exposure,
    published_quarters,
    published_rules,
    with_this_month,
)
from etl.settings import CaseRule, Settings, SymptomSettings
from etl.sqlfiles import sql

SEPTEMBER = Month(2026, 9)


def job(symptoms: SymptomSettings, month: Month = SEPTEMBER) -> Any:
    con = duckdb.connect(":memory:")
    con.execute(sql("store/030_tokens"))
    rows = [
        (1, QUARTER_KIND, "team", "T0", "2026-Q1", "NECK", "s", 12, 5, 10),
        (2, QUARTER_KIND, "team", "T0", "2026-Q2", "NECK", "s", 13, 5, 5),
        (2, QUARTER_KIND, "team", "T0", "2026-Q2", "KNEE", "s", 13, 5, None),
        (3, QUARTER_KIND, "team", "T0", "2026-Q3", "NECK", "s", 14, 5, 0),
        (4, QUARTER_KIND, "team", "T0", "2026-Q4", "NECK", "s", 14, 5, 0),
        (3, QUARTER_KIND, "cluster", "C0", "2026-Q3", "NECK", "s", 40, 5, 15),
        (3, "discomfort/month", "team", "T0", "2026-Q3", "NECK", "s", 40, 5, 15),
        (3, QUARTER_KIND, "team", "T1", "2026-Q3", "NECK", "s", 20, 5, 20),
    ]
    con.executemany("insert into release_private.ledger values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
    return cast(Any, SimpleNamespace(con=con, month=month, settings=Settings(symptoms=symptoms)))


def test_quarters_of_teams_up_to_this_one_as_published() -> None:
    first, second, third = QuarterCount("2026-Q1", 10, 12), QuarterCount("2026-Q2", 5, 13), ("2026-Q3", 0, 14)
    assert published_quarters(job(SymptomSettings())) == {
        ("NECK", "T0"): [first, second, QuarterCount(*third)],
        ("NECK", "T1"): [QuarterCount("2026-Q3", 20, 20)],
    }


def test_quarters_before_a_new_definition_are_another_series() -> None:
    symptoms = SymptomSettings(series=(CaseRule(since="2026-04", case_score=5),))
    assert [q.quarter for q in published_quarters(job(symptoms))["NECK", "T0"]] == ["2026-Q2", "2026-Q3"]
    assert [q.quarter for q in published_quarters(job(symptoms, Month(2026, 3)))["NECK", "T0"]] == ["2026-Q1"]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "edition.duckdb"
    columns = (
        "edition integer, period varchar, period_kind varchar, level varchar, unit varchar, measure varchar"
    )
    with open_release_file(path, write=True) as con:
        con.execute(f"create table exposure ({columns}, value double)")
        con.executemany(
            "insert into exposure values (?, ?, ?, ?, ?, ?, ?)",
            [
                (2, "2026-02", "month", "team", "T0", "hours_per_week", 6.0),
                (1, "2026-01", "month", "team", "T0", "hours_per_week", 5.0),
                (1, "2026-01", "month", "cluster", "C0", "beyond_guide_share", 0.25),
                (1, "2026-01", "month", "organisation", "ORG", "hours_per_week", 4.0),
                (1, "2026-W01", "week", "team", "T0", "hours_per_week", 9.0),
                (1, "2026-01", "month", "team", "T0", "strokes_per_week", 900.0),
                (1, "2026-01", "month", "team", "T1", "hours_per_week", None),
            ],
        )
        con.execute("create table edition (edition integer, period varchar, rules varchar)")
        later = {"symptoms": {"case_score": 5}, "privacy": {}}
        con.executemany(
            "insert into edition values (?, ?, ?)",
            [(2, "2026-02", json.dumps(later)), (1, "2026-01", json.dumps({"privacy": {}}))],
        )
    return path


def test_exposure_that_editions_have_shown(file: Path) -> None:
    assert published_exposure(None) == {}
    past = published_exposure(file)
    assert past == {
        ("team", "T0", "hours_per_week"): {"2026-01": 5.0, "2026-02": 6.0},
        ("cluster", "C0", "beyond_guide_share"): {"2026-01": 0.25},
    }
    assert list(past["team", "T0", "hours_per_week"]) == ["2026-01", "2026-02"]


def test_this_month_is_added_and_the_past_is_left_alone(file: Path) -> None:
    past = published_exposure(file)
    rows = [
        ("2026-03", "month", "team", "T0", "hours_per_week", 7),
        ("2026-03", "month", "team", "T2", "hours_per_week", None),
        ("2026-03", "month", "team", "T0", "strokes_per_week", 1.0),
        ("2026-03", "month", "organisation", "ORG", "hours_per_week", 1.0),
        ("2026-W12", "week", "team", "T0", "hours_per_week", 1.0),
    ]
    series = with_this_month(past, [(*row, "more") for row in rows])
    assert series["team", "T0", "hours_per_week"] == {"2026-01": 5.0, "2026-02": 6.0, "2026-03": 7.0}
    assert series["team", "T2", "hours_per_week"] == {}
    assert series["cluster", "C0", "beyond_guide_share"] == {"2026-01": 0.25}
    assert len(series) == 3
    assert past == published_exposure(file)


def test_rules_of_each_published_month(file: Path) -> None:
    assert published_rules(None) == {}
    rules = published_rules(file)
    assert rules == {"2026-01": SymptomSettings(), "2026-02": SymptomSettings(case_score=5)}
    assert list(rules) == ["2026-01", "2026-02"]
