"""How far reports can be trusted, from literal reports to the published row and the Data room's sentence."""

from datetime import UTC, date, datetime

import pandas as pd

from etl.release import make_release
from etl.release_door import pinned
from tests.etl.test_release_golden import PEOPLE, execute, tiny
from tests.support.small_store import add_rows

NOW = datetime(2026, 4, 10, tzinfo=UTC)


def told(folder, reports: list[tuple[str, int, float]], month: str = "2026-03") -> pd.DataFrame:
    """Publish a month of twenty people; person k logged 1 + k / 4 h on one February day."""
    home = tiny(folder)
    for k, person in enumerate(PEOPLE):
        execute(
            home,
            "update core.bouts set end_us = start_us + ? where person = ?",
            int((1 + k / 4) * 3.6e9),
            person,
        )
    # Work in March as well, so that the quarter's last month can be released.
    execute(
        home,
        "insert into core.bouts select * replace"
        " (start_us + 2419200000000 as start_us, end_us + 2419200000000 as end_us) from core.bouts",
    )
    rows = pd.DataFrame(reports, columns=["person", "report", "hours_per_week"]).assign(
        month=date(2026, 2, 1)
    )
    add_rows(home, "diaries", rows)
    make_release(home, month, now=NOW)
    with pinned(home) as release:
        return release.table("reliability").set_index("way")


def test_a_log_beside_reports_gives_the_slope_and_what_people_report_too_much(tmp_path):
    # February has four weeks: person k logs (1 + k / 4) / 4 h a week and reports twice that plus an hour.
    reports = [(p, 1, 2 * (1 + k / 4) / 4 + 1) for k, p in enumerate(PEOPLE)]
    row = told(tmp_path, reports).loc["log beside report"]
    assert row[["value", "low", "high", "n_band"]].tolist() == [0.5, 0.5, 0.5, "20-24"]
    # Mean log .84 h a week, mean report 2.69: 1.84 too much, to half an hour 2.
    assert row["bias_hours"] == 2.0
    assert row[["factor_low", "factor_high"]].tolist() == [2.0, 2.0]
    assert "about 2 h a week more than is logged" in row["sentence"]
    assert row["period"] == "2026-03"


def test_two_reports_are_held_against_each_other_and_nobody_is_named(tmp_path):
    reports = [(p, n, float(k + (n == 2 and k % 2))) for k, p in enumerate(PEOPLE) for n in (1, 2)]
    found = told(tmp_path, reports)
    row = found.loc["two reports"]
    # Within 10 x .5 / 20 = .25, between about 2 x var(k + .25 or so): reliability .99, in steps of .05.
    assert row["value"] == 1.0
    assert row["low"] >= 0.95
    assert pd.isna(row["bias_hours"])
    assert not any(p in found["sentence"].str.cat() for p in PEOPLE)


def test_one_person_too_few_leaves_an_assumed_band(tmp_path):
    found = told(tmp_path, [(p, 1, 1.0 + k) for k, p in enumerate(PEOPLE[:19])])
    assert found.index.tolist() == ["assumed"]
    assert found.loc["assumed", ["low", "high", "factor_low", "factor_high"]].tolist() == [
        0.5,
        0.9,
        1.11,
        2.0,
    ]
    assert "Too few people" in found.loc["assumed", "sentence"]


def test_within_a_quarter_nothing_is_stated(tmp_path):
    assert told(tmp_path, [(p, 1, 5.0 + k) for k, p in enumerate(PEOPLE)], "2026-02").empty
