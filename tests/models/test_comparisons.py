"""Between teams and over bands: funnel, shrinkage, standardising, severity and regression to the mean."""

import numpy as np
import pytest

from models.counts import TOO_FEW
from models.funnel import ALIKE, HIGHER, TOO_SMALL, proportion_funnel
from models.over_dispersion import over_dispersion, truncate, winsorise, winsorised_variance
from models.regression_to_mean import expected_fall
from models.severity import LESS, MORE, SMALL, UNCLEAR, change_word, mean_change
from models.shrinkage import Prior, fitted_prior, moment_prior, shrink
from models.standardise import EMPTY_BAND, direct, indirect


def test_a_team_far_outside_is_named_and_order_is_kept():
    n = np.full(20, 60)
    cases = np.array([15, 16, 14, 15, 17, 13, 15, 14, 16, 15, 15, 16, 14, 13, 17, 15, 14, 16, 15, 45])
    found = proportion_funnel(cases, n)
    assert found.standing[-1] == HIGHER
    assert set(found.standing[:-1]) == {ALIKE}
    turned = proportion_funnel(cases[::-1], n)
    assert turned.standing == found.standing[::-1]
    assert not hasattr(found, "rank")


def test_false_names_in_an_over_dispersed_institute():
    # 40 teams differ in the long run (log-odds sd 0.5): without the added spread a good part is named.
    rng = np.random.default_rng(51)
    named = plain = 0
    for _ in range(150):
        n = rng.integers(12, 60, 40)
        share = 1 / (1 + np.exp(1.1 - 0.5 * rng.standard_normal(40)))
        found = proportion_funnel(rng.binomial(n, share), n)
        named += sum(word != ALIKE for word in found.standing)
        raw = found.z * np.sqrt(1 + 4 * n * found.spread.tau2)
        plain += int((np.abs(raw) >= 3).sum())
    # 6000 teams; 0.27 % of normal scores lie beyond 3, Monte-Carlo error 0.07 %.
    assert named / 6000 <= 0.008
    assert plain / 6000 >= 0.02


def test_chance_alone_gives_no_added_spread():
    rng = np.random.default_rng(52)
    taus = []
    for _ in range(200):
        n = rng.integers(20, 60, 40)
        taus.append(proportion_funnel(rng.binomial(n, 0.3), n).spread.tau2)
    assert np.median(taus) <= 0.001


def test_small_and_absent_teams_are_not_named_and_never_nan():
    found = proportion_funnel([0, 3, 0, 5, 9, 4, 12], [0, 3, 10, 10, 9, 15, 40], least_n=5)
    assert found.standing[:2] == (TOO_SMALL, TOO_SMALL)
    assert np.isfinite(np.concatenate([found.z, found.low, found.high])).all()
    assert (found.low <= found.target + 1e-12).all()
    for edge in ([0] * 6, [20] * 6):
        everybody = proportion_funnel(edge, [20] * 6)
        assert set(everybody.standing) == {ALIKE}
        assert np.isfinite(everybody.z).all()
    assert set(proportion_funnel([3, 9], [10, 10]).standing) == {TOO_SMALL}, "two teams have no spread"


def test_winsorising_pulls_in_and_truncating_leaves_out():
    z = np.array([-9.0, *np.linspace(-1, 1, 18), 9.0])
    assert winsorise(z).max() == pytest.approx(np.quantile(z, 0.9))
    assert len(truncate(z)) == 16
    normal = np.random.default_rng(56).standard_normal(200_000)
    assert np.mean(winsorise(normal) ** 2) == pytest.approx(winsorised_variance(), abs=0.005)
    assert over_dispersion(z, np.ones(20)).tau2 == 0.0


def test_shrinkage_pulls_small_teams_further():
    found = shrink([5, 50], [10, 100], Prior(2.0, 8.0))
    assert found.share.tolist() == pytest.approx([7 / 20, 52 / 110])
    assert (found.low < found.share).all()
    assert (found.share < found.high).all()
    nobody = shrink([0], [0], Prior(2.0, 8.0))
    assert nobody.share[0] == pytest.approx(0.2)


def test_shrinkage_fits_what_was_drawn():
    rng = np.random.default_rng(53)
    n = rng.integers(10, 40, 3000)
    prior = fitted_prior(rng.binomial(n, rng.beta(3, 9, 3000)), n)
    assert prior is not None
    assert prior.alpha / (prior.alpha + prior.beta) == pytest.approx(0.25, abs=0.01)
    assert prior.alpha + prior.beta == pytest.approx(12, rel=0.15)
    assert fitted_prior([0, 0, 0], [9, 9, 9]) is None
    assert moment_prior([1, 2], [4, 5]) is None


def test_standardising_refuses_what_it_cannot_do():
    assert direct([3, 4], [10, 20], [1, 1]).reason == TOO_FEW
    assert direct([12, 0], [100, 0], [1, 1]).reason == EMPTY_BAND
    assert direct([0, 0], [0, 0], [1, 1]).crude is None
    assert indirect(0, [1.0], [0.2]).reason == TOO_FEW
    assert indirect(0, [100.0], [0.2]).low == 0.0
    with pytest.raises(ValueError, match="same shape"):
        direct([1], [1, 2], [1, 2])
    with pytest.raises(ValueError, match="unknown limits"):
        direct([10], [10], [1], limits="wald")


def test_severity_stands_against_the_smallest_change_that_matters():
    rng = np.random.default_rng(54)
    before = rng.integers(3, 9, 200).astype(float)
    found = mean_change(before, np.clip(before - 2, 0, 10))
    assert found.word == LESS
    assert found.change == pytest.approx(-2.0)
    assert "patients in pain" in found.caution
    assert f"{found.baseline:.1f}" in found.caution


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [(-2.0, -1.0, LESS), (1.0, 3.0, MORE), (-0.9, 0.9, SMALL), (-1.5, 0.2, UNCLEAR), (0.3, 1.4, UNCLEAR)],
)
def test_severity_words(low, high, word):
    assert change_word(low, high) == word


def test_severity_of_few_of_none_and_of_zeros():
    assert mean_change([], []).reason == TOO_FEW
    assert mean_change([3.0] * 9, [2.0] * 9).reason == TOO_FEW
    assert mean_change([np.nan] * 30, [2.0] * 30).reason == TOO_FEW
    flat = mean_change([0.0] * 20, [0.0] * 20)
    assert flat.percent is None
    assert flat.word == SMALL
    with pytest.raises(ValueError, match="outside 0 to 10"):
        mean_change([11.0], [1.0])


def test_a_group_chosen_for_high_values_falls_back_by_itself():
    # A million units: formula against drawing (Barnett and others 2005).
    rng = np.random.default_rng(55)
    level = rng.normal(2.0, 1.0, 1_000_000)
    first, second = level + rng.normal(0, 1.0, 1_000_000), level + rng.normal(0, 1.0, 1_000_000)
    chosen = first > 3.5
    assert expected_fall(3.5, 2.0, 1.0, 1.0) == pytest.approx((first - second)[chosen].mean(), abs=0.01)
    with pytest.raises(ValueError, match="nothing varies"):
        expected_fall(1.0, 0.0, 0.0, 0.0)
