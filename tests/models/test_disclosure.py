"""Bands, keyed rounding and percentages."""

import hashlib
import hmac
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.disclosure import (
    Band,
    band,
    band_text,
    compatible_counts,
    percent_of,
    percent_step,
    round_count,
    rounding_draw,
)

KEY = bytes(range(32))
PEOPLE = [f"token-{k}" for k in range(12)]


def test_bands_are_five_wide_for_a_team_and_wider_for_many():
    found = [str(band(n)) for n in (0, 4, 5, 9, 10, 14, 15, 49, 50, 99, 100, 199, 200, 499, 500, 1234)]
    assert found == [
        "0-4", "0-4", "5-9", "5-9", "10-14", "10-14", "15-19", "45-49", "50-59", "90-99", "100-119",
        "180-199", "200-249", "450-499", "500-599", "1200-1299",
    ]  # fmt: skip


@given(st.integers(0, 5000))
def test_every_headcount_lies_in_its_band_and_only_there(n):
    found = band(n)
    assert found.low <= n <= found.high
    assert band(found.low) == band(found.high) == found
    assert band(found.high + 1).low == found.high + 1


def test_a_negative_headcount_is_refused():
    with pytest.raises(ValueError, match="negative"):
        band(-1)


def test_below_the_floor_there_is_one_word_for_all():
    assert {band_text(n, 10) for n in range(10)} == {"under 10"}
    assert band_text(10, 10) == "10-14"
    assert band_text(4) == "under 5"
    assert band_text(5) == str(Band(5, 9))


def test_the_draw_is_the_hmac_of_contributors_region_and_kind():
    # RFC 2104 through the standard library, message written out by hand.
    message = "\x1f".join(sorted(PEOPLE)) + "\x1eNECK\x1ediscomfort/month"
    digest = hmac.new(KEY, message.encode(), hashlib.sha256).digest()
    whole = int.from_bytes(digest, "big")
    assert rounding_draw(KEY, PEOPLE, "NECK", "discomfort/month") == whole * 2**53 // 2**256


def test_the_draw_depends_on_who_not_on_order_and_on_nothing_else_left_out():
    same = rounding_draw(KEY, PEOPLE, "NECK", "m")
    assert rounding_draw(KEY, reversed(PEOPLE), "NECK", "m") == same
    others = {
        rounding_draw(KEY, PEOPLE[1:], "NECK", "m"),
        rounding_draw(KEY, PEOPLE, "KNEE", "m"),
        rounding_draw(KEY, PEOPLE, "NECK", "q"),
        rounding_draw(KEY[::-1], PEOPLE, "NECK", "m"),
    }
    assert same not in others
    assert len(others) == 4


def test_labels_cannot_be_shifted_between_the_parts_of_the_message():
    assert rounding_draw(KEY, ["a"], "b", "c") != rounding_draw(KEY, ["a", "b"], "c", "")
    for bad in ("a\x1fb", "a\x1eb"):
        with pytest.raises(ValueError, match="separator"):
            rounding_draw(KEY, [bad], "NECK", "m")
        with pytest.raises(ValueError, match="separator"):
            rounding_draw(KEY, ["a"], bad, "m")


def test_a_short_key_or_a_repeated_contributor_is_refused():
    with pytest.raises(ValueError, match="32 bytes"):
        rounding_draw(KEY[:31], PEOPLE, "NECK", "m")
    with pytest.raises(ValueError, match="twice"):
        rounding_draw(KEY, ["a", "a"], "NECK", "m")


@pytest.mark.parametrize(
    ("count", "n", "u", "expected"),
    [
        (12, 20, Fraction(0), 15),
        (12, 20, Fraction(2, 5) - Fraction(1, 2**53), 15),  # u < 2/5 goes up
        (12, 20, Fraction(2, 5) + Fraction(1, 2**53), 10),
        (10, 20, Fraction(0), 10),  # a multiple stays
        (12, 14, Fraction(0), 10),  # 15 would exceed n
        (0, 12, Fraction(0), 0),
        (4, 12, Fraction(0), 5),
        (15, 15, Fraction(0), 15),
    ],
)
def test_rounding_by_hand(count, n, u, expected):
    assert round_count(count, n, int(u * 2**53)) == expected


@given(st.integers(0, 300), st.integers(0, 300), st.integers(0, 2**53 - 1), st.sampled_from([2, 3, 5, 10]))
def test_a_rounded_count_never_exceeds_n_and_stays_within_the_compatible_range(a, b, draw, base):
    count, n = min(a, b), max(a, b)
    published = round_count(count, n, draw, base)
    assert published % base == 0
    assert 0 <= published <= n
    least, most = compatible_counts(published, n, base)
    assert least <= count <= most


@given(st.integers(0, 60), st.integers(0, 60), st.sampled_from([3, 5]))
def test_the_compatible_range_is_exactly_what_some_draw_can_give(a, b, base):
    # Draws at the lower edge of each of the base's classes meet every case the rule tells apart.
    count, n = min(a, b), max(a, b)
    edges = [-(-k * 2**53 // base) for k in range(base)]
    published = round_count(count, n, edges[0], base)
    reached = {c for c in range(n + 1) for u in edges if round_count(c, n, u, base) == published}
    least, most = compatible_counts(published, n, base)
    assert reached == set(range(least, most + 1))


def test_rounding_is_unbiased_over_random_keys():
    # 4,000 keys: the mean of values 10 or 15 with chance 2/5 has standard error 5 * sqrt(.24 / 4000) = .039;
    # four of them are allowed, a chance of 6 in 100,000 for a right rule.
    keys = [hashlib.sha256(f"key {k}".encode()).digest() for k in range(4000)]
    draws = [rounding_draw(key, PEOPLE, "NECK", "m") for key in keys]
    mean = sum(round_count(12, 40, draw) for draw in draws) / len(draws)
    assert mean == pytest.approx(12, abs=4 * 0.039)


def test_the_same_people_and_count_give_the_same_number():
    numbers = {
        round_count(7, 12, rounding_draw(KEY, list(order), "NECK", "m")) for order in (PEOPLE, PEOPLE[::-1])
    }
    assert len(numbers) == 1


@pytest.mark.parametrize(("count", "n", "base"), [(-1, 5, 5), (6, 5, 5), (1, 5, 1)])
def test_impossible_counts_are_refused(count, n, base):
    with pytest.raises(ValueError, match=r"count|base"):
        round_count(count, n, 0, base)


@pytest.mark.parametrize(("published", "n"), [(3, 12), (-5, 12), (15, 12)])
def test_what_no_rounding_gives_is_refused(published, n):
    with pytest.raises(ValueError, match="no multiple"):
        compatible_counts(published, n)


def test_percentages_have_five_point_steps_below_a_hundred_people():
    assert [percent_step(n) for n in (1, 99, 100, 5000)] == [5, 5, 1, 1]
    # 5/12 = 41.7 -> 40; 10/12 = 83.3 -> 85; 5/99 = 5.05 -> 5; 30/123 = 24.4 -> 24; half up: 5/200 = 2.5 -> 3.
    assert [percent_of(v, n) for v, n in ((5, 12), (10, 12), (5, 99), (30, 123), (5, 200))] == [
        40,
        85,
        5,
        24,
        3,
    ]
    assert percent_of(0, 10) == 0
    assert percent_of(10, 10) == 100
    assert percent_of(1, 1) == 100
    for bad in ((0, 0), (1, 0), (-1, 5), (6, 5)):
        with pytest.raises(ValueError, match="percentage"):
            percent_of(*bad)
