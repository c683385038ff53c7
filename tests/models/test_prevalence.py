"""Intervals of proportions and differences, also of rounded counts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, poisson

from models.disclosure import round_count
from models.prevalence import (
    Interval,
    newcombe,
    newcombe_of_rounded,
    outward_percent,
    wilson,
    wilson_of_rounded,
)
from models.rates import garwood, rate


@given(st.integers(1, 400), st.integers(0, 400), st.sampled_from([0.8, 0.95, 0.998]))
def test_wilson_agrees_with_scipy(n, c, level):
    count = min(n, c)
    other = binomtest(count, n).proportion_ci(level, method="wilson")
    found = wilson(count, n, level)
    assert (found.low, found.high) == pytest.approx((other.low, other.high), abs=1e-12)


def test_nobody_asked_gives_the_whole_range():
    assert wilson(0, 0) == Interval(0, 1)
    assert newcombe(0, 0, 3, 10) == Interval(-1, 1)
    assert newcombe(3, 10, 0, 0) == Interval(-1, 1)


@pytest.mark.parametrize("bad", [(-1, 5), (6, 5), (0, -1)])
def test_impossible_counts_are_refused(bad):
    with pytest.raises(ValueError, match="outside"):
        wilson(*bad)
    with pytest.raises(ValueError, match="outside"):
        newcombe(1, 2, *bad)


@pytest.mark.parametrize("level", [0, 1, -0.5, 2])
def test_an_impossible_level_is_refused(level):
    with pytest.raises(ValueError, match="level"):
        wilson(1, 2, level)
    with pytest.raises(ValueError, match="level"):
        garwood(1, level)


@given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60))
def test_differences_are_finite_hold_the_estimate_and_mirror(a, b, c, d):
    count_1, n_1, count_0, n_0 = min(a, b), max(a, b), min(c, d), max(c, d)
    found = newcombe(count_1, n_1, count_0, n_0)
    assert -1 <= found.low <= found.high <= 1
    mirrored = newcombe(count_0, n_0, count_1, n_1)
    assert (mirrored.low, mirrored.high) == pytest.approx((-found.high, -found.low), abs=1e-12)
    if n_1 and n_0:
        assert found.low - 1e-12 <= count_1 / n_1 - count_0 / n_0 <= found.high + 1e-12


@given(st.integers(1, 80), st.integers(0, 80), st.integers(0, 2**53 - 1))
def test_the_widened_interval_holds_that_of_the_true_count(n, c, draw):
    count = min(n, c)
    wide = wilson_of_rounded(round_count(count, n, draw), n)
    plain = wilson(count, n)
    assert wide.low <= plain.low <= plain.high <= wide.high


@given(
    st.integers(20, 60),
    st.integers(0, 60),
    st.integers(20, 60),
    st.integers(0, 60),
    st.integers(0, 2**53 - 1),
)
def test_the_widened_difference_holds_that_of_the_true_counts(n_1, a, n_0, b, draw):
    count_1, count_0 = min(n_1, a), min(n_0, b)
    wide = newcombe_of_rounded(round_count(count_1, n_1, draw), n_1, round_count(count_0, n_0, draw), n_0)
    plain = newcombe(count_1, n_1, count_0, n_0)
    assert wide.low <= plain.low <= plain.high <= wide.high


def test_outward_rounding_never_narrows():
    assert outward_percent(Interval(0.121, 0.379)) == (12, 38)
    assert outward_percent(Interval(0.121, 0.379), 5) == (10, 40)
    assert outward_percent(Interval(-0.121, 0.0), 5) == (-15, 0)
    # 0.07 * 100 is 7.000000000000001 in binary; it must not become 8.
    assert outward_percent(Interval(0.07, 0.07)) == (7, 7)


@given(st.integers(0, 3000), st.sampled_from([0.8, 0.95, 0.998]))
def test_garwood_limits_have_the_tails_they_promise(count, level):
    # Definition of the exact limits, through scipy's Poisson distribution instead of chi-square.
    low, high = garwood(count, level)
    assert poisson.cdf(count, high) == pytest.approx((1 - level) / 2, rel=1e-6)
    if count:
        assert poisson.sf(count - 1, low) == pytest.approx((1 - level) / 2, rel=1e-6)
    else:
        assert low == 0


def test_rates_without_hours_or_with_an_uncertain_count():
    assert rate(3, 0) is None
    found = rate(5, 200_000, least=1, most=9)
    assert found is not None
    assert found.value == 5
    assert found.low == pytest.approx(garwood(1)[0])
    assert found.high == pytest.approx(garwood(9)[1])
    assert not math.isnan(found.per)
    with pytest.raises(ValueError, match="negative"):
        garwood(-1)
