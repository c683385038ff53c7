"""Dose figures: one institute reckoned by hand to the published row, and what is hidden, unknown or set."""

from math import log

import numpy as np
import pandas as pd
import pytest
from pydantic import ValidationError
from scipy.optimize import brentq
from scipy.stats import norm

from etl.home import Home
from etl.release import make_release
from etl.release_door import pinned
from etl.settings import Settings
from models.disclosure import TOO_SMALL
from tests.etl.test_release_golden import NOW, PEOPLE, execute, tiny
from tests.support.small_store import FIRST, publish, small_store

# Key pinch, lb: means of Stegink Jansen 2003; spread pooled over Mathiowetz 1985, ages 20-59 (from memory).
WOMEN = 16.03, (17.6, 17.7, 18.7, 16.6, 16.7, 17.6, 16.7, 15.7), (2.0, 2.1, 3.0, 2.0, 3.1, 3.2, 2.5, 2.5)
MEN = 23.16, (26.0, 26.7, 26.4, 26.1, 25.6, 25.8, 26.7, 24.2), (3.5, 4.9, 4.8, 3.2, 2.6, 3.9, 4.4, 4.2)
POUND = 4.4482216152605


def dose(home: Home, level: str = "organisation") -> pd.DataFrame:
    with pinned(home) as release:
        rows = release.table("dose", level=level)
    return rows.set_index("measure")


def weak_end(share_women: float) -> float:
    """Return the strength that 5 % of the mix do not reach, by root finding on the two normals."""

    def below(x: float) -> float:
        parts = []
        for mean, means, sds in (WOMEN, MEN):
            sd = (np.var(means) + np.mean(np.square(sds))) ** 0.5
            parts.append(norm.cdf((x - mean) / sd))
        return share_women * parts[0] + (1 - share_women) * parts[1] - 0.05

    return POUND * float(brentq(below, 5, 30))


def test_an_hour_of_twenty_people_by_hand(tmp_path):
    # One hour each: 600 strokes of 10 and 12 N for .3 s, 60 ejections of 21 N for .2 s.
    home = tiny(tmp_path)
    make_release(home, "2026-02", now=NOW)
    found = dose(home)
    strength = weak_end(0.5)
    assert found.loc["hours_per_year", ["value", "guide", "standing"]].tolist() == [44, 300, "within guide"]
    assert found.loc["rest_due", "value"] == 50  # 30 of 60 minutes
    assert found.loc["thumb_force", "value"] == round(2100 / strength)
    assert found.loc["thumb_force", "standing"] == "over guide"
    assert found.loc["mean_load", "value"] == round(100 * 4212 / 3600 / strength, 1)
    duty, often = 100 * (1200 * 0.3 + 60 * 0.2) / 3600, (1260 / 3600) ** 1.31
    level = 6.56 * log(duty) * often / (1 + 3.18 * often)
    assert found.loc["hand_activity", "value"] == round(level, 1)
    # The 90th percentile of 1260 exertions is the 12 N of the blow-outs.
    assert found.loc["peak_force", "value"] == round(120 / strength, 1)
    assert found.loc["peak_force", "guide"] == round(5.6 - 0.56 * round(level, 1), 1)
    assert found.loc["over_threshold", "value"] == 0
    effort = 100 * 4212 / (1200 * 0.3 + 60 * 0.2) / strength
    acceptable = 1 - (372 / 28_800 - 1 / 28_800) ** 0.24
    assert found.loc["acceptable_effort", "value"] == round(effort / acceptable)
    # Everybody does the same, so the organisation's index is one by definition and nothing has width.
    assert found.loc["fatigue_damage", ["value", "low", "high"]].tolist() == [1, 1, 1]
    # 89.7 % of the time is rest, so the 90th percentile lies just inside the first class with any time.
    assert found.loc["load_peak", "value"] == pytest.approx(10, abs=1)
    assert found.loc["load_static", "value"] == 0
    assert found.loc["strain_index", "standing"] in {"within guide", "near guide"}
    assert set(found.loc[found["known_percent"].notna(), "known_percent"]) == {100}
    with pinned(home) as release:
        parts = release.table("exposure_part", level="organisation", part_kind="force_class")
        methods = set(release.table("method")["key"])
    shares = dict(zip(parts["part"], parts["share_percent"], strict=True))
    assert shares == {"REST": 90, "10-20": 5, "20-30": 5, "30-50": 0}
    assert set(found["method"]) <= methods


