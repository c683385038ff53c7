"""Guides against the figures they are known by, and the three words."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models import force, guides


def test_ejection_of_traditional_pipettes_is_over_guide():
    # Common practice, no source: ejection of about 4 kgf against a ceiling of about 2 kgf.
    assert guides.standing(4, guides.EJECTION_FORCE) == "over guide"
    assert (
        guides.standing(force.newtons(force.millinewtons(4, "kgf")), guides.PEAK_THUMB_FORCE) == "over guide"
    )


@pytest.mark.parametrize(
    ("minutes", "word"),
    [(15, "within guide"), (16, "within guide"), (17, "near guide"), (20, "near guide"), (35, "over guide")],
)
def test_spell_without_a_break(minutes, word):
    # Common practice, no source: at most 20 min on end; 35 min is flagged, 15 min is not.
    assert guides.standing(minutes, guides.SPELL) == word


def test_yearly_hours_spread_over_days_and_weeks():
    # Bjorksten, Almby & Jansson 1994 give 300 h a year; 300/220 and 300/230 by hand to two decimals.
    assert round(guides.daily_hours(300, 220).value, 2) == 1.36
    assert round(guides.daily_hours(300, 230).value, 2) == 1.30
    assert round(guides.weekly_hours(300, 44).value, 1) == 6.8


def test_thumb_guide_is_two_kilogram_force():
    assert force.millinewtons(2, "kgf") == round(guides.PEAK_THUMB_FORCE.value * 1000)


def test_two_kilogram_force_agrees_with_thirty_percent_of_a_typical_pinch():
    # Common practice, no source: key pinch of about 7 kgf (women); 2/7 is about 29 %, under the 30 % rule.
    share = 100 * guides.EJECTION_FORCE.value / 7
    assert round(share) == 29
    assert guides.standing(share, guides.KEPT_UP_EFFORT) == "near guide"


def test_fewer_rests_are_more_load():
    words = [guides.standing(rests, guides.MICRO_RESTS) for rests in (3.0, 2.5, 2.4, 2.0, 1.9)]
    assert words == ["within guide", "within guide", "near guide", "near guide", "over guide"]


def test_unknown_values_have_no_standing():
    assert guides.standing(None, guides.SPELL) is None
    assert guides.standing(float("nan"), guides.SPELL) is None


@pytest.mark.parametrize("fraction", [0, 1, -0.5, 1.5])
def test_near_fraction_must_lie_between(fraction):
    with pytest.raises(ValueError, match="near_fraction"):
        guides.standing(1, guides.SPELL, fraction)


@pytest.mark.parametrize("spread", [guides.daily_hours, guides.weekly_hours])
@pytest.mark.parametrize(("hours", "parts"), [(0, 220), (300, 0), (300, -1), (float("nan"), 220)])
def test_nothing_to_spread_is_refused(spread, hours, parts):
    with pytest.raises(ValueError, match="both must be above zero"):
        spread(hours, parts)


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(0.01, 0.99))
def test_more_load_never_stands_better(one, other, fraction):
    order = ["within guide", "near guide", "over guide"]
    low, high = sorted((one, other))
    for guide, better, worse in ((guides.SPELL, low, high), (guides.MICRO_RESTS, high, low)):
        words = [guides.standing(value, guide, fraction) for value in (better, worse)]
        assert order.index(words[0]) <= order.index(words[1])


def test_every_guide_names_where_it_comes_from():
    named = [value for value in vars(guides).values() if isinstance(value, guides.Guide)]
    assert len(named) >= 7
    statuses = {guides.PUBLISHED, guides.COMMON_PRACTICE, guides.COMPUTED}
    for guide in [*named, guides.weekly_hours(), guides.daily_hours()]:
        assert guide.source
        assert guide.status in statuses
        with pytest.raises(dataclasses.FrozenInstanceError):
            guide.value = 0.0
