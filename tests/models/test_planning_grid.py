"""Reach of designs: what the grid promises is what a fresh simulation finds."""

import numpy as np
import pytest

from models.change_world import Ground, draw_world, draw_worlds
from models.planning import Plan, simulated_power
from models.planning_grid import first_that_finds, plan_reach, reach_grid, spread_sizes
from models.planning_stepped import stepped_reach
from tests.support.change_errors import staggered

SIZES = (6, 9, 12, 14, 18, 25)
GROUND = Ground(prevalence=0.3)


@pytest.fixture(scope="module")
def grid():
    return reach_grid(GROUND, SIZES, (2, 4, 8), (6, 12), np.random.default_rng(31), worlds=300)


def test_more_teams_and_more_months_find_less(grid):
    found = {(r.changed, r.months): r.effect for r in grid}
    assert list(found) == [(2, 6), (2, 12), (4, 6), (4, 12), (8, 6), (8, 12)]
    assert np.isinf(found[2, 6])
    assert found[8, 12] < found[8, 6]
    assert found[8, 12] < found[4, 12]
    assert [r.smallest_p for r in grid if r.months == 6] == pytest.approx([1 / 3, 2 / 70, 2 / 12870])


@pytest.mark.parametrize("number", [4, 8])
def test_a_fresh_simulation_finds_the_effect_in_four_of_five_cases(grid, number):
    """Sizes drawn anew twice, 300 worlds each: error 1.6 points, that of the grid some 3 points of power."""
    reach = next(r for r in grid if (r.changed, r.months) == (number, 12))
    rng = np.random.default_rng(32)
    powers = [
        simulated_power(
            Plan(tuple(spread_sizes(SIZES, 2 * number, rng)), number, 12, 12, GROUND), -reach.effect, rng, 300
        ).power
        for _ in range(2)
    ]
    assert np.mean(powers) == pytest.approx(0.8, abs=0.09)


def test_one_plan_agrees_with_its_own_simulation():
    plan = Plan((15,) * 12, 6, 12, 12, GROUND)
    drawn = plan_reach(plan, 0.12, np.random.default_rng(33), 500)
    fresh = simulated_power(plan, -0.12, np.random.default_rng(34), 500)
    assert drawn.reach.found == pytest.approx(fresh.power, abs=0.05 + fresh.error)
    assert drawn.low < -0.12 < drawn.high
    again = simulated_power(plan, -drawn.reach.effect, np.random.default_rng(35), 500)
    assert again.power == pytest.approx(0.8, abs=0.05 + again.error)


def test_a_stepped_plan_agrees_with_its_own_simulation():
    starts = [9, 9, 12, 12, 15, 15, 18, 18]
    drawn = stepped_reach([15] * 8, starts, 36, GROUND, 0.2, np.random.default_rng(36), 150)
    assert drawn.reach.smallest_p == pytest.approx(1 / 2520)
    assert drawn.reach.months == 18
    # The same judgement on worlds without any effect: what it finds there are false alarms.
    none = staggered(np.random.default_rng(37), np.full(8, 15), starts, GROUND, worlds=150)
    assert none.rejected < drawn.reach.found
    half = stepped_reach([15] * 8, starts, 36, GROUND, 0.1, np.random.default_rng(36), 150)
    assert half.reach.found < drawn.reach.found
    assert half.reach.effect == pytest.approx(drawn.reach.effect, abs=0.03)


def test_the_cheapest_design_that_finds_it_is_chosen(grid):
    cheap = min(r.changed * r.months for r in grid if np.isfinite(r.effect))
    found = first_that_finds(grid, 0.5, 20)
    assert found.changed * found.months == cheap
    best = first_that_finds(grid, 0.001, 20)
    assert (best.changed, best.months) == (8, 12)
    assert first_that_finds(grid, 0.001, 8).changed == 4
    assert first_that_finds(grid, 0.5, 6) is None


def test_the_same_people_are_drawn_under_each_effect():
    plain = draw_world(np.random.default_rng(38), (5, 9), 12, GROUND, worlds=3)
    still, eased = draw_worlds(np.random.default_rng(38), (5, 9), 12, GROUND, effects=(0.0, -0.1), worlds=3)
    assert (plain.case == still.case).all()
    assert (plain.answered == eased.answered).all()
    assert (eased.case <= still.case).all()
    assert eased.case.mean() == pytest.approx(still.case.mean() - 0.1, abs=0.05)
