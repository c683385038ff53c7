"""Whom stations fit, from literal walk-throughs to the published row."""

from datetime import date

import pandas as pd

from etl.release import make_release
from etl.release_door import pinned
from tests.etl.test_release_golden import NOW, tiny
from tests.support.small_store import add_rows

COLUMNS = [
    "station", "team", "observed_on", "bench_height_mm", "edge_thickness_mm", "chair_min_mm", "chair_max_mm",
    "foot_support", "cut_out", "hood_sash_mm",
]  # fmt: skip


def fits(folder, *rows) -> pd.DataFrame:
    home = tiny(folder)
    frame = pd.DataFrame([(*row, False, None) for row in rows], columns=COLUMNS)
    add_rows(home, "stations", frame.astype({"foot_support": "boolean"}))
    make_release(home, "2026-02", now=NOW)
    with pinned(home) as release:
        return release.table("station_fit").set_index("station")


def test_the_newest_walk_through_up_to_the_month_counts(tmp_path):
    found = fits(
        tmp_path,
        ("S1", "LAB", date(2025, 5, 1), 720.0, 40.0, 400.0, 530.0, True),
        ("S1", "LAB", date(2026, 2, 28), 950.0, 40.0, 610.0, 860.0, True),
        ("S1", "LAB", date(2026, 3, 1), 700.0, 40.0, 400.0, 530.0, True),
    )
    row = found.loc["S1"]
    assert (str(row["observed_on"])[:10], row["bench_height_mm"]) == ("2026-02-28", 950)
    # Bench 950, elbows 50-100 above: normal model on ANSUR II .3696 of women, .0495 of men (computed from the
    # formula); seat 610-860 with footring .5811 and .5835 of the people measured, within .02 of the model.
    assert (row["standing_women"], row["standing_men"]) == (37, 5)
    assert abs(row["seated_women"] - 58.11) < 2.5
    assert abs(row["seated_men"] - 58.35) < 2.5
    assert row["either_low"] <= row["either_high"]
    assert row["either_low"] >= (row["seated_women"] + row["seated_men"]) // 2


def test_what_would_raise_the_share_most_is_named_with_what_it_leads_to(tmp_path):
    # Room for thighs is the ceiling, not the chair: with foot support a thin edge does most.
    row = fits(tmp_path, ("S1", "LAB", date(2026, 1, 5), 900.0, 60.0, 560.0, 760.0, True)).loc["S1"]
    assert row["best_change"] == "edge of 20 mm"
    assert row["best_posture"] == "seated"
    assert row["best_after"] > (row["seated_women"] + row["seated_men"]) / 2 + 20


def test_what_is_not_measured_is_empty_and_said(tmp_path):
    found = fits(
        tmp_path,
        ("NONE", "LAB", date(2026, 1, 5), None, 40.0, 560.0, 760.0, True),
        ("PART", "LAB", date(2026, 1, 5), 950.0, None, 560.0, 760.0, None),
    )
    assert found.loc["NONE", "reason"] == "not shown: bench height not measured"
    assert found.loc["NONE", ["standing_women", "either_low", "best_change"]].isna().all()
    assert found.loc["PART", "standing_women"] == 37
    assert found.loc["PART", ["seated_women", "either_low"]].isna().all()
