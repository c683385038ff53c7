"""Words of the flags and of the weighted shares in the Month room."""

from pathlib import Path

import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from dashboards.readings.flags import flag_rows, flags, weighted
from dashboards.state import Chosen
from tests.support import fake_places, fake_release

MONTH = fake_places.MONTHS[-1]
TEAM = next(iter(fake_places.TEAMS))


def flag(word: str, topic: str, *, subject: str = "discomfort", period: str = "2026-Q3") -> dict[str, object]:
    return {
        "edition": 28, "period": period, "level": "team",
        "period_kind": "quarter" if "Q" in period else "month", "unit": TEAM, "subject": subject,
        "topic": topic, "word": word,
        "since": "2026-Q1" if word == "flagged" else None, "baseline": 30.0, "now": 60.0, "score": 8.0,
        "decision_limit": 7.0, "reason": None, "sentence": "Risen <b>.", "look_next": "Look at hours.",
    }  # fmt: skip


def release(tmp_path: Path, flag_list: list[dict], weighted_list: list[dict]) -> ReleaseFrames:
    door = fake_release.frames(fake_release.write(tmp_path / "fake.duckdb"))
    for name, rows in (("flag", flag_list), ("weighted", weighted_list)):
        if rows:
            door.frames[name] = pd.DataFrame(rows)
    return ReleaseFrames(door)


def chosen(unit: str) -> Chosen:
    return Chosen(room="Month", period=MONTH, unit=unit, region="", measure="", change="")


def test_flags_name_what_since_when_and_what_next(tmp_path):
    frames = release(tmp_path, [flag("flagged", "WRIST_HAND"), flag("not flagged", "NECK")], [])
    reading = flags(frames, chosen("organisation.ORG"))
    assert reading.sentence.startswith("1 flagged, in ")
    assert "2 series judged" in reading.sentence
    row = reading.rows.iloc[0]
    assert row["topic_words"].startswith("Discomfort: wrist")
    assert row["since_words"]
    assert row["look_next"] == "Look at hours."


def test_no_flag_says_how_many_were_judged(tmp_path):
    rows = [
        flag("not flagged", "NECK"),
        {**flag("too few answers", "KNEE"), "reason": "not shown: group too small"},
    ]
    frames = release(tmp_path, rows, [])
    reading = flags(frames, chosen(f"team.{TEAM}"))
    assert reading.sentence.startswith("No flag in ")
    assert "1 series judged, 1 with too few answers" in reading.sentence


@pytest.mark.parametrize("rows", [[], [{**flag("too few answers", "KNEE"), "reason": "x"}]])
def test_nothing_judged_is_said_not_left_blank(tmp_path, rows):
    frames = release(tmp_path, rows, [])
    assert "No flag can be given" in flags(frames, chosen("organisation.ORG")).notice


def test_other_teams_flags_do_not_show_for_a_team(tmp_path):
    other = [
        u.code
        for u in ReleaseFrames(fake_release.frames(fake_release.write(tmp_path / "x.duckdb"))).units("team")
    ]
    rows = [{**flag("flagged", "NECK"), "unit": code} for code in other]
    frames = release(tmp_path, rows, [])
    assert set(flag_rows(frames, chosen(f"team.{TEAM}"))["unit"]) == {TEAM}


def test_weighted_share_says_how_far_it_moves(tmp_path):
    rows = [
        {"edition": 28, "period": MONTH, "level": "organisation", "unit": "ORG", "region": region,
         "percent": 30, "weighted_percent": w, "low": 25, "high": 38, "reason": None}
        for region, w in (("NECK", 31), ("WRIST_HAND", 33))
    ]  # fmt: skip
    frames = release(tmp_path, [], rows)
    reading = weighted(frames, chosen("organisation.ORG"))
    assert "no region by more than 3 points" in reading.sentence
    assert "wrist" in reading.sentence


def test_no_weighted_share_is_said(tmp_path):
    frames = release(tmp_path, [], [])
    assert weighted(frames, chosen("organisation.ORG")).notice