def test_the_edition_and_the_mix_are_settings_that_the_rows_name(tmp_path):
    rules = Settings.model_validate({"dose": {"hand_activity_edition": "2001", "share_women": 0.8}})
    home = tiny(tmp_path)
    make_release(home, "2026-02", now=NOW, settings=rules)
    found = dose(home)
    assert "edition 2001" in found.loc["peak_force", "basis"]
    assert found.loc["peak_force", "status"].startswith("limit published (quoted)")
    assert "80 % women" in found.loc["thumb_force", "basis"]
    assert found.loc["thumb_force", "value"] == round(2100 / weak_end(0.8))
    level = found.loc["hand_activity", "value"]
    assert found.loc["peak_force", "guide"] == pytest.approx(0.78 * (10 - level), abs=0.06)
    with pinned(home) as release:
        assert '"hand_activity_edition":"2001"' in release.edition().rules


@pytest.mark.parametrize(("unmeasured", "known"), [(10, 50), (11, None)])
def test_unmeasured_instruments_leave_a_share_unknown_and_more_than_half_hides(tmp_path, unmeasured, known):
    home = tiny(tmp_path)
    execute(
        home,
        "insert into core.instruments by name"
        " select 'P2' as instrument, * exclude (instrument, plunger_mn) from core.instruments",
    )
    execute(
        home, "update core.bouts set instrument = 'P2' where list_contains(?, person)", PEOPLE[:unmeasured]
    )
    make_release(home, "2026-02", now=NOW)
    found = dose(home).loc["strain_index"]
    if known:
        assert (found["known_percent"], found["n_band"], found["reason"]) == (known, "10-14", None)
    else:
        assert pd.isna(found["value"])
        assert "cover less than 50 %" in found["reason"]
    # What needs no force is shown all the same.
    assert dose(home).loc["hours_per_year", "value"] == 44


def test_strokes_that_do_not_fit_into_their_time_are_unknown_and_told_in_the_audit(tmp_path):
    home = tiny(tmp_path)
    execute(home, "update core.bouts set strokes = 6001 where list_contains(?, person)", PEOPLE[:4])
    make_release(home, "2026-02", now=NOW)
    assert dose(home).loc["strain_index", ["known_percent", "n_band"]].tolist() == [80, "15-19"]
    with pinned(home) as release:
        told = release.table("audit_report")
    assert told["sentence"].str.contains("4 bouts too short for their strokes").sum() == 1


def test_groups_are_hidden_exactly_where_their_hours_are(tmp_path):
    home = small_store(tmp_path)
    execute(home, "delete from core.bouts where regexp_matches(person, 'P-TWO-0[012]')")
    publish(home, FIRST)
    with pinned(home) as release:
        hours = release.table("exposure", measure="hours_per_week", period_kind="month")
        rows = release.table("dose")
    hidden = hours.set_index(["level", "unit"])["reason"]
    assert hidden["team", "P-TWO"] == hidden["team", "P-ONE"] == TOO_SMALL
    for measure in ("hours_per_year", "rest_due"):
        found = rows[rows["measure"] == measure].set_index(["level", "unit"])["reason"]
        pd.testing.assert_series_equal(found, hidden)
    assert rows.loc[rows["unit"] == "P-TWO", "value"].isna().all()
    shown = rows[rows["value"].notna()]
    assert shown["n_band"].str.split("-").str[0].astype(int).min() >= 5
    assert len(shown) > 20
    assert (shown["low"] <= shown["value"]).all()
    assert (shown["value"] <= shown["high"]).all()


@pytest.mark.parametrize(
    "wrong",
    [
        {"share_women": 1.2}, {"hand_activity_edition": "2012"}, {"strength_percentile": 0.9},
        {"peak_percent": [70, 50]}, {"mean_load_percent": 5}, {"strain_order": "hardest"}, {"unheard": 1},
    ],
)  # fmt: skip
def test_impossible_settings_are_refused(wrong):
    with pytest.raises(ValidationError):
        Settings.model_validate({"dose": wrong})
