"""What stands beside the headline: workers against themselves, described correlation, lag picture."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.linalg import null_space

from models.driver_data import DriverData
from models.driver_described import described_effect
from models.driver_design import design_of
from models.driver_effect import prevalence_effect
from models.driver_lag import lag_basis, lag_picture, window_effects
from models.driver_records import Refused
from models.driver_windows import ExposureHistory, lag_windows
from models.driver_within import within_effect, within_fit
from tests.support.driver_worlds import driver_world


def test_within_equals_a_poisson_model_with_everybodys_intercept():
    """statsmodels GLM with an indicator for each person and month, robust errors from its scores."""
    data = driver_world(np.random.default_rng(1), [5, 6, 7, 6], months=7, base=0.35)
    x = np.column_stack([data.hours / 5, data.force / 50])
    fit, used = within_fit(data, x)
    at = np.isin(data.person, used.person) & np.isin(data.month, used.month)
    assert at.sum() == len(used)
    people = (used.person[:, None] == np.unique(used.person)).astype(float)
    months = (used.month[:, None] == np.unique(used.month)[1:]).astype(float)
    glm = sm.GLM(used.case, np.hstack([x[at], people, months]), family=sm.families.Poisson()).fit(tol=1e-12)
    assert fit.coefficient == pytest.approx(glm.params[:2], abs=1e-8)
    assert fit.bread == pytest.approx(glm.cov_params()[:2, :2], rel=1e-6)
    robust = sm.GLM(used.case, glm.model.exog, family=sm.families.Poisson()).fit(
        cov_type="cluster", cov_kwds={"groups": used.team, "use_correction": False}, tol=1e-12
    )
    assert fit.plain_covariance() == pytest.approx(robust.cov_params()[:2, :2], rel=1e-6)


def test_what_stays_with_a_person_does_not_disturb_the_comparison_within():
    """Frail people choose few hours: between people hours look harmless, within them they do not."""
    rng = np.random.default_rng(2)
    people, months, slope = 400, 12, 0.3
    frail = rng.random(people) < 0.5
    hours = np.where(frail, 4, 9)[:, None] + rng.gamma(2, 1.5, (people, months)) - 3
    risk = np.where(frail, 0.35, 0.06)[:, None] * np.exp(slope * hours / 5)
    case = (rng.random(risk.shape) < risk).astype(int)
    person, month = np.divmod(np.arange(people * months), months)
    flat = np.maximum(hours, 0).ravel()
    data = DriverData(person, person % 25, month, flat, flat, case.ravel())
    assert prevalence_effect(data, "hours").ratio_high < 1
    within = within_effect(data, "hours")
    assert within.ratio_low < np.exp(slope) < within.ratio_high
    assert within.points is None


def test_within_refuses_what_never_changes():
    data = driver_world(np.random.default_rng(3), [8, 8, 8], months=6, base=0.4)
    steady = DriverData(
        data.person, data.team, data.month, 3.0 + data.person % 5, data.force, data.case, data.covariates
    )
    with pytest.raises(Refused, match="does not change within any worker"):
        within_effect(steady, "hours")
    once = data.where(np.unique(data.person, return_index=True)[1])
    with pytest.raises(Refused, match="only 0 workers"):
        within_effect(once, "hours")


def test_no_association_within_workers_is_found_in_5_percent_with_8_teams():
    """Rejections at 5 %; error of 0.8 points."""
    rng = np.random.default_rng(4)
    p = [within_effect(driver_world(rng, [10, 12] * 4, months=8), "hours").p for _ in range(700)]
    assert 0.035 <= np.mean(np.array(p) < 0.05) <= 0.065


def test_described_effect_is_near_the_headline_and_says_what_it_leaves_out():
    data = driver_world(np.random.default_rng(5), [20] * 10, months=10, slope=0.3, team_spread=0.0)
    shown, headline = described_effect(data, "hours", ("age",)), prevalence_effect(data, "hours", ("age",))
    assert shown.ratio == pytest.approx(headline.ratio, rel=0.06)
    assert "teams not allowed for" in shown.method
    assert described_effect(data, "hours", link="logit").measure == "odds ratio"


def _steady_world(rng, curve, people=240, months=24, base=0.12):
    """Everybody's exposure wanders; discomfort follows the last months by a curve."""
    lags = len(curve) - 1
    state = rng.normal(size=people)
    hours = np.empty((people, months + lags))
    for month in range(months + lags):
        state = 0.5 * state + np.sqrt(0.75) * rng.normal(size=people)
        hours[:, month] = np.maximum(6 + 2.5 * state, 0)
    log = sum(b * (hours[:, lags - k : months + lags - k] - 6) / 5 for k, b in enumerate(curve))
    case = (rng.random((people, months)) < base * np.exp(log)).astype(int)
    person, month = np.nonzero(rng.random(case.shape) < 0.75)
    data = DriverData(
        person,
        person % 12,
        month + lags,
        hours[person, month + lags],
        hours[person, month],
        case[person, month],
    )
    who, when = np.divmod(np.arange(hours.size), months + lags)
    return data, ExposureHistory(who, when, hours.ravel(), hours.ravel())


