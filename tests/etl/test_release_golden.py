"""One bout and one answer, followed by hand from the core tables to the published row."""

from datetime import UTC, date, datetime

import pandas as pd
import pytest

from etl.home import Home
from etl.keys import read_key
from etl.release import make_release
from etl.release_door import pinned
from etl.store import open_store
from models.disclosure import round_count, rounding_draw
from tests.support.small_store import ZONE, add_rows

NOW = datetime(2026, 3, 10, tzinfo=UTC)
PEOPLE = [f"worker-{k:02d}" for k in range(20)]
WALKED = PEOPLE[7]


def tiny(folder) -> Home:
    """Twenty people of one team; each pipettes one hour on 4 February 2026, and nobody has discomfort."""
    home = Home(folder)
    start = int(datetime(2026, 2, 4, 8, 0, tzinfo=UTC).timestamp()) * 1_000_000
    add_rows(home, "teams", pd.DataFrame(
        [("LAB", "Laboratory", "ALL", "All laboratories", "SITE")],
        columns=["team", "team_name", "cluster", "cluster_name", "site"],
    ))  # fmt: skip
    add_rows(home, "people", pd.DataFrame({
        "person": PEOPLE, "team": "LAB", "valid_from": date(2025, 1, 1), "valid_to": None, "age_band": None,
    }))  # fmt: skip
    add_rows(home, "instruments", pd.DataFrame([{
        "instrument": "P1", "kind": "MANUAL", "channels": 1, "plunger_mn": 10_000, "blow_out_mn": 12_000,
        "ejection_mn": 21_000, "press_ms": 300, "eject_ms": 200,
    }]))  # fmt: skip
    add_rows(home, "bouts", pd.DataFrame({
        "person": PEOPLE, "start_us": start, "end_us": start + 3_600_000_000, "tz": ZONE, "task": "ALIQUOT",
        "instrument": "P1", "strokes": 600, "tips": 60, "channels": 1, "volume_changes": 0, "station": None,
        "hand": "RIGHT",
    }))  # fmt: skip
    add_rows(home, "surveys", pd.DataFrame({
        "person": PEOPLE, "month": date(2026, 2, 1), "region": "WRIST_HAND", "side": "RIGHT", "score": 3,
        "hindered": False, "scale": "NRS_0_10",
    }))  # fmt: skip
    return home


def execute(home: Home, statement: str, *parameters: object) -> None:
    with open_store(home, write=True) as con:
        con.execute(statement, [*parameters])


def measure(home: Home, name: str) -> pd.Series:
    with pinned(home) as release:
        rows = release.table("exposure", period="2026-02", level="organisation", measure=name)
    assert len(rows) == 1
    return rows.iloc[0]


def test_one_longer_bout_moves_the_published_hours_by_what_hand_reckoning_says(tmp_path):
    home = tiny(tmp_path)
    # One person works 84 minutes instead of 60. (19 x 1 + 1.4) / 20 people x 1 week = 1.02 h.
    execute(home, "update core.bouts set end_us = end_us + 1440000000 where person = ?", WALKED)
    make_release(home, "2026-02", now=NOW)
    with open_store(home, write=False) as con:
        piece = con.execute(
            "select local_date, team, task, end_us - start_us from facts.bout_piece where person = ?",
            [WALKED],
        ).fetchall()
        day = con.execute(
            "select pipetting_us, strokes from facts.person_day where person = ?", [WALKED]
        ).fetchall()
    assert piece == [(date(2026, 2, 4), "LAB", "ALIQUOT", 84 * 60_000_000)]
    assert day == [(84 * 60_000_000, 600)]
    hours = measure(home, "hours_per_week")
    assert (hours["value"], hours["n_band"], hours["standing"]) == (1.02, "20-24", "within guide")
    # Deviations: nineteen of -0.02, one of 0.38; sd 0.08944, SE 0.02, t(19) = 2.093: 0.978 to 1.062.
    assert (hours["low"], hours["high"]) == (0.98, 1.06)
    assert hours["guide"] == pytest.approx(300 / 44)
    # Longest spell: (19 x 60 + 84) / 20; past 20 min: (19 x 40 + 64) / (19 x 60 + 84) = 67.3 %.
    assert measure(home, "longest_spell")["value"] == 61.2
    assert measure(home, "longest_spell")["standing"] == "over guide"
    assert measure(home, "beyond_guide_share")["value"] == 67.3
    assert measure(home, "long_spell_days")["value"] == 5.0  # one of twenty days, 84 min > 60
    # Strokes 600 x 22 N x .3 s + 60 tips x 21 N x .2 s = 3960 + 252 N*s; peak 21 N, above 19.6 N.
    assert measure(home, "force_time")["value"] == 4212
    assert measure(home, "peak_thumb_force")["value"] == 21
    assert measure(home, "over_force_share")["value"] == 100
    with pinned(home) as release:
        part = release.table("exposure_part", level="team", part_kind="weekday").iloc[0]
        week = release.table("exposure", period="2026-W06", level="team", measure="hours_per_week").iloc[0]
    assert (part["part"], part["share_percent"], part["hours_per_person_week"]) == ("WEDNESDAY", 100, 1.02)
    assert week["value"] == 1.02


