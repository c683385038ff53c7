"""The verdict on a change is shown as published: words, points, method, and what would settle it."""

import pandas as pd
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.figures import rows as rows_figure
from dashboards.readings import changes, effect
from dashboards.state import Chosen
from tests.support import fake_release

theme.use()

HELPED = {
    "edition": 28, "change": "C2", "title": "Eight-channel heads for dilution series", "region": "WRIST_HAND",
    "changed_teams": "SEQ, VIR", "other_teams": 5, "method": "common start", "method_words": "Method words",
    "periods": "2024-11 to 2026-04", "changed_band": "45-49", "others_band": "120-139", "word": "helped",
    "sentence": "Helped. Discomfort fell by 10 points.", "points": -10, "low": -20, "high": 0,
    "meaningful": 5.0, "expected_points": 8.0, "smallest_p": 1 / 21, "checks": "Checks in words.",
    "weaker": "Adherence is not known", "cost": "One month cost 40.", "settle": "", "reason": None,
}  # fmt: skip
UNTOLD = {
    **HELPED, "region": "NECK", "word": "cannot tell", "sentence": "Cannot tell: too few people on a side.",
    "points": None, "low": None, "high": None, "settle": "More people",
    "reason": "not shown: group too small",
}  # fmt: skip


@pytest.fixture
def judged(plain_file) -> ReleaseFrames:
    door = fake_release.frames(plain_file)
    door.frames["change_effect"] = pd.DataFrame([HELPED, UNTOLD])
    return ReleaseFrames(door)


def of(chosen: Chosen, change: str) -> Chosen:
    return Chosen(**{**chosen.__dict__, "change": change})


def test_the_first_screen_tells_the_verdict_of_each_region(judged, chosen):
    answer = changes.answer(judged, of(chosen, "C2"))
    lead = answer.lead
    assert answer.headline.endswith(": helped in wrist and hand, cannot tell in neck.")
    assert changes.answer(judged, of(chosen, "C3")).headline.endswith(": cannot tell.")
    assert "Helped. Discomfort fell by 10 points." in lead
    assert "Neck: Cannot tell: too few people on a side." in lead
    assert changes.answer(judged, of(chosen, "C3")).lead == effect.NOT_JUDGED


def test_the_figure_draws_published_numbers_with_their_word(judged, chosen):
    reading = effect.effect(judged, of(chosen, "C2"))
    frame = reading.plot.frame
    assert frame["value"].tolist() == [-10.0]
    assert frame["printed"].iloc[0].endswith("helped")
    assert "45-49 people" in reading.foot
    assert "5 other teams" in reading.foot
    assert "neck cannot tell" in reading.sentence
    assert rows_figure.draw(reading.plot) is not None


def test_the_evidence_names_method_reach_checks_and_what_would_settle_it(judged, chosen):
    reading = effect.evidence(judged, of(chosen, "C2"))
    row = reading.rows.iloc[0]
    assert row["reach_words"] == "smallest p 0.048. Adherence is not known"
    assert reading.rows["settle"].tolist() == ["", "More people"]
    assert "8 points fewer" in reading.sentence
    assert {column.name for column in reading.columns} <= set(reading.rows)


def test_without_a_statement_or_an_estimate_nothing_is_drawn(judged, plain_file, chosen):
    assert effect.effect(judged, of(chosen, "C3")).plot is None
    door = fake_release.frames(plain_file)
    door.frames["change_effect"] = pd.DataFrame([UNTOLD])
    reading = effect.effect(ReleaseFrames(door), of(chosen, "C2"))
    assert reading.plot is None
    assert reading.sentence == "Cannot tell: too few people on a side."
