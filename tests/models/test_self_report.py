"""Reliability and calibration: a published table, coverage by simulation, and effects set right."""

import numpy as np
import pytest
import statsmodels.api as sm

from models.self_report import (
    LEAST_PEOPLE,
    assumed_reliability,
    calibration,
    reliability_of_two,
)


def test_intraclass_correlation_of_two_by_hand():
    # Ten people, second report one hour more for every other: MSW = 5 x 1 / 20 = .25.
    first = np.arange(10.0)
    second = first + np.tile([0.0, 1.0], 5)
    between = 2 * np.var((first + second) / 2, ddof=1)
    found = reliability_of_two(first, second)
    assert found is not None
    assert found.value == pytest.approx((between - 0.25) / (between + 0.25))
    assert found.low < found.value < found.high


def test_the_slope_is_that_of_a_regression_library_with_its_robust_error():
    rng = np.random.default_rng(3)
    reported = rng.gamma(3, 2, size=40)
    logged = 0.7 * reported + rng.normal(0, 1 + 0.2 * reported)
    logged = np.clip(logged, 0, None)
    found = calibration(reported, logged)
    assert found is not None
    fitted = sm.OLS(logged, sm.add_constant(reported)).fit(cov_type="HC3", use_t=True)
    assert found.value == pytest.approx(fitted.params[1])
    assert (found.low, found.high) == pytest.approx(tuple(fitted.conf_int()[1]))
    assert found.bias == pytest.approx(reported.mean() - logged.mean())


def test_missing_reports_leave_their_person_out_and_few_people_say_nothing():
    hours = np.arange(12.0)
    gaps = hours.copy()
    gaps[:2] = np.nan
    found = calibration(gaps, hours)
    assert found is not None
    assert found.people == LEAST_PEOPLE
    gaps[2] = np.nan
    assert calibration(gaps, hours) is None
    assert reliability_of_two(gaps, hours) is None
    assert calibration(np.full(20, 5.0), np.arange(20.0)) is None
    with pytest.raises(ValueError, match="hours a week is 200"):
        calibration([200.0] * 12, hours)
    with pytest.raises(ValueError, match="differ"):
        calibration(hours, hours[:5])


@pytest.mark.parametrize("way", ["two reports", "log beside report"])
def test_limits_hold_the_truth_about_as_often_as_they_say(way):
    rng = np.random.default_rng(17)
    held, trials, reliability = 0, 600, 0.6
    for _ in range(trials):
        true = np.clip(rng.normal(20, 3, size=30), 0, None)
        noise = 3 * (1 / reliability - 1) ** 0.5
        reports = [np.clip(true + rng.normal(0, noise, size=30), 0, 168) for _ in range(2)]
        logged = np.clip(true + rng.normal(0, 1, size=30), 0, None)
        found = reliability_of_two(*reports) if way == "two reports" else calibration(reports[0], logged)
        assert found is not None
        held += found.low <= reliability <= found.high
    # 600 trials: a standard error of 0.9 points.
    assert 0.92 <= held / trials <= 0.98


def test_an_effect_flattened_by_noise_is_set_right_by_the_slope():
    rng = np.random.default_rng(5)
    found = []
    for _ in range(200):
        true = rng.normal(20, 4, size=250)
        reported = np.clip(true + rng.normal(0, 4, size=250), 0, None)
        naive = np.polyfit(reported, 0.3 * true + rng.normal(0, 2, size=250), 1)[0]
        line = calibration(reported[:60], np.clip(true[:60] + rng.normal(0, 1, 60), 0, None))
        assert line is not None
        found.append((naive, naive / line.value))
    naive, freed = np.median(np.array(found), axis=0)
    assert naive == pytest.approx(0.15, abs=0.02)
    assert freed == pytest.approx(0.3, abs=0.02)


def test_without_any_check_a_band_is_assumed_and_says_so():
    band = assumed_reliability()
    assert (band.way, band.people, band.low, band.high) == ("assumed", 0, 0.5, 0.9)
    assert np.isnan(band.bias)
