"""Published values of intervals of proportions, differences and rates."""

import pytest

from models.prevalence import newcombe, wilson
from models.rates import garwood, rate


@pytest.mark.parametrize(
    ("count", "n", "low", "high"),
    [
        # Newcombe 1998, Stat Med 17:857, Table I, method 3 (score, no continuity correction).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_newcombe_table_1(count, n, low, high):
    interval = wilson(count, n)
    assert interval.low == pytest.approx(low, abs=5e-5)
    assert interval.high == pytest.approx(high, abs=5e-5)


def test_wilson_public_health_england():
    # Public Health England, "Commonly used public health statistics and their confidence intervals",
    # test workbook: 1045 of 5000 at 95 %, and 65 of 100 at 99.8 %.
    interval = wilson(1045, 5000)
    assert (interval.low, interval.high) == pytest.approx((0.197955, 0.220491), abs=5e-7)
    wide = wilson(65, 100, level=0.998)
    assert (wide.low, wide.high) == pytest.approx((0.495495, 0.778354), abs=5e-7)


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),
    [
        # Newcombe 1998, Stat Med 17:873, Table II, method 10.
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((5, 56), (0, 29), -0.0381, 0.1926),
    ],
)
def test_newcombe_difference_table_2(one, other, low, high):
    interval = newcombe(*one, *other)
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-5)


def test_garwood_hundred_cases():
    # Exact Poisson limits of 100 cases: 81.364 to 121.627 (chi-square tables; Garwood 1936).
    assert garwood(100) == pytest.approx((81.364, 121.627), abs=5e-4)


def test_garwood_no_case_is_minus_log_of_the_tail():
    # With no case the upper limit solves exp(-m) = 0.025 (Garwood 1936): m = 3.6889.
    assert garwood(0) == pytest.approx((0.0, 3.6889), abs=5e-5)


def test_incidence_rate_of_a_hundred_cases_in_a_million_hours():
    # The same limits times 200,000 / 1,000,000.
    found = rate(100, 1_000_000)
    assert found is not None
    assert (found.value, found.low, found.high) == pytest.approx((20, 16.2728, 24.3254), abs=5e-4)
