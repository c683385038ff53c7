"""Force units against their definitions; budgets against values worked by hand."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models import force


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (1, "N", 1000),
        # Standard gravity 9.80665 m/s2 (3rd CGPM, 1901): 9806.65, 19613.3 and 39226.6 mN.
        (1, "kgf", 9807),
        (2, "kgf", 19613),
        (4, "kgf", 39227),
        # 0.45359237 kg x 9.80665 m/s2 = 4.4482216152605 N (international pound, 1959).
        (1, "lbf", 4448),
        (10, "lbf", 44482),
        # Half to even, on the decimal the file holds and not on its binary neighbour.
        ("0.0005", "N", 0),
        ("0.0015", "N", 2),
        (0.0025, "N", 2),
        (0, "lbf", 0),
    ],
)
def test_units(value, unit, expected):
    assert force.millinewtons(value, unit) == expected


def test_pound_force_is_the_product_of_its_definition():
    assert force.NEWTON_PER_UNIT["lbf"] == Decimal("0.45359237") * Decimal("9.80665")


@pytest.mark.parametrize(
    ("value", "unit"), [(1, "kg"), (1, "n"), (-1, "N"), ("nan", "N"), (float("inf"), "N"), ("4,1", "kgf")]
)
def test_refused_values(value, unit):
    with pytest.raises(ValueError, match="Force"):
        force.millinewtons(value, unit)


@given(st.integers(0, 10**6))
def test_round_trip_through_newtons(mn):
    assert force.millinewtons(force.newtons(mn), "N") == mn


def test_budget_worked_by_hand():
    # (10 N + 15 N) x 300 ms = 7500 N ms; 40 N x 200 ms = 8000 N ms; the ejection is the peak.
    budget = force.force_budget(10_000, 15_000, 40_000, 300, 200)
    assert budget == force.ForceBudget(stroke_mn_ms=7_500_000, tip_mn_ms=8_000_000, peak_mn=40_000)


@pytest.mark.parametrize(
    ("missing", "unknown"),
    [
        (0, {"stroke_mn_ms", "peak_mn"}),
        (1, {"stroke_mn_ms", "peak_mn"}),
        (2, {"tip_mn_ms", "peak_mn"}),
        (3, {"stroke_mn_ms"}),
        (4, {"tip_mn_ms"}),
    ],
)
def test_each_missing_measurement_leaves_its_figures_unknown(missing, unknown):
    measured: list[int | None] = [10_000, 15_000, 40_000, 300, 200]
    measured[missing] = None
    budget = force.force_budget(*measured)
    assert {name for name, value in vars(budget).items() if value is None} == unknown


def test_force_time_worked_by_hand():
    total = force.force_time(
        force.masked_integers([100, 100, 0, 100, 100]),
        force.masked_integers([50, 0, 50, 50, None]),
        force.masked_integers([7_500_000, 7_500_000, None, None, 7_500_000]),
        force.masked_integers([8_000_000, None, 8_000_000, 8_000_000, 8_000_000]),
    )
    # Nothing ejected needs no ejection force, no stroke no plunger force; unknown tips stay unknown.
    assert total.tolist() == [1_150_000_000, 750_000_000, 400_000_000, None, None]


def test_gaps_may_be_nan_or_none():
    assert force.masked_integers(np.array([1.0, np.nan])).tolist() == [1, None]
    assert force.masked_integers([3, None]).tolist() == [3, None]


@given(st.lists(st.tuples(*[st.none() | st.integers(0, 10**5)] * 3), min_size=1, max_size=20))
def test_peak_is_the_largest_or_unknown(rows):
    columns = [force.masked_integers(column) for column in zip(*rows, strict=True)]
    assert force.peak_force(*columns).tolist() == [None if None in row else max(row) for row in rows]
