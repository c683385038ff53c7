"""Error rates of the evaluations on fixed seeds; the longer runs stand in tests/benchmarks/bench_changes.py.

Autocorrelation of team shocks .6, people who keep their symptoms, 75 % answering, 1 % turnover a month.
Monte-Carlo standard error of a 5 % rate: 1,000 worlds 0.7 points, 400 worlds 1.1 points, 4,000 series 0.3.
"""

import numpy as np
import pytest

from models.ar1 import ar1_reml, draw_ar1
from models.change_design import TeamRecord, decide
from models.change_world import Ground
from models.series import draw_steps, segmented_design
from tests.support.change_errors import (
    EQUAL,
    UNEQUAL,
    common_start,
    imputation_bias,
    staggered,
    worst_chosen,
)

MODERATE, STRONG = Ground(), Ground(shock_sd=0.4)


@pytest.mark.parametrize("ground", [MODERATE, STRONG], ids=["moderate", "strong"])
@pytest.mark.parametrize(
    ("sizes", "changed"),
    [
        (EQUAL, [0, 1, 2, 3]),
        (EQUAL, [0, 1]),
        (UNEQUAL, [0, 2, 4, 6]),
        (UNEQUAL, [0, 1]),
        (UNEQUAL, [6, 7]),
        (UNEQUAL, [0, 7]),
    ],
    ids=["4 of 8", "2 of 8", "4 of 8 unequal", "2 smallest", "2 largest", "smallest and largest"],
)
def test_a_common_start_without_effect_is_seldom_called_one(sizes, changed, ground):
    found = common_start(np.random.default_rng(101), sizes, changed, ground, worlds=1000)
    assert found.rejected <= 0.065
    assert 0.93 <= found.covered <= 0.97 + found.error


def test_one_team_of_eight_is_refused():
    teams = tuple(TeamRecord(f"T{k}", 0, 35, start=18 if not k else None, changed=not k) for k in range(8))
    design = decide(teams, 36)
    assert design.smallest_p == pytest.approx(1 / 8)
    assert not design.in_reach


@pytest.mark.parametrize("ground", [Ground(shock_sd=0.0), STRONG], ids=["no shocks", "strong"])
def test_an_effect_lies_within_its_interval(ground):
    """2,000 worlds: Monte-Carlo error of the coverage 0.5 points."""
    found = common_start(np.random.default_rng(102), UNEQUAL, [0, 2, 4, 6], ground, effect=-0.06)
    assert 0.93 <= found.covered <= 0.97 + found.error
    assert abs(found.bias) <= 0.5


@pytest.mark.parametrize("window", [None, 3], ids=["whole baseline", "last three months"])
def test_worst_teams_chosen_are_seldom_called_helped(window):
    plain = worst_chosen(np.random.default_rng(103), UNEQUAL, 3, window=window, adjust=False, worlds=1000)
    adjusted = worst_chosen(np.random.default_rng(103), UNEQUAL, 3, window=window, worlds=1000)
    assert plain.bias < -1.0  # what would be taken for a success
    assert adjusted.rejected <= 0.065
    assert adjusted.bias >= -0.5


def test_growing_effects_of_staggered_starts_are_not_turned_round():
    """All eight teams start in the end: fixed effects lose half of the effect, imputation nothing."""
    starts = [9, 9, 15, 15, 21, 21, 27, 27]
    own, error, fixed = imputation_bias(np.random.default_rng(104), EQUAL, starts, effect=-0.08)
    assert error <= 0.12
    assert abs(own) <= 0.5
    assert fixed > 2.0


@pytest.mark.parametrize(
    ("sizes", "starts"),
    [(UNEQUAL, [9, 9, 15, 15, 21, 21, 27, 27]), (UNEQUAL, [12, 12, 21, 21, -1, -1, -1, -1])],
    ids=["all in the end", "half never"],
)
def test_staggered_starts_without_effect_are_seldom_called_one(sizes, starts):
    found = staggered(np.random.default_rng(105), sizes, starts, STRONG)
    assert found.rejected <= 0.065
    assert found.covered >= 0.93


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.6])
def test_a_single_series_without_step_is_seldom_called_one(rho):
    rng = np.random.default_rng(106)
    design = segmented_design(36, 18, harmonics=1)
    draws = draw_steps(design, rng)
    series = draw_ar1(rng, rho, 1.0, 36, 4000)
    fit, null = ar1_reml(series, design), ar1_reml(series, np.delete(design, 1, 1))
    p = draws.p(fit.coefficient[:, 1] / fit.error[:, 1], null.rho)
    assert (p <= 0.05).mean() <= 0.07
