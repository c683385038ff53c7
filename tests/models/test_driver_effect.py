"""Exposure and discomfort: the fast computation against the reference library, refusals, simulated error."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from models.driver_data import DriverData
from models.driver_design import design_of
from models.driver_effect import effect_of, fit_model, onset_effect, prevalence_effect, standardised
from models.driver_fit import fit_groups
from models.driver_records import Refused
from tests.support.driver_worlds import driver_world

FAMILIES = {
    "log": sm.families.Poisson(),
    "logit": sm.families.Binomial(),
    "identity": sm.families.Gaussian(),
}


@pytest.mark.parametrize("link", FAMILIES)
def test_equals_the_reference_library(link):
    """statsmodels GEE with cov_type='bias_reduced', which inverts a matrix of the cluster's size."""
    data = driver_world(np.random.default_rng(1), [6, 9, 4, 12, 8], months=10)
    design = design_of(data, ("hours", "force"), ("age",))
    fit = fit_groups(data.case, design.x, data.team, link=link)
    model = sm.GEE(data.case, design.x, data.team, family=FAMILIES[link])
    reference = model.fit(cov_type="bias_reduced", ctol=1e-10, maxiter=200)
    assert fit.coefficient == pytest.approx(reference.params, abs=1e-7)
    assert fit.covariance == pytest.approx(reference.cov_params(), rel=1e-5, abs=1e-9)
    assert fit.plain_covariance() == pytest.approx(reference.cov_robust, rel=1e-5, abs=1e-9)


def test_patterns_give_what_answers_give():
    data = driver_world(np.random.default_rng(2), [6, 9, 4], months=8)
    x = np.column_stack([np.ones(len(data)), data.hours > 6, data.covariates["age"] > 1]).astype(float)
    single = fit_groups(data.case, x, data.team)
    keys, code, size = np.unique(
        np.column_stack([x, data.team]), axis=0, return_inverse=True, return_counts=True
    )
    cases = np.bincount(code.ravel(), weights=data.case)
    grouped = fit_groups(cases, keys[:, :3], keys[:, 3], size=size)
    assert grouped.coefficient == pytest.approx(single.coefficient, abs=1e-9)
    assert grouped.covariance == pytest.approx(single.covariance, rel=1e-8)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.5, 20))
def test_the_step_only_rescales(seed, step):
    data = driver_world(np.random.default_rng(seed), [8, 8, 8, 8], months=6)
    usual, other = prevalence_effect(data, "hours"), prevalence_effect(data, "hours", step=step)
    assert other.ratio == pytest.approx(usual.ratio ** (step / 5), rel=1e-6)
    assert other.p == pytest.approx(usual.p, abs=1e-8)


def test_points_are_the_move_of_the_mean():
    data = driver_world(np.random.default_rng(3), [10] * 6, months=8, slope=0.3)
    fitted = fit_model(data, ("hours",), ("age",))
    found = effect_of(fitted, "hours")
    # With a log link the mean expected share is the share observed, and a step multiplies it.
    assert found.points == pytest.approx(100 * data.case.mean() * (found.ratio - 1), rel=1e-6)
    none = standardised(fitted.fit, fitted.design.x, fitted.design.x)
    assert (none.value, none.low, none.high) == (0, 0, 0)


def test_few_teams_carry_the_error_of_few():
    data = driver_world(np.random.default_rng(4), [10] * 8, months=8)
    even = fit_model(data, ("hours",)).fit
    # Hours differ in one team and hardly in the others: the error rests on little more than one team.
    hours = np.where(data.team == 0, data.hours, 6 + 0.1 * (data.hours - 6))
    odd = fit_model(
        DriverData(data.person, data.team, data.month, hours, data.force, data.case), ("hours",)
    ).fit
    first = [np.eye(fit.score.shape[1])[1] for fit in (even, odd)]
    assert even.carried(first[0]) > 4
    assert odd.carried(first[1]) < 1.6


def _tiny(**changed) -> DriverData:
    data = driver_world(np.random.default_rng(5), [8, 8, 8], months=6)
    columns = {name: getattr(data, name) for name in ("person", "team", "month", "hours", "force", "case")}
    return DriverData(**(columns | changed), covariates=data.covariates)


