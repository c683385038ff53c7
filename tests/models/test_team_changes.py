"""Effect of a common start: identities, floors, randomisation, teams chosen on the outcome."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from models.meta_regression import hartung_knapp, paule_mandel
from models.team_changes import (
    adjusted_fit,
    change_fit,
    effect_of,
    leave_one_out,
    randomise,
    smallest_p,
)
from models.team_sums import FLOOR, sums_of_answers, sums_of_shares


@pytest.fixture
def sums():
    rng = np.random.default_rng(4)
    here = np.arange(12) < np.array([12, 9, 4, 7, 10, 11, 5, 6])[:, None]
    before = rng.integers(0, 5, (8, 12)) / 4
    return sums_of_shares(before, np.clip(before + rng.normal(0, 0.3, before.shape), 0, 1), here)


def test_equal_variances_give_the_two_sample_t_test():
    """With one variance for all, tau2 above 0 makes it the pooled t test (scipy)."""
    rng = np.random.default_rng(1)
    effect, dose = rng.normal(0, 1, 10), np.arange(10) < 4
    fit = hartung_knapp(effect, np.full(10, 1e-3), np.stack([np.ones(10), dose], -1))
    t, p = stats.ttest_ind(effect[:4], effect[4:])
    assert fit.t(1) == pytest.approx(t, rel=1e-9)
    assert fit.p(1) == pytest.approx(p, rel=1e-9)


@given(st.integers(0, 10_000), st.floats(1e-3, 2.0))
def test_paule_mandel_makes_residuals_as_large_as_expected(seed, spread):
    rng = np.random.default_rng(seed)
    x = np.stack([np.ones(9), rng.normal(size=9)], -1)
    y, v = rng.normal(0, spread, 9), rng.uniform(0.05, 1, 9)
    tau2 = float(paule_mandel(y, v, x))
    fit = hartung_knapp(y, v, x)
    assert fit.q <= 1 + 1e-6
    assert tau2 == 0 or fit.q == pytest.approx(1, rel=1e-6)


def test_many_fits_at_once_are_the_single_fits():
    rng = np.random.default_rng(2)
    y, v = rng.normal(size=(5, 8)), rng.uniform(0.1, 1, (5, 8))
    x = np.stack([np.ones(8), np.arange(8) < 3], -1)
    together = hartung_knapp(y, v, x)
    for k in range(5):
        assert hartung_knapp(y[k], v[k], x).coefficient == pytest.approx(together.coefficient[k])


def test_long_answers_and_shares_give_the_same_sums():
    person = np.array(["a", "a", "a", "b", "b", "c", "c", "d"])
    team = np.array(["X", "X", "X", "X", "X", "X", "Y", "Y"])
    after = np.array([0, 0, 1, 0, 1, 0, 1, 1], bool)
    case = np.array([1, 0, 1, 0, 1, 1, 0, 0], bool)
    found = sums_of_answers(person, team, after, case)
    # c moved from X to Y and d came later: neither stands on both sides of one team.
    assert found.teams == ("X",)
    assert found.left_out == ("Y",)
    assert found.people.tolist() == [2]
    assert found.before.tolist() == [0.25]
    assert found.after.tolist() == [1.0]
    drawn = sums_of_shares([[0.5, 0.0]], [[1.0, 1.0]], [[True, True]])
    assert found.variance() == pytest.approx(drawn.variance())


def test_a_team_that_agrees_keeps_a_quarter_of_the_pooled_variance():
    before = np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 1.0]])
    after = np.array([[0.5, 0.5, 0.5, 0.5], [1.0, 0.0, 0.0, 1.0]])
    found = sums_of_shares(before, after, np.ones((2, 4), bool))
    pooled = (found.change * 0 + 2.0).sum() / 2 / 6  # squares 0 and 2 over 6 degrees of freedom
    assert found.variance()[0] == pytest.approx(FLOOR * pooled / 4)
    assert found.variance()[1] == pytest.approx(2.0 / 3 / 4)


def test_variance_of_a_slope_is_that_of_the_residual():
    rng = np.random.default_rng(5)
    before, after = rng.random((3, 20)), rng.random((3, 20))
    found = sums_of_shares(before, after, np.ones((3, 20), bool))
    expected = np.var(after - 0.3 * before, axis=1, ddof=1) / 20
    assert found.variance(0.3) == pytest.approx(expected)


def test_the_effect_turns_round_with_the_sides(sums):
    dose = np.array([1, 1, 0, 0, 0, 0, 1, 0])
    one, other = effect_of(change_fit(sums, dose)), effect_of(change_fit(sums, 1 - dose))
    assert one.effect == pytest.approx(-other.effect)
    assert (one.low, one.high) == pytest.approx((-other.high, -other.low))
    assert one.df == 6


def test_randomisation_counts_every_choice_of_teams(sums):
    dose = np.array([1, 0, 1, 0, 0, 0, 0, 1])
    found = randomise(sums, dose, np.random.default_rng(1))
    own = abs(change_fit(sums, dose).t(1))
    others = [np.isin(np.arange(8), c).astype(float) for c in combinations(range(8), 3)]
    as_large = sum(abs(change_fit(sums, d).t(1)) >= own * (1 - 1e-9) for d in others)
    assert found.reassignments == 56
    assert found.p == pytest.approx(as_large / 56)
    assert found.p >= found.smallest


def test_the_smallest_p_of_a_design():
    """70 choices of 4 of 8 come in opposite pairs of equal size, 28 of 2 and 8 of 1 do not."""
    assert smallest_p(8, 4) == pytest.approx(2 / 70)
    assert smallest_p(8, 2) == pytest.approx(1 / 28)
    assert smallest_p(8, 1) == pytest.approx(1 / 8)
    assert smallest_p(8, 0) == 1.0


def test_leaving_a_team_out_is_fitting_without_it(sums):
    dose = np.array([1, 1, 0, 0, 0, 0, 0, 0])
    found = leave_one_out(sums, dose)
    assert found[3] == pytest.approx(change_fit(sums.without(3), np.delete(dose, 3)).coefficient[1])
    assert np.isnan(leave_one_out(sums, np.eye(8)[0])[0])


def test_adjusting_takes_out_a_planted_fall_back():
    """After is 0.1 plus half of before in every team; the two highest were changed, to no effect."""
    rng = np.random.default_rng(6)
    level = np.linspace(0.1, 0.8, 8)
    wobble = rng.normal(0, 0.02, (8, 30))
    wobble -= wobble.mean(1, keepdims=True)
    before = level[:, None] + wobble
    after = 0.1 + 0.5 * level[:, None] + 0.5 * wobble + 0.1 * rng.permuted(wobble, axis=1)
    found = sums_of_shares(before, after, np.ones((8, 30), bool))
    dose = (np.arange(8) >= 6).astype(float)
    assert change_fit(found, dose).coefficient[1] < -0.15
    assert adjusted_fit(found, dose).coefficient[1] == pytest.approx(0, abs=1e-9)
    assert adjusted_fit(found, dose).coefficient[2] == pytest.approx(0.5)


def test_too_few_teams_are_refused():
    with pytest.raises(ValueError, match="2 units carry no 2 coefficients"):
        hartung_knapp([0.1, 0.2], [1, 1], np.array([[1, 0], [1, 1]]))
    with pytest.raises(ValueError, match="not positive"):
        hartung_knapp([0.1, 0.2, 0.3], [1, 0, 1], np.ones((3, 1)))
