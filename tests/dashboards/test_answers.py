"""The first screen's words: every number in them is a row of the release, and no verdict is drawn."""

import dataclasses

import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from dashboards.readings import changes, load, month, quality
from dashboards.readings.base import Answer
from dashboards.state import Chosen
from tests.support import fake_places, fake_release

TODAY = pd.Timestamp("2026-11-25 12:00")


def with_(chosen: Chosen, **more: str) -> Chosen:
    return dataclasses.replace(chosen, **more)


def fact(answer: Answer, name: str) -> tuple[str, str]:
    return next((f.value, f.behind) for f in answer.facts if f.name == name)


def test_month_says_what_moved(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    answer = month.answer(frames, chosen)
    assert answer.headline == "Discomfort is rising in shoulder, easing in wrist and hand."
    ((steady,),) = sql(
        "select count(*) from trend where unit = 'ORG' and period = '2026-10' and word = 'steady'"
    )
    assert f"{steady} of 9 body regions are steady" in answer.lead


def test_month_numbers_are_rows(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    answer = month.answer(frames, chosen)
    ((percent, low, high),) = sql(
        "select percent, low, high from health_average where unit = 'ORG' and period = '2026-10'"
    )
    assert fact(answer, "People with discomfort") == (
        f"{percent} %",
        f"{low} to {high} % (95 % interval), average of 9 regions",
    )
    ((answered, invited, share),) = sql(
        "select answered_band, invited_band, percent from response where unit = 'ORG' and period = '2026-10'"
    )
    assert fact(answer, "Answered") == (f"{share} %", f"{answered} of {invited} people")
    assert fact(answer, "Changes under way") == ("2", "1 complete, 1 planned")


def test_month_of_a_team_speaks_of_the_last_quarter_that_is_over(
    frames: ReleaseFrames, chosen: Chosen
) -> None:
    """October lies in the fourth quarter, which is not over: the third is the newest a team may have."""
    answer = month.answer(frames, with_(chosen, unit="team.QC1"))
    assert "3rd quarter 2026" in answer.headline
    assert "by quarter, never by month" in answer.lead


def test_a_hidden_team_gets_the_reason_and_no_number(frames: ReleaseFrames, chosen: Chosen) -> None:
    answer = month.answer(frames, with_(chosen, unit="team.TINY"))
    assert answer.headline == "Not shown: group too small."
    assert fact(answer, "People with discomfort") == ("\u2013", fake_places.SMALL)
    assert fact(answer, "Answered")[0] == "\u2013"


def test_the_first_year_has_nothing_to_compare_with(frames: ReleaseFrames, chosen: Chosen) -> None:
    answer = month.answer(frames, with_(chosen, period="2024-09"))
    assert answer.headline == "No comparison with last year yet."


def test_too_few_answers_everywhere_is_said_as_such(door: fake_release.FrameDoor, chosen: Chosen) -> None:
    door.frames["trend"]["word"] = "too few answers"
    answer = month.answer(ReleaseFrames(door), chosen)
    assert answer.headline == "Too few answers to say what moved."
    assert "0 of 9" not in answer.lead


def test_load_names_what_is_over_guide(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    answer = load.answer(frames, with_(chosen, unit="team.QC1"))
    over = sql(
        "select measure from exposure where unit = 'QC1' and period = '2026-10' and standing = 'over guide'"
    )
    assert answer.headline.startswith("Over guide: ")
    assert len(answer.headline.removeprefix("Over guide: ").replace(" and ", ", ").split(", ")) == len(over)
    assert "not a limit of safety" in answer.lead


def test_load_of_a_hidden_team(frames: ReleaseFrames, chosen: Chosen) -> None:
    answer = load.answer(frames, with_(chosen, unit="team.PUR"))
    assert answer.headline == "Not shown: one or two people do most of it."


@pytest.mark.parametrize("change", ["C1", "C2", "C3", "C4"])
def test_changes_without_enough_behind_them_are_not_judged(
    frames: ReleaseFrames, chosen: Chosen, change: str
) -> None:
    answer = changes.answer(frames, with_(chosen, change=change))
    words = f"{answer.headline} {answer.lead}".lower()
    assert "cannot tell" in words
    assert not any(word in words for word in ("worked well", "effective", "improved", "reduced", "caused"))


def test_a_change_placed_on_the_outcome_carries_the_warning(frames: ReleaseFrames, chosen: Chosen) -> None:
    placed = changes.answer(frames, with_(chosen, change="C1")).lead
    other = changes.answer(frames, with_(chosen, change="C2")).lead
    assert "a fall afterwards is expected without any effect" in placed
    assert "a fall afterwards" not in other


def test_data_accounts_for_every_row(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    answer = quality.answer(frames, chosen, TODAY)
    ((rows, accepted, aside),) = sql(
        "select sum(rows_in), sum(rows_accepted), sum(rows_set_aside) from data_quality"
    )
    assert rows == accepted + aside
    for number in (rows, accepted, aside):
        assert f"{int(number):,}".replace(",", "\u2009") in answer.lead
    assert "has not passed the re-identification audit yet" in answer.lead
    assert fact(answer, "Edition") == ("No. 28", "October 2026, 3 weeks old")


def test_a_failed_check_comes_before_everything_else(door: fake_release.FrameDoor) -> None:
    door.frames["audit_report"].loc[1, ["passed", "sentence"]] = [False, "A group is too small."]
    sentence, _ = quality.audit_words(ReleaseFrames(door))
    assert sentence == "1 of 2 checks failed: A group is too small."


@pytest.mark.parametrize(
    ("made", "words"),
    [("2026-11-25", "made today"), ("2026-11-24", "1 day old"), ("2026-11-04", "3 weeks old")],
)
def test_age_in_words(frames: ReleaseFrames, made: str, words: str) -> None:
    edition = dataclasses.replace(frames.edition(), created_at=pd.Timestamp(made))
    assert quality.age_words(edition, TODAY) == words


@pytest.mark.parametrize("word", ["anonymous", "compliant", "secure", "cannot be re-identified"])
def test_promises_nothing_it_cannot_keep(word: str) -> None:
    assert not any(word in text.lower() for text in (*quality.PROMISED, *quality.NOT_PROMISED))