def test_lag_curve_and_sum_cover_the_truth():
    """Twelve worlds of a falling curve: the summed ratio's interval holds the truth in nearly all."""
    curve = np.array([0.20, 0.15, 0.10, 0.06, 0.03, 0.01, 0.0])
    rng = np.random.default_rng(6)
    worlds = [_steady_world(rng, curve) for _ in range(12)]
    found = [lag_picture(data, "hours", history=history) for data, history in worlds]
    covered = sum(one.cumulative_low < np.exp(curve.sum()) < one.cumulative_high for one in found)
    assert covered >= 10  # below 10 of 12 has a chance of 2 % at 95 %
    middle = np.mean([np.log(one.ratio) for one in found], axis=0)
    assert middle == pytest.approx(curve, abs=0.05)
    assert all(one.n_without == 0 for one in found)
    answered_only = worlds[0][0]
    assert lag_picture(answered_only, "hours").n_without > 0.5 * len(answered_only)


def test_a_free_polynomial_is_the_fit_with_all_lags():
    data, history = _steady_world(np.random.default_rng(7), np.array([0.2, 0.1, 0.0, 0.0]))
    free = lag_picture(data, "hours", history=history, lags=3, degree=3)
    kept, window = lag_windows(data, "hours", 3, history)
    x = np.hstack([design_of(data.where(kept), ()).x, window / 5])
    glm = sm.GLM(data.case[kept], x, family=sm.families.Poisson()).fit(tol=1e-12)
    assert np.log(free.ratio) == pytest.approx(glm.params[-4:], abs=1e-7)


def test_a_polynomial_is_the_fit_whose_higher_differences_are_held_at_zero():
    """statsmodels fit_constrained: third differences of seven lags at 0 are a polynomial of degree 2."""
    data, history = _steady_world(np.random.default_rng(8), np.array([0.2, 0.1, 0.05, 0, 0, 0, 0]))
    held = lag_picture(data, "hours", history=history)
    kept, window = lag_windows(data, "hours", 6, history)
    rest = design_of(data.where(kept), ()).x
    third = np.diff(np.eye(7), 3, axis=0)
    assert np.abs(third @ lag_basis(6, 2)).max() < 1e-12
    assert null_space(third).shape[1] == 3
    model = sm.GLM(data.case[kept], np.hstack([rest, window / 5]), family=sm.families.Poisson())
    reference = model.fit_constrained((np.hstack([np.zeros((4, rest.shape[1])), third]), np.zeros(4)))
    assert np.log(held.ratio) == pytest.approx(reference.params[-7:], abs=1e-6)


def test_a_lag_picture_needs_change_in_time():
    data, history = _steady_world(np.random.default_rng(9), np.array([0.2, 0.1]))
    same = 4.0 + history.person % 3
    still = ExposureHistory(history.person, history.month, same, same)
    with pytest.raises(Refused, match="same in all 2 months"):
        lag_picture(data, "hours", history=still, lags=1, degree=1)
    with pytest.raises(ValueError, match="degree 3"):
        lag_basis(2, 3)


def test_people_with_complete_windows_are_compared_with_everybody():
    data, history = _steady_world(np.random.default_rng(10), np.array([0.3, 0.0]))
    everybody, complete = window_effects(data, "hours", history=history, lags=1)
    assert everybody.ratio == complete.ratio
    everybody, complete = window_effects(data, "hours", lags=2)
    picture = lag_picture(data, "hours", lags=2)
    assert (everybody.n_answers, complete.n_answers) == (len(data), picture.n_answers)
    assert complete.ratio_low < np.exp(0.3) < complete.ratio_high