def test_what_cannot_be_answered_is_refused_by_name():
    data = _tiny()
    two = np.zeros(len(data), int)
    two[:2] = 1
    told = {
        "all .* come from 1 team": _tiny(team=np.zeros(len(data), int)),
        "only 2 of .* are with discomfort": _tiny(case=two),
        "without discomfort": _tiny(case=1 - two),
        "hours is 4 in every answer": _tiny(hours=np.full(len(data), 4.0)),
    }
    for words, bad in told.items():
        with pytest.raises(Refused, match=words):
            prevalence_effect(bad, "hours")
    with pytest.raises(Refused, match="'tenure' is missing"):
        prevalence_effect(data, "hours", ("tenure",))
    with pytest.raises(Refused, match="singular"):
        prevalence_effect(data.with_covariates(twice=2 * data.hours), "hours", ("twice",))
    with pytest.raises(Refused, match="separates"):
        prevalence_effect(data.with_covariates(twin=data.case), "hours", ("twin",))
    with pytest.raises(Refused, match="levels"):
        prevalence_effect(data.with_covariates(who=data.person), "hours", ("who",))


def test_a_team_that_alone_carries_a_term_is_refused():
    data = _tiny()
    alone = (data.team == 0) & (data.hours > np.median(data.hours))
    with pytest.raises(Refused, match="one team alone carries"):
        prevalence_effect(data.with_covariates(only=alone.astype(int)), "hours", ("only",))


def test_reverse_causation_hides_in_prevalence_and_not_in_onset():
    """People in pain halve their hours next month: prevalence turns the ratio down, onset keeps it."""
    rng = np.random.default_rng(6)
    people, months, slope = 400, 14, 0.35
    wish = rng.gamma(4, 2, people)
    case = np.zeros(people, int)
    rows = []
    for month in range(months):
        hours = wish * np.where(case == 1, 0.5, 1.0)
        fresh = rng.random(people) < np.minimum(0.05 * np.exp(slope * hours / 5), 1)
        case = np.where(case == 1, rng.random(people) < 0.6, fresh).astype(int)
        rows.append((np.arange(people), np.arange(people) % 20, np.full(people, month), hours, case))
    # Exposure and answer of a month: hours of the month after the answer, as a survey asks them.
    person, team, month = (np.concatenate([row[k] for row in rows[:-1]]) for k in range(3))
    case = np.concatenate([row[4] for row in rows[:-1]])
    hours = np.concatenate([row[3] for row in rows[1:]])
    data = DriverData(person, team, month, hours, hours, case)
    now, new = prevalence_effect(data, "hours"), onset_effect(data, "hours")
    assert now.ratio_high < 1
    assert new.ratio_low < np.exp(slope) < new.ratio_high
    assert new.measure == "risk ratio"
    assert new.n_answers < now.n_answers


def test_no_association_is_found_in_5_percent_with_8_teams():
    """Rejections at 5 % of an exposure that varies within and between unequal teams; error of 0.4 points."""
    rng = np.random.default_rng(7)
    runs, found, covered = 2500, 0, 0
    for _ in range(runs):
        data = driver_world(rng, [5, 6, 8, 10, 12, 15, 20, 24], months=8)
        effect = prevalence_effect(data, "hours", ("age",))
        found += effect.p < 0.05
        covered += effect.ratio_low <= 1 <= effect.ratio_high
    assert 0.035 <= found / runs <= 0.065
    assert covered == runs - found


def test_a_lone_small_level_stays_with_the_commonest():
    """One person of an age band nobody else has does not refuse the region; a large such level does."""
    data = driver_world(np.random.default_rng(8), [12] * 5, months=8, base=0.3)
    lone = np.where(data.person == data.person[0], 9, data.covariates["age"])
    found = prevalence_effect(data.with_covariates(age=lone), "hours", ("age",))
    names = design_of(data.with_covariates(age=lone), ("hours",), ("age",)).names
    assert "age 9" not in names
    assert {"age 1", "age 3"} & set(names)
    assert found.n_answers == len(data)
    big = np.where(data.team == 0, 9, data.covariates["age"])
    with pytest.raises(Refused, match="one team alone carries"):
        prevalence_effect(data.with_covariates(age=big), "hours", ("age",))