def test_a_bout_taken_out_leaves_its_person_out_of_the_denominator(tmp_path):
    home = tiny(tmp_path)
    execute(home, "delete from core.bouts where person = ?", WALKED)
    make_release(home, "2026-02", now=NOW)
    hours = measure(home, "hours_per_week")
    assert (hours["value"], hours["n_band"]) == (1.0, "15-19")
    with pinned(home) as release:
        coverage = release.table("coverage", level="team").iloc[0]
    assert (coverage["people_band"], coverage["logged_percent"], coverage["force_known_percent"]) == (
        "20-24",
        95,
        100,
    )


@pytest.mark.parametrize(("score", "cases"), [(3, 0), (4, 1)])
def test_one_answer_counts_from_the_case_score_on_and_is_rounded_with_its_contributors_draw(
    tmp_path, score, cases
):
    home = tiny(tmp_path)
    execute(home, "update core.surveys set score = ? where person = ?", score, WALKED)
    make_release(home, "2026-02", now=NOW)
    with open_store(home, write=False) as con:
        tokens = [t for (t,) in con.execute("select token from release_private.token").fetchall()]
        fact = con.execute(
            "select score, is_case, team from facts.symptom where person = ?", [WALKED]
        ).fetchall()
        kept = con.execute(
            "select published, n, base from release_private.ledger where unit = 'ORG'"
        ).fetchall()
    assert fact == [(score, bool(cases), "LAB")]
    key = read_key(home.keys_dir / "release.key").secret
    expected = round_count(cases, 20, rounding_draw(key, tokens, "WRIST_HAND", "discomfort/month"))
    assert kept == [(expected, 20, 5)]
    with pinned(home) as release:
        row = release.table("health", level="organisation").iloc[0]
        response = release.table("response", level="organisation").iloc[0]
    assert (row["count_rounded"], row["percent"], row["n_band"]) == (expected, 5 * expected, "20-24")
    assert (response["invited_band"], response["answered_band"], response["percent"]) == (
        "20-24",
        "20-24",
        100,
    )
    assert "score" not in row.index


def test_the_worse_side_counts_and_one_answer_less_hides_the_month(tmp_path):
    home = tiny(tmp_path)
    other = pd.DataFrame([{
        "person": WALKED, "month": date(2026, 2, 1), "region": "WRIST_HAND", "side": "LEFT", "score": 8,
        "hindered": True, "scale": "NRS_0_10",
    }])  # fmt: skip
    add_rows(home, "surveys", other)
    execute(home, "update core.surveys set score = null where person = ?", PEOPLE[0])
    make_release(home, "2026-02", now=NOW)
    with open_store(home, write=False) as con:
        assert con.execute("select score from facts.symptom where person = ?", [WALKED]).fetchall() == [(8,)]
        assert con.execute(
            "select n, published from release_private.ledger where unit = 'ORG'"
        ).fetchall() == [(19, None)]
    with pinned(home) as release:
        row = release.table("health", level="organisation").iloc[0]
        average = release.table("health_average", level="organisation").iloc[0]
    assert row["reason"] == average["reason"] == "not shown: group too small"
    assert row[["n_band", "count_rounded", "percent", "low", "high"]].isna().all()
