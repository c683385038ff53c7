"""Yearly hours, spells, micro-breaks and thumb force against the working rules of the trade."""

import numpy as np
import pytest

from models.guides import SPELL, YEARLY_HOURS, standing
from models.micro_breaks import MicroBreakRule, micro_break_adherence, spells
from models.pace import thumb_force_standing, yearly_hours

KGF = 9.80665


def random_day(rng: np.random.Generator, bouts: int = 12) -> tuple[np.ndarray, np.ndarray]:
    """Return the starts and ends of a day's bouts, gaps of a few minutes between them."""
    gaps, lengths = rng.integers(0, 9, bouts), rng.integers(1, 25, bouts)
    ends = np.cumsum(gaps + lengths).astype(float)
    return ends - lengths, ends


def test_yearly_hours_against_300() -> None:
    # Bjorksten, Almby & Jansson 1994, Appl Ergon 25:88: 300 h a year.
    year = yearly_hours([6.0, 7.0], 1)
    assert year == pytest.approx([264, 308])
    assert [standing(hours, YEARLY_HOURS) for hours in year] == ["near guide", "over guide"]
    assert yearly_hours(12, 2) == yearly_hours(6, 1)
    assert np.isnan(yearly_hours([np.nan, 1], [1, np.nan])).all()


def test_a_bout_of_35_minutes_is_flagged_and_one_of_15_is_not() -> None:
    # Common practice, no source: 20 min is the longest pipetting without a break.
    words = [standing(float(spells([0], [minutes]).elapsed[0]), SPELL) for minutes in (15, 35)]
    assert words == ["within guide", "over guide"]


def test_a_gap_of_three_minutes_is_a_rest_and_a_shorter_one_is_not() -> None:
    assert spells([0, 13], [10, 20]).elapsed.tolist() == [10, 7]
    joined = spells([0, 12.9], [10, 20])
    assert joined.elapsed.tolist() == [20]
    assert joined.working == pytest.approx([17.1])


def test_adherence_of_a_worked_day() -> None:
    # 40 min with a pause of 1 min, 20 min of rest, 35 min: of 74 min worked, 20 + 20 come within 20 min of a
    # rest, 29 + 30 within 30; a rest was due once in each spell.
    found = micro_break_adherence([0, 21, 60], [20, 40, 95])
    assert found.share_within_early == pytest.approx(40 / 74)
    assert found.share_within_late == pytest.approx(59 / 74)
    assert (found.missed, found.micro_rests, found.long_rests) == (2, 0, 1)
    assert (found.spells_over_guide, found.spells_over_an_hour) == (2, 0)


def test_rests_of_three_to_five_minutes_are_micro_breaks_both_ends_included() -> None:
    # Gaps of 2.5, 3, 5 and 5.5 min between bouts of 10 min.
    starts = np.array([0, 12.5, 25.5, 40.5, 56])
    found = micro_break_adherence(starts, starts + 10)
    assert (found.micro_rests, found.long_rests) == (2, 1)


def test_keeping_to_the_rule_is_full_adherence() -> None:
    starts = np.arange(0, 240, 24.0)
    found = micro_break_adherence(starts, starts + 20)
    assert (found.share_within_early, found.share_within_late) == (1, 1)
    assert (found.missed, found.micro_rests, found.long_rests, found.spells_over_guide) == (0, 9, 0, 0)


def test_adding_work_never_shortens_spells_or_lowers_time_late_in_a_spell() -> None:
    rng = np.random.default_rng(1)
    for _ in range(200):
        starts, ends = random_day(rng)
        gone = int(rng.integers(starts.size))
        fewer = np.delete(starts, gone), np.delete(ends, gone)
        assert spells(starts, ends).elapsed.max() >= spells(*fewer).elapsed.max()
        late = [
            (1 - micro_break_adherence(*day).share_within_early) * (day[1] - day[0]).sum()
            for day in ((starts, ends), fewer)
        ]
        assert late[0] >= late[1] - 1e-9


def test_spells_hold_all_work_and_do_not_know_the_origin() -> None:
    rng = np.random.default_rng(2)
    for _ in range(50):
        starts, ends = random_day(rng)
        found = spells(starts, ends)
        assert found.working.sum() == pytest.approx((ends - starts).sum())
        assert (found.elapsed >= found.working).all()
        assert spells(starts + 1440, ends + 1440).elapsed == pytest.approx(found.elapsed)


def test_another_rule_can_be_used() -> None:
    assert spells([0, 13], [10, 20], rule=MicroBreakRule(least_rest=4)).elapsed.tolist() == [20]


def test_no_work_has_no_adherence() -> None:
    assert spells([], []).elapsed.size == 0
    assert np.isnan(micro_break_adherence([], []).share_within_late)


def test_four_kilograms_against_two_is_over_and_the_two_rules_agree() -> None:
    # Common practice, no source: 4 kg is usual of manual instruments, 2 kg the ceiling, 30 % of maximum the
    # effort; 7 kg is what a typical woman's key pinch reaches.
    usual = thumb_force_standing(4 * KGF, 7 * KGF)
    assert (usual.of_maximum, usual.of_ceiling) == ("over guide", "over guide")
    ceiling = thumb_force_standing(2 * KGF, 7 * KGF)
    assert ceiling.percent_of_maximum == pytest.approx(28.57, abs=0.01)
    assert (ceiling.of_maximum, ceiling.of_ceiling) == ("near guide", "near guide")


def test_unmeasured_force_or_strength_has_no_standing() -> None:
    nan = float("nan")
    assert thumb_force_standing(nan, 70).of_ceiling is None
    unknown = thumb_force_standing(25, nan)
    assert (unknown.of_maximum, unknown.of_ceiling) == (None, "over guide")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: spells([0, 5], [10, 20]), "bout 1 starts before the one before it ends"),
        (lambda: spells([0, 20], [10, 20]), "bout 1 does not last"),
        (lambda: spells([0, np.nan], [10, 20]), "bout 1 has no start"),
        (lambda: micro_break_adherence([0], [1, 2]), "one end for each start"),
        (lambda: yearly_hours(200, 1), "pipetting hours a week is 200"),
        (lambda: yearly_hours(1, 0), "weeks seen is 0"),
    ],
)
def test_message_names_value_place_and_remedy(call, message) -> None:
    with pytest.raises(ValueError, match=message):
        call()
