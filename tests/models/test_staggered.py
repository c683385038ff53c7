"""Staggered starts: exact recovery, weights, paths, agreement with simpler estimators, pretended dates."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.adoption import NEVER, event_weights, imputation_weights, treated_cells
from models.paths import count_paths, draw_paths
from models.staggered import staggered_effect
from models.staggered_checks import event_study, leave_one_team_out, placebo_date

STARTS = np.array([3, 5, 5, 8, NEVER, NEVER, NEVER, NEVER])
PEOPLE = np.array([5, 9, 12, 15, 20, 30, 25, 14])


def world(effect=0.0, noise=0.0, seed=1, growing=False):
    rng = np.random.default_rng(seed)
    y = rng.random((8, 1)) + rng.random((1, 12)) + noise * rng.normal(size=(8, 12))
    since = np.arange(12) - STARTS[:, None] + 1
    done = treated_cells(STARTS, 12)
    return y + effect * done * (since if growing else 1)


def test_team_and_period_effects_are_taken_out_exactly():
    found = staggered_effect(world(-0.3), STARTS, PEOPLE, np.random.default_rng(1))
    assert found.effect == pytest.approx(-0.3)


def test_growing_effects_are_averaged_while_fixed_effects_go_wrong():
    y, done = world(-0.1, growing=True), treated_cells(STARTS, 12)
    truth = (-0.1 * (np.arange(12) - STARTS[:, None] + 1))[done].mean()
    assert (imputation_weights(STARTS, 12) * y).sum() == pytest.approx(truth)
    everybody = np.array([2, 2, 6, 6, 10, 10])
    rng = np.random.default_rng(3)
    since = np.maximum(np.arange(12) - everybody[:, None] + 1, 0)
    grown = -0.01 * since**1.5
    y = rng.random((6, 1)) + rng.random((1, 12)) + grown
    dose = treated_cells(everybody, 12).astype(float)
    inside = dose - dose.mean(0) - dose.mean(1, keepdims=True) + dose.mean()
    assert (inside * y).sum() / (inside**2).sum() > 0  # two-way fixed effects: the wrong sign
    assert (imputation_weights(everybody, 12) * y).sum() < -0.05


@given(st.lists(st.sampled_from([NEVER, 2, 4, 7]), min_size=4, max_size=9))
def test_weights_ignore_levels_and_add_up_over_treated_cells(starts):
    if NEVER not in starts or len(set(starts)) == 1:
        return
    weights, done = imputation_weights(starts, 9), treated_cells(starts, 9)
    assert weights[done].sum() == pytest.approx(1)
    assert weights.sum(0) == pytest.approx(0, abs=1e-9)
    assert weights.sum(1) == pytest.approx(0, abs=1e-9)


def test_one_common_start_is_the_plain_difference_of_changes():
    rng = np.random.default_rng(2)
    y, starts = rng.random((6, 10)), np.array([4, 4, NEVER, NEVER, NEVER, NEVER])
    change = y[:, 4:].mean(1) - y[:, :4].mean(1)
    expected = change[:2].mean() - change[2:].mean()
    assert (imputation_weights(starts, 10) * y).sum() == pytest.approx(expected)


def test_event_effects_compare_with_teams_that_wait():
    rng = np.random.default_rng(4)
    y, starts = rng.random((5, 8)), np.array([3, 6, NEVER, NEVER, NEVER])
    weights = event_weights(starts, 8, 1)
    first = y[0, 4] - y[0, 2] - (y[[1, 2, 3, 4], 4] - y[[1, 2, 3, 4], 2]).mean()
    second = y[1, 7] - y[1, 5] - (y[[2, 3, 4], 7] - y[[2, 3, 4], 5]).mean()
    assert weights is not None
    assert (weights * y).sum() == pytest.approx((first + second) / 2)
    assert event_weights(np.array([3, 3]), 8, 1) is None


def test_paths_are_counted_and_drawn_once_each():
    starts = np.array([1, 1, 2, 2, 3, 3, 4, 4])
    paths = draw_paths(starts, np.random.default_rng(1))
    assert count_paths(starts) == len(paths) == 2520
    assert paths[0].tolist() == [*range(8)]
    assert len({tuple(starts[np.argsort(path)]) for path in paths}) == 2520
    many = np.array([*range(1, 9), NEVER, NEVER])
    assert len(draw_paths(many, np.random.default_rng(1), 99)) == 100


def test_p_counts_the_reassignments_as_large():
    y = world(0.0, noise=0.1)
    found = staggered_effect(y, STARTS, np.ones(8), np.random.default_rng(1))
    weights = imputation_weights(STARTS, 12)
    paths = draw_paths(STARTS, np.random.default_rng(1))
    # With people alike on all teams the scatter is one number, so the raw estimates are ranked.
    size = np.array([abs((weights * y[path]).sum()) for path in paths])
    assert found.paths == 840
    assert found.p == pytest.approx((size >= size[0] * (1 - 1e-9)).mean())


def test_the_interval_holds_what_the_test_does_not_reject():
    y, rng = world(-0.3, noise=0.05), np.random.default_rng(1)
    found = staggered_effect(y, STARTS, PEOPLE, rng)
    done = treated_cells(STARTS, 12)
    assert found.low < found.effect < found.high
    for inside, value in ((True, found.high - 1e-4), (False, found.high + 1e-4)):
        moved = staggered_effect(y - value * done, STARTS, PEOPLE, rng)
        assert (moved.p > 0.05) == inside


def test_no_interval_where_nothing_can_be_rejected():
    starts = np.array([3, NEVER, NEVER, NEVER])
    found = staggered_effect(
        np.random.default_rng(1).random((4, 8)), starts, np.ones(4), np.random.default_rng(1)
    )
    assert found.smallest == 0.25
    assert (found.low, found.high) == (-np.inf, np.inf)


def test_a_trend_before_the_start_is_seen():
    drift = np.where(STARTS[:, None] != NEVER, 0.2 * np.arange(12), 0.0)
    calm = event_study(world(0.0, noise=0.05), STARTS, PEOPLE, np.random.default_rng(1), before=3)
    moving = event_study(world(0.0, noise=0.05) + drift, STARTS, PEOPLE, np.random.default_rng(1), before=3)
    assert calm.trend_p is not None
    assert moving.trend_p is not None
    assert moving.trend_p < 0.05 < calm.trend_p
    assert calm.trend_seen is not None
    assert 0 < calm.trend_seen < 0.2
    assert -1 not in calm.event


def test_a_pretended_date_finds_nothing_in_a_world_without_trend():
    found = placebo_date(world(-0.5), STARTS, PEOPLE, np.random.default_rng(1), 1)
    assert found is not None
    assert found.effect == pytest.approx(0, abs=1e-9)
    assert placebo_date(world(), STARTS, PEOPLE, np.random.default_rng(1), 2) is None


def test_leaving_out_a_team_shows_who_carries_the_effect():
    y = world(0.0)
    y[0, 3:] -= 1.0
    found = leave_one_team_out(y, STARTS)
    assert found[0] == pytest.approx(0, abs=1e-9)
    assert (found[1:] < -0.1).all()


def test_a_period_without_answers_is_refused():
    y = world()
    y[2, 3] = np.nan
    with pytest.raises(ValueError, match="without answers"):
        staggered_effect(y, STARTS, PEOPLE, np.random.default_rng(1))
    with pytest.raises(ValueError, match="not started by then"):
        imputation_weights([0, 0, 0], 5)


def test_a_pretended_date_needs_teams_that_wait():
    """Where all start in the end, the first to start are held against those that start later."""
    starts = np.array([8, 8, 10, 10, 12, 12])
    shares = 0.25 + 0.05 * np.random.default_rng(21).standard_normal((6, 16))
    found = placebo_date(shares, starts, np.full(6, 15), np.random.default_rng(22), 2)
    assert found is not None
    assert found.paths == 15
    assert abs(found.effect) < 0.15
    assert placebo_date(shares, np.full(6, 8), np.full(6, 15), np.random.default_rng(22), 2) is None
