"""Who answered: response, weights, raking and what weighting cannot do."""

import numpy as np
import pytest
from scipy.special import expit

from models.history import history_columns
from models.raking import rake
from models.response import item_non_response, non_ignorable, response, worst_bounds
from models.weights import answer_weights, logistic_fit, weighted_prevalence


def _institute(rng: np.random.Generator, slope: float, *, recorded: bool) -> tuple[np.ndarray, np.ndarray]:
    """Return scores and answers of 3000 people over 13 months; answering falls with last month's score.

    With `recorded` it falls with the last rating that was given, otherwise with last month's rating, given
    or not.
    """
    people, months = 3000, 13
    steady, mood = rng.standard_normal(people), rng.standard_normal(people)
    score, said = np.zeros((people, months)), np.zeros((people, months), bool)
    last = np.full(people, 2.0)
    for month in range(months):
        score[:, month] = np.clip(np.round(2 + 2.5 * (np.sqrt(0.5) * steady + np.sqrt(0.5) * mood)), 0, 10)
        drive = last if recorded or not month else score[:, month - 1]
        said[:, month] = rng.random(people) < expit(1 + slope * (drive - 2))
        last = np.where(said[:, month], score[:, month], last)
        mood = 0.6 * mood + 0.8 * rng.standard_normal(people)
    return score, said


def _bias(slope: float, *, recorded: bool, runs: int, seed: int) -> tuple[float, float]:
    rng = np.random.default_rng(seed)
    plain = weighted = 0.0
    for _ in range(runs):
        score, said = _institute(rng, slope, recorded=recorded)
        weight = answer_weights(history_columns(score, said, 12), said[:, 12])
        case = score[:, 12] >= 4
        found = weighted_prevalence(case, weight, np.arange(len(case)))
        assert found is not None
        plain += (found.plain - case.mean()) / runs
        weighted += (found.weighted - case.mean()) / runs
    return plain, weighted


@pytest.mark.parametrize(("slope", "recorded"), [(-0.25, True), (-0.4, True), (-0.12, False)])
def test_weighting_removes_four_fifths_of_the_bias(slope, recorded):
    # 25 runs of 3000 people; Monte-Carlo error of either bias about 0.1 points, of the share removed 2 to 6
    # points.
    plain, weighted = _bias(slope, recorded=recorded, runs=25, seed=151)
    assert plain < -0.015, "the raw answers must be biased, or there is nothing to remove"
    assert 1 - weighted / plain >= 0.80, (plain, weighted)


def test_weighting_cannot_rescue_answers_missing_for_their_own_sake():
    rng = np.random.default_rng(152)
    case = rng.random(20_000) < 0.21
    said = rng.random(20_000) < np.where(case, 0.8, 0.5)
    noise = np.column_stack([np.ones(20_000), rng.standard_normal(20_000)])
    found = weighted_prevalence(case, answer_weights(noise, said), np.arange(20_000))
    assert found is not None
    assert found.weighted == pytest.approx(found.plain, abs=0.01)
    assert found.weighted > case.mean() + 0.07
    band = [s.share for s in non_ignorable(found.weighted, int(said.sum()), 20_000, (-1.5, 0.0, 1.5))]
    assert band[0] < case.mean() < band[1] < band[2], "the band around it holds the truth"


def test_weights_are_one_where_everybody_or_nobody_answered():
    design = np.ones((4, 1))
    assert answer_weights(design, np.ones(4, bool)).tolist() == [1, 1, 1, 1]
    assert answer_weights(design, np.zeros(4, bool)).tolist() == [0, 0, 0, 0]
    assert weighted_prevalence(np.ones(4, bool), np.zeros(4), np.arange(4)) is None


def test_logistic_fit_is_the_log_odds_ratio():
    # A 2 x 2 table has a closed form: 30/70 against 10/90.
    x = np.repeat([0, 1, 0, 1], [90, 70, 10, 30])
    y = np.repeat([0, 0, 1, 1], [90, 70, 10, 30])
    beta = logistic_fit(np.column_stack([np.ones(200), x]), y)
    assert beta == pytest.approx([np.log(10 / 90), np.log(30 * 90 / (70 * 10))], abs=1e-5)


def test_logistic_fit_survives_what_is_settled_by_one_column():
    x = np.repeat([0.0, 1.0], 20)
    assert np.isfinite(logistic_fit(np.column_stack([np.ones(40), x]), x)).all()


def test_raking_meets_the_head_counts():
    rng = np.random.default_rng(5)
    age, role = rng.integers(0, 3, 300), rng.integers(0, 2, 300)
    margins = {"age": (age, {0: 50.0, 1: 30.0, 2: 20.0}), "role": (role, {0: 70.0, 1: 30.0})}
    weight = rake(np.ones(300), margins)
    for codes, counts in margins.values():
        for code, count in counts.items():
            assert weight[codes == code].sum() == pytest.approx(count, rel=1e-8)


def test_raking_leaves_out_a_category_nobody_answered_in():
    weight = rake([1.0, 1.0], {"age": ([0, 0], {0: 4.0, 1: 6.0})})
    assert weight.tolist() == [2.0, 2.0]


def test_history_reads_the_past_only():
    rng = np.random.default_rng(6)
    score, said = rng.integers(0, 11, (50, 12)), rng.random((50, 12)) < 0.7
    before = history_columns(score, said, 6)
    score[:, 6:], said[:, 6:] = 10, True
    assert (history_columns(score, said, 6) == before).all()
    # Not answered means not read: whatever stands there has no effect.
    score[~said] = 99
    assert (history_columns(score, said, 6) == before).all()
    assert history_columns(score, said, 0).shape == (50, 7)


def test_response_of_nobody_is_a_hold():
    assert response(0, 0).share is None
    assert response(0, 0).reason == "nobody was asked"
    assert response(40, 31).share == pytest.approx(0.775)
    with pytest.raises(ValueError, match="answered of"):
        response(3, 4)


def test_items_left_out_count_among_those_who_took_part():
    asked = np.array([[1, 1, 0], [1, 1, 0], [1, 1, 0]], bool)
    answered = np.array([[1, 0, 0], [1, 1, 0], [0, 0, 0]], bool)
    # The third person answered nothing: no take-part, no item left out. The third item was never asked.
    assert item_non_response(asked, answered).tolist() == [0.0, 0.5, -1.0]


def test_sensitivity_keeps_nobody_and_everybody_where_they_are():
    for share in (0.0, 1.0):
        assert {s.share for s in non_ignorable(share, 10, 20)} == {share}
    mid = {s.delta: s.share for s in non_ignorable(0.5, 50, 100)}
    assert mid[0.0] == pytest.approx(0.5)
    assert mid[1.0] == pytest.approx(0.5 * 0.5 + 0.5 * expit(1.0))


def test_worst_bounds_span_all_and_nothing():
    bounds = worst_bounds(5, 10, 20)
    assert bounds.low < 5 / 20
    assert bounds.high > 15 / 20
    assert worst_bounds(0, 0, 0) == type(bounds)(0.0, 1.0)
