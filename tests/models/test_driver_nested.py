"""Random intercepts: the marginal likelihood against direct integration, its slope, recovery of a truth."""

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.optimize import approx_fprime
from scipy.special import expit
from scipy.stats import norm

from models.driver_nested import _laplace_slope, nested_effect, nested_fit
from models.driver_quadrature import minus_log_likelihood, modes_of, rows_of
from models.driver_records import Refused
from tests.support.driver_worlds import driver_world


def _at(rows, fixed, s, t):
    return modes_of(rows, fixed, s, t, (np.zeros(rows.levels), np.zeros(len(rows.outer_of))))


def test_quadrature_is_the_double_integral():
    """One team of one worker: scipy's adaptive integration over both intercepts."""
    cases, size, fixed = np.array([2.0, 0.0, 3.0]), np.array([5.0, 2.0, 3.0]), np.array([-0.4, 0.1, 0.6])
    rows = rows_of(cases, size, np.ones((3, 1)), [7, 7, 7], [1, 1, 1])

    def density(b, a):
        p = expit(fixed + 0.8 * b + 0.5 * a)
        return np.prod(p**cases * (1 - p) ** (size - cases)) * norm.pdf(a) * norm.pdf(b)

    exact = dblquad(density, -8, 8, -8, 8)[0]
    found = minus_log_likelihood(rows, fixed, 0.8, 0.5, _at(rows, fixed, 0.8, 0.5), 15)
    assert -found == pytest.approx(np.log(exact), abs=1e-6)


def test_several_workers_of_a_team_share_its_intercept():
    """Two workers of one team: the outer integral of the product of inner ones, on a grid."""
    rng = np.random.default_rng(1)
    cases, inner = rng.integers(0, 2, 12).astype(float), np.repeat([0, 1], 6)
    fixed = rng.normal(size=12)
    rows = rows_of(cases, np.ones(12), np.ones((12, 1)), inner, np.zeros(12, int))
    grid = np.linspace(-8, 8, 801)
    p = expit(fixed[:, None, None] + 0.7 * grid[:, None] + 0.6 * grid)
    likely = np.where(cases[:, None, None] == 1, p, 1 - p)
    mass = norm.pdf(grid) * (grid[1] - grid[0])
    each = [np.einsum("bt,b->t", likely[inner == k].prod(0), mass) for k in (0, 1)]
    exact = float((each[0] * each[1] * mass).sum())
    found = minus_log_likelihood(rows, fixed, 0.7, 0.6, _at(rows, fixed, 0.7, 0.6), 15)
    assert -found == pytest.approx(np.log(exact), abs=1e-6)


def test_slope_of_laplace_is_that_of_differences():
    data = driver_world(np.random.default_rng(2), [5] * 4, months=6, base=0.4)
    x = np.column_stack([np.ones(len(data)), data.hours / 5])
    rows = rows_of(data.case, np.ones(len(data)), x, data.person, data.team)

    def loss(theta):
        fixed = x @ theta[:2]
        return minus_log_likelihood(rows, fixed, theta[2], theta[3], _at(rows, fixed, theta[2], theta[3]), 1)

    theta = np.array([-1.0, 0.2, 1.1, 0.6])
    by_beta, by_s, by_t = _laplace_slope(rows, 1.1, 0.6, _at(rows, x @ theta[:2], 1.1, 0.6))
    assert [*by_beta, by_s, by_t] == pytest.approx(approx_fprime(theta, loss, 1e-6), abs=1e-4)


def test_truth_is_recovered():
    """Conditional truth .4 per step, spreads 1 and .5: within three errors, spreads within a quarter."""
    rng = np.random.default_rng(3)
    team = np.repeat(np.arange(30), 12)
    people, months = len(team), 12
    hours = rng.gamma(4, 1.5, (people, months))
    level = rng.normal(size=people) + 0.5 * rng.normal(size=30)[team]
    y = rng.random(hours.shape) < expit(-1.6 + 0.4 * hours / 5 + level[:, None])
    who = np.repeat(np.arange(people), months)
    x = np.column_stack([np.ones(y.size), hours.ravel() / 5])
    fit = nested_fit(y.ravel(), np.ones(y.size), x, who, team[who])
    assert abs(fit.coefficient[1] - 0.4) < 3 * np.sqrt(fit.covariance[1, 1])
    assert fit.inner_sd == pytest.approx(1.0, rel=0.25)
    assert fit.outer_sd == pytest.approx(0.5, rel=0.35)


def test_effect_is_named_a_conditional_odds_ratio():
    data = driver_world(np.random.default_rng(4), [10] * 6, months=8, slope=0.4, base=0.25)
    found = nested_effect(data, "hours", ("age",))
    assert found.measure == "odds ratio"
    assert found.ratio_low < found.ratio < found.ratio_high
    assert found.points is None
    with pytest.raises(Refused, match="singular"):
        nested_effect(data.with_covariates(same=data.hours), "hours", ("same",))
    with pytest.raises(Refused, match="1 team"):
        nested_effect(data.where(data.team == 0), "hours")
