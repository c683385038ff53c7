"""The year in the Month room: the organisation's statements, and teams outside the spread of all teams."""

from pathlib import Path

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.readings.year import spread, year
from dashboards.state import Chosen
from tests.support import fake_places, fake_release

FIRST, SECOND = tuple(fake_places.TEAMS)[:2]


def release(tmp_path: Path, funnel: list[dict], figures: list[dict]) -> ReleaseFrames:
    door = fake_release.frames(fake_release.write(tmp_path / "fake.duckdb"))
    for name, rows in (("funnel", funnel), ("year_figure", figures)):
        if rows:
            door.frames[name] = pd.DataFrame(rows)
    return ReleaseFrames(door)


def chosen(unit: str = "organisation.ORG", period: str = "2026-10") -> Chosen:
    return Chosen(room="Month", period=period, unit=unit, region="", measure="", change="")


def team(unit: str, standing: str, region: str = "NECK", reason: str | None = None) -> dict[str, object]:
    hidden = reason is not None
    return {
        "edition": 20, "year": 2025, "level": "team", "unit": unit, "region": region,
        "percent": None if hidden else 55, "low": None if hidden else 10, "high": None if hidden else 45,
        "target": None if hidden else 25, "standing": standing, "sentence": "Above.", "reason": reason,
    }  # fmt: skip


def figure(region: str, kind: str, value: float | None, word: str = "", reason: str | None = None) -> dict:
    low, high = (None, None) if value is None else (value - 1, value + 1)
    return {
        "edition": 20, "year": 2025, "level": "organisation", "unit": "ORG", "region": region, "kind": kind,
        "value": value, "low": low, "high": high, "value_unit": "points", "n_band": "180-199", "word": word,
        "sentence": f"About {kind}.", "reason": reason,
    }  # fmt: skip


def test_only_teams_outside_the_spread_are_named_and_in_the_order_of_names(tmp_path):
    rows = [team(FIRST, "within the spread"), team(SECOND, "higher"), team(FIRST, "lower", "KNEE")]
    frames = release(tmp_path, rows, [])
    reading = spread(frames, chosen())
    assert "2 teams and 3 of their regions compared" in reading.sentence
    assert list(reading.rows["name"]) == sorted(reading.rows["name"])
    assert set(reading.rows["standing"]) == {"higher", "lower"}
    assert reading.rows["spread_words"].iloc[0] == "10 to 45"
    assert len(spread(frames, chosen(f"team.{FIRST}")).rows) == 2, "a team sees all its regions"
    assert spread(frames, chosen(period="2025-11")).notice, "the year is not over in November"


def test_nothing_outside_and_nothing_compared_are_said(tmp_path):
    calm = spread(release(tmp_path, [team(FIRST, "within the spread")], []), chosen())
    assert "no team outside the spread" in calm.sentence
    few = "fewer than five teams with enough published quarters; no comparison is made"
    (tmp_path / "b").mkdir()
    none = spread(release(tmp_path / "b", [team(FIRST, "too few answers", reason=few)], []), chosen())
    assert few in none.notice


def test_the_year_prints_numbers_words_and_reasons_and_never_nan(tmp_path):
    rows = [
        figure("NECK", "new onset", 4.0), figure("NECK", "mean change", -0.2, "less than matters"),
        figure("NECK", "age", None, reason="not shown: fewer than 100 people"),
        figure("KNEE", "new onset", None, reason="not shown: too little time at risk"),
        figure("ALL", "season", None, "no clear season"),
        figure("ALL", "leavers", 3.0, "no clear difference"),
    ]  # fmt: skip
    reading = year(release(tmp_path, [], rows), chosen())
    assert reading.sentence == "2025. About season. About leavers."
    neck, knee = reading.rows.to_dict("records")
    assert neck["onset"] == "4 (3 to 5)"
    assert neck["change"].endswith("less than matters")
    assert neck["age"] == "not shown: fewer than 100 people"
    assert knee == {"region": "KNEE", "onset": "not shown: too little time at risk", "change": "\u2013",
                    "age": "\u2013"}  # fmt: skip
    assert "nan" not in str(reading.rows.to_dict())
    (tmp_path / "b").mkdir()
    assert year(release(tmp_path / "b", [], rows), chosen(period="2025-11")).notice
