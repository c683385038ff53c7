"""The method follows from the design, bad input is refused by name, and the verdict from the interval."""

from dataclasses import replace

import pytest

from models.change_design import (
    ADHERENCE_UNKNOWN,
    CANNOT,
    CHOSEN,
    COMMON_START,
    ONE_SERIES,
    STAGGERED,
    STEPPED,
    TeamRecord,
    decide,
)
from models.verdict import (
    CANNOT_TELL,
    HELPED,
    NO_CLEAR_CHANGE,
    WORSE,
    judge,
    more_choices,
    more_teams,
    refused,
)

OTHERS = tuple(TeamRecord(f"O{k}", 0, 35) for k in range(6))
CHANGED = TeamRecord("C1", 0, 35, start=18, changed=True, adherence=0.8)
SECOND = replace(CHANGED, team="C2")


def codes(design):
    return [(refusal.code, refusal.team) for refusal in design.refusals]


@pytest.mark.parametrize(
    ("second_start", "options", "method"),
    [
        (18, {}, COMMON_START),
        (20, {}, COMMON_START),
        (21, {}, STAGGERED),
        (21, {"random_order": True}, STEPPED),
        (18, {"chosen_on_outcome": True}, CHOSEN),
    ],
)
def test_the_method_follows_from_starts_and_choice(second_start, options, method):
    design = decide((CHANGED, replace(SECOND, start=second_start), *OTHERS), 36, **options)
    assert design.method == method
    assert design.changed == ("C1", "C2")
    assert design.others == tuple(f"O{k}" for k in range(6))
    assert design.in_reach
    assert not design.refusals


def test_the_smallest_p_is_printed_where_nothing_can_be_shown():
    design = decide((CHANGED, *OTHERS), 36)
    assert design.smallest_p == pytest.approx(1 / 7)
    assert not design.in_reach
    assert any("0.143" in words for words in design.weaker)
    staggered = decide((CHANGED, replace(SECOND, start=24), *OTHERS), 36)
    assert staggered.smallest_p == pytest.approx(1 / 56)


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        ({"start": None}, "NOT_STARTED"),
        ({"start": 36}, "START_OUTSIDE"),
        ({"start": -4}, "START_OUTSIDE"),
        ({"last": 17}, "NO_ANSWERS_AFTER"),
        ({"first": None, "last": None}, "NO_ANSWERS_AFTER"),
        ({"ended": 19, "last": 19}, "DISSOLVED"),
        ({"first": 16}, "TOO_FEW_MONTHS"),
        ({"start": 34}, "TOO_FEW_MONTHS"),
        ({"other_change": True}, "OVERLAP"),
    ],
)
def test_a_team_that_cannot_be_judged_is_refused_by_name(fault, code):
    alone = decide((replace(CHANGED, **fault), *OTHERS), 36)
    assert alone.method == CANNOT
    assert codes(alone) == [(code, "C1")]
    beside = decide((replace(CHANGED, **fault), SECOND, *OTHERS), 36)
    assert beside.changed == ("C2",)
    assert codes(beside) == [(code, "C1")]
    assert any(words.startswith("C1") and "left out" in words for words in beside.weaker)


def test_without_comparison_one_long_series_is_left():
    long = decide((CHANGED,), 36)
    assert long.method == ONE_SERIES
    assert long.smallest_p is None
    assert any("at that time" in words for words in long.weaker)
    assert codes(decide((replace(CHANGED, start=6),), 36)) == [("NO_COMPARISON", None)]
    assert codes(decide((CHANGED,), 36, chosen_on_outcome=True)) == [("CHOSEN_ALONE", None)]
    assert codes(decide((CHANGED, OTHERS[0]), 36)) == [("TOO_FEW_TEAMS", None)]


def test_chosen_teams_with_different_starts_are_refused():
    design = decide((CHANGED, replace(SECOND, start=24), *OTHERS), 36, chosen_on_outcome=True)
    assert codes(design) == [("CHOSEN_AND_STAGGERED", None)]


def test_unknown_adherence_is_stated():
    design = decide((replace(CHANGED, adherence=None), SECOND, *OTHERS), 36)
    assert ADHERENCE_UNKNOWN in design.weaker


def test_other_teams_with_a_change_or_too_short_do_not_compare():
    others = (replace(OTHERS[0], other_change=True), replace(OTHERS[1], last=19), *OTHERS[2:])
    assert decide((CHANGED, SECOND, *others), 36).others == ("O2", "O3", "O4", "O5")


@pytest.mark.parametrize(
    ("points", "low", "high", "word"),
    [
        (-9, -15, -2, HELPED),
        (9, 2, 15, WORSE),
        (-1, -4, 3, NO_CLEAR_CHANGE),
        (-3, -5, -1, NO_CLEAR_CHANGE),
        (-4, -9, -1, NO_CLEAR_CHANGE),
        (-6, -14, 2, CANNOT_TELL),
        (0, -6, 6, CANNOT_TELL),
        (-5, -9, -0.1, HELPED),
        (-9, -15, 0, CANNOT_TELL),
    ],
)
def test_the_word_follows_from_interval_and_what_matters(points, low, high, word):
    verdict = judge(points, low, high, settle="More teams")
    assert verdict.word == word
    assert verdict.sentence.lower().startswith(word)
    assert (verdict.settle != "") == (word == CANNOT_TELL)


def test_out_of_reach_overrules_the_numbers():
    verdict = judge(-9, -15, -2, out_of_reach="one team can move by chance", settle="Two teams")
    assert verdict.word == CANNOT_TELL
    assert "one team can move by chance" in verdict.sentence
    assert refused(("no start",)).points is None


def test_rounding_changes_the_print_and_not_the_word():
    verdict = judge(-8.2, -15.1, -0.4, shown=(-10, -20, 0))
    assert verdict.word == HELPED
    assert (verdict.points, verdict.low, verdict.high) == (-10, -20, 0)
    assert "-20 to just under 0" in verdict.sentence


def test_an_interval_without_its_estimate_is_refused():
    with pytest.raises(ValueError, match="interval"):
        judge(-9, -5, -2)


def test_what_would_settle_it_is_counted():
    """C(16, 2) = 120 choices; 7 teams have 35 choices of 3, 6 only 20 choices of 3 in opposite pairs."""
    assert "at 2 of these 16 teams" in more_choices(16, 1)
    assert "At least 7 teams" in more_choices(5, 1)
    # t(.975; 6) + t(.80; 6) = 2.447 + 0.906: 3 points of error reach 10, twice 5, so over four times 4 teams.
    assert "finds 10 points" in more_teams(3.0, 6, 4)
    assert "about 17 changed teams" in more_teams(3.0, 6, 4)
