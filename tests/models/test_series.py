"""Interrupted series: likelihood against the formula, pivotal draws, refusals; counts; the wild bootstrap."""

from itertools import product

import numpy as np
import pytest
from scipy.linalg import toeplitz

from models.ar1 import ar1_reml, draw_ar1
from models.count_series import quasi_poisson
from models.series import draw_steps, interrupted_series, segmented_design
from models.wild import cluster_robust, wild_interval, wild_test


def test_the_fit_is_generalised_least_squares_at_the_best_rho():
    """Written out with whole matrices: V = rho**|i-j| / (1 - rho**2)."""
    rng = np.random.default_rng(1)
    x, y = segmented_design(30, 15, harmonics=1), draw_ar1(rng, 0.5, 1.0, 30, 1)[0]

    def written_out(rho):
        inverse = np.linalg.inv(toeplitz(rho ** np.arange(30)) / (1 - rho**2))
        cross = x.T @ inverse @ x
        b = np.linalg.solve(cross, x.T @ inverse @ y)
        rss = (y - x @ b) @ inverse @ (y - x @ b)
        determinants = -np.linalg.slogdet(inverse)[1] + np.linalg.slogdet(cross)[1]
        loss = (30 - 4) * np.log(rss) + determinants
        return loss, b, np.sqrt(rss / 26 * np.diag(np.linalg.inv(cross)))

    fit = ar1_reml(y, x)
    loss, b, error = written_out(fit.rho[0])
    assert fit.coefficient[0] == pytest.approx(b)
    assert fit.error[0] == pytest.approx(error)
    assert all(loss <= written_out(rho)[0] + 1e-9 for rho in (fit.rho[0] - 0.1, fit.rho[0] + 0.1))


def test_t_does_not_depend_on_level_scale_or_season():
    rng = np.random.default_rng(2)
    x, y = segmented_design(36, 18, harmonics=1), draw_ar1(rng, 0.4, 1.0, 36, 1)[0]
    plain = ar1_reml(y, x)
    moved = ar1_reml(7 + 3 * y + 2 * x[:, 2], x)
    assert moved.coefficient[0, 1] / moved.error[0, 1] == pytest.approx(
        plain.coefficient[0, 1] / plain.error[0, 1]
    )


def test_a_large_step_is_found_and_the_interval_holds_it():
    rng = np.random.default_rng(3)
    x = segmented_design(36, 18)
    draws = draw_steps(x, rng, drawn=299)
    found = interrupted_series(draw_ar1(rng, 0.3, 1.0, 36, 1)[0] - 4 * x[:, 1], 18, draws)
    assert found.p <= 0.01
    assert found.low < -4 < found.high < 0


def test_a_short_series_is_refused():
    draws = draw_steps(segmented_design(20, 9), np.random.default_rng(1), drawn=19)
    with pytest.raises(ValueError, match="9 months before and 11 after"):
        interrupted_series(np.zeros(20), 9, draws)
    with pytest.raises(ValueError, match="unknown"):
        interrupted_series(np.full(30, np.nan), 15, draws)


def test_counts_that_follow_a_rate_give_it_back():
    exposure = np.linspace(100, 200, 24)
    x = segmented_design(24, 12)
    fit = quasi_poisson(exposure * np.exp(-2 - 0.5 * x[:, 1]), exposure, x)
    assert fit.coefficient == pytest.approx([-2, -0.5])
    assert fit.dispersion == pytest.approx(0, abs=1e-9)
    with pytest.raises(ValueError, match="positive"):
        quasi_poisson([1, 2], [0, 1], np.ones((2, 1)))


@pytest.fixture
def panel():
    rng = np.random.default_rng(8)
    cluster = np.repeat(np.arange(8), 2)
    after = np.tile([0.0, 1.0], 8)
    changed = (cluster < 4).astype(float)
    y = rng.normal(size=8)[cluster] + rng.normal(size=16) - 0.8 * after * changed
    return y, np.stack([np.ones(16), after, changed, after * changed], -1), cluster


def test_every_flip_is_counted_as_by_plain_loops(panel):
    """The restricted bootstrap written out flip by flip with a sandwich of its own."""
    y, x, cluster = panel
    rest = np.delete(x, 3, 1)
    null = rest @ np.linalg.lstsq(rest, y, rcond=None)[0]

    def t_of(outcome):
        b = np.linalg.lstsq(x, outcome, rcond=None)[0]
        bread, e = np.linalg.inv(x.T @ x), outcome - x @ b
        meat = sum(
            np.outer(x[cluster == g].T @ e[cluster == g], x[cluster == g].T @ e[cluster == g])
            for g in range(8)
        )
        return b[3] / np.sqrt(8 / 7 * 15 / 12 * (bread @ meat @ bread)[3, 3])

    own = abs(t_of(y))
    sizes = np.array(
        [abs(t_of(null + np.array(w)[cluster] * (y - null))) for w in product([-1, 1], repeat=8)]
    )
    found = wild_test(y, x, cluster, 3)
    assert found.t == pytest.approx(t_of(y))
    assert found.p_ties_in == pytest.approx((sizes >= own - 1e-9).mean())
    assert found.p_ties_out == pytest.approx((sizes > own + 1e-9).mean())
    assert found.p == pytest.approx((found.p_ties_in + found.p_ties_out) / 2)
    # The flip that leaves all as it is and its opposite always tie.
    assert found.p_ties_in - found.p_ties_out >= 2 / 256


def test_the_wild_interval_inverts_the_test(panel):
    y, x, cluster = panel
    low, high = wild_interval(y, x, cluster, 3)
    centre, _ = cluster_robust(y[None], x, cluster, 3)
    assert low < centre[0] < high
    assert wild_test(y, x, cluster, 3, low - 1e-6).p <= 0.05 < wild_test(y, x, cluster, 3, low + 1e-3).p


def test_too_many_clusters_are_refused():
    with pytest.raises(ValueError, match="15 clusters"):
        wild_test(np.zeros(15), np.ones((15, 1)), np.arange(15), 0)
