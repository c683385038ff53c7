"""Flags: the arithmetic, what they refuse, and how often they are right by simulation."""

import numpy as np
import pytest

from models.answering import Habits, simulate
from models.exposure_flags import AS_BEFORE, FEW, RISEN, exposure_flag
from models.flag_limit import (
    MONTH_LIMIT,
    calibrate,
    in_control_scores,
    judge_limit,
    newly_flagged,
)
from models.flag_paths import highest_scores, quarter_paths, rounding_noise
from models.flag_rise import Wander, learn_wander, rise_scores
from models.flag_setup import DEFAULT, DEFAULT_WANDER, find_setup, invent, over_limits
from models.flags import cusum_steps, flag_series, shrunk_baseline
from models.flags_together import flag_together
from models.habits import both_above, fit_habits
from models.quarters import quarter_counts

SIZES = (10, 40)


def _worse(habits: Habits, teams: int, regions: int | None, *, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    people = rng.integers(SIZES[0], SIZES[1] + 1, teams)
    alike = simulate(rng, people, 12, habits)
    bad = simulate(rng, people, 24, habits, worse_from=12, worse_odds=2.5, worse_regions=regions)
    return highest_scores(bad, alike)


def test_steps_are_the_log_likelihood_ratio():
    # p0 = 0.2, odds x 2.5: p1 = 0.5 / 1.3 = 5/13. Three of ten: 3 ln(25/13) + 7 ln(10/13).
    step = cusum_steps([[3]], [[10]], [0.2])
    assert step[0, 0] == pytest.approx(3 * np.log(25 / 13) + 7 * np.log(10 / 13))
    assert cusum_steps([[0]], [[0]], [0.2])[0, 0] == 0.0


def test_baseline_is_drawn_towards_the_organisation():
    # 6 of 12 answers with 12 pseudo-answers at 20 %: (6 + 2.4) / 24.
    assert shrunk_baseline([6], [12], 0.2)[0] == pytest.approx(0.35)


def test_a_rise_is_flagged_and_dated():
    cases = np.array([[4] * 12 + [4, 3, 4, 10, 11, 10]])
    found = flag_series(cases, np.full((1, 18), 20), limit=6.0, baseline_periods=12, window=12, overall=0.2)
    assert found.flagged_at[0] == 16
    assert found.since[0] == 15
    assert (found.score[0, :12] == 0).all()


def test_no_answers_is_no_evidence_and_never_nan():
    cases, answers = np.zeros((3, 24), int), np.zeros((3, 24), int)
    answers[1] = 15
    answers[2], cases[2] = 15, 15
    found = flag_series(cases, answers, limit=6.0, baseline_periods=12, window=12, overall=0.2)
    assert found.judged.tolist() == [False, True, True]
    assert found.flagged_at.tolist() == [-1, -1, -1]
    assert np.isfinite(np.concatenate([found.score.ravel(), found.line.ravel(), found.baseline])).all()


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="more cases than answers"):
        flag_series([[1, 9]], [[5, 5]], limit=6, baseline_periods=1, window=12, overall=0.2)
    with pytest.raises(ValueError, match="baseline periods"):
        flag_series([[1, 2]], [[5, 5]], limit=6, baseline_periods=2, window=12, overall=0.2)


def test_false_flags_of_40_teams_a_year_with_answers_that_hang_together():
    # Monthly counts of one series a team, nothing changes. 6000 teams: Monte-Carlo error about 0.07 of 40.
    rng = np.random.default_rng(401)
    found = judge_limit(in_control_scores(rng, Habits(), teams=6000, sizes=SIZES), MONTH_LIMIT)
    assert found.flagged + 2 * found.error <= 1.0, found


def test_three_truly_worsened_teams_are_mostly_found_within_the_year():
    # Odds x 2.5 from the 13th month. 3000 teams: Monte-Carlo error 0.02 of 3.
    found = _worse(Habits(), 3000, None, seed=402)
    assert 3 * (found >= MONTH_LIMIT).mean() >= 2.5


def test_published_quarters_hold_the_promise_and_find_what_has_worsened():
    # Set-up for default habits, judged on fresh teams: nine regions, rounded quarters, four years, a team
    # counts if any region or all together flag it. 1500 teams: Monte-Carlo error 0.13 of 40; 500 worsened
    # teams: 0.06 of 3.
    habits = Habits(regions=9)
    sizes = np.arange(SIZES[0], SIZES[1] + 1)
    setup = find_setup(np.random.default_rng(403), habits, sizes, teams=2000)
    assert setup.false_flags + 2 * setup.error <= 1.0
    rng = np.random.default_rng(404)
    answers = invent(rng, rng.choice(sizes, 1500), 60, habits)
    over = over_limits(quarter_paths(answers, setup.wander), setup.limits)
    years = newly_flagged(over.astype(float), 1.0, 4)
    assert len(years) == 4
    assert all(year.flagged <= 1.0 for year in years), years
    bad = invent(rng, rng.choice(sizes, 500), 24, habits, worse_from=12, worse_odds=2.5)
    found = over_limits(quarter_paths(bad, setup.wander, overall=answers.overall), setup.limits)
    assert 3 * found.any(1).mean() >= 2.5
    assert setup.finds_all >= 2.5
    assert setup.finds_one < 1.0, "one region alone stays hard to see in rounded quarters"
    assert setup.limits.first < setup.limits.later, "a frozen baseline ages"


def test_small_teams_that_have_worsened_are_found_from_published_quarters():
    # Teams of 10 to 20. Limits from 5000 calm teams a way (error of their false flags 0.08 of 40); 1500
    # worsened teams: 0.03 of 3.
    habits, sizes = Habits(regions=9), np.arange(10, 21)
    setup = find_setup(np.random.default_rng(405), habits, sizes)
    assert setup.false_flags + 2 * setup.error <= 1.0
    rng = np.random.default_rng(406)
    bad = invent(rng, rng.choice(sizes, 1500), 24, habits, worse_from=12, worse_odds=2.5)
    alike = invent(rng, rng.choice(sizes, 1500), 12, habits)
    found = over_limits(quarter_paths(bad, setup.wander, overall=alike.overall), setup.limits)
    assert 3 * found.any(1).mean() >= 2.5


def test_how_averages_stray_is_read_back():
    # Averages drawn from the model itself; 8000 teams: Monte-Carlo error of a covariance about 3 %.
    truth = Wander(0.01, 0.05, 0.1, 0.5, 0.02, 0.4)
    rng = np.random.default_rng(407)
    people = np.repeat(rng.integers(10, 30, 8000)[:, None], 6, 1).astype(float)
    lag = np.abs(np.subtract.outer(np.arange(6), np.arange(6)))

    def spread(wander: Wander, n: float) -> np.ndarray:
        person = wander.lasting + wander.wandering * wander.carried**lag + wander.once * (lag == 0)
        return wander.team + person / n + wander.rounding / n**2 * (lag == 0)

    draws = np.stack([np.linalg.cholesky(spread(truth, n)) @ rng.standard_normal(6) for n in people[:, 0]])
    found = learn_wander([(draws, people)])
    for n in (10.0, 30.0):
        assert spread(found, n) == pytest.approx(spread(truth, n), rel=0.1)
    with pytest.raises(ValueError, match="large enough"):
        learn_wander([(draws, people * 0)])


def test_a_rise_is_scored_as_least_squares_has_it():
    # Two baseline quarters and one after, hidden ones without weight: z of a rise in the last by hand.
    wander = Wander(0.01, 0.0, 0.0, 0.5, 0.16, 0.0)
    y, n = np.array([[-0.1, 0.0, 0.5, 0.4]]), np.array([[16.0, 16.0, 0.0, 16.0]])
    score, start = rise_scores(y, n, wander, baseline_periods=2, handicap=(0.0, 5.0))
    # Var of a period 0.02, covariance 0.01: expected (0.01 / 0.03) * (-0.1 + 0) = -1/30, left 0.02 - 2/300.
    assert score[0, 3] == pytest.approx((0.4 + 1 / 30) / np.sqrt(0.02 - 1 / 150), rel=1e-6)
    assert start[0, 3] == 3
    assert score[0, 2] == 0.0, "a hidden quarter is not judged"
    later, _ = rise_scores(y, n, Wander(0, 0.0, 0.2, 0.5, 0, 0), baseline_periods=2, when=[0, 1, 2, 9])
    near, _ = rise_scores(y, n, Wander(0, 0.0, 0.2, 0.5, 0, 0), baseline_periods=2)
    assert later[0, 3] != near[0, 3], "places in the calendar count, not places in the list"


def test_all_regions_together_say_when_the_rise_began_and_pass_over_hidden_regions():
    still, risen = np.array([[5.0] * 4 + [5.0] * 4]), np.array([[5.0] * 4 + [10.0] * 4])
    people = np.full((1, 8), 20.0)
    nobody = np.zeros((1, 8))
    options = {"baseline_periods": 4, "count_noise": rounding_noise()}
    calm = flag_together([still] * 9, [people] * 9, [0.25] * 9, DEFAULT_WANDER, **options)
    up = flag_together(
        [risen] * 9 + [nobody], [people] * 9 + [nobody], [0.25] * 9 + [0.0], DEFAULT_WANDER, **options
    )
    one = flag_series(risen, people, limit=6, overall=0.25, window=4, **options)
    assert calm.score.max() == pytest.approx(0.0, abs=1e-9)
    assert up.score[0, -1] >= DEFAULT.later
    assert up.highest[0, -1] == pytest.approx(one.score[0, -1])
    assert up.start[0, -1] == 4
    assert not flag_together([nobody], [nobody], [0.0], DEFAULT_WANDER, **options).judged[0]
    with pytest.raises(ValueError, match="no region"):
        flag_together([], [], [], DEFAULT_WANDER, **options)


def test_a_sum_without_end_would_in_time_flag_far_too_many():
    rng = np.random.default_rng(406)
    answers = simulate(rng, rng.integers(SIZES[0], SIZES[1] + 1, 2000), 60, Habits())
    cases, n = answers.counts()
    overall = cases[:, :12].sum() / n[:, :12].sum()

    def in_fifth_year(window: int) -> float:
        found = flag_series(cases, n, limit=8.0, baseline_periods=12, window=window, overall=overall)
        return 40 * float((found.score[:, 48:] >= 8.0).any(1).mean())

    assert in_fifth_year(60) > in_fifth_year(12) + 0.4


def test_a_limit_is_found_for_a_promise_and_holds_on_fresh_teams():
    habits = Habits(steady=0.3, persistence=0.8)
    limit = calibrate(in_control_scores(np.random.default_rng(1), habits, teams=3000, sizes=SIZES))
    fresh = in_control_scores(np.random.default_rng(2), habits, teams=3000, sizes=SIZES)
    assert limit > MONTH_LIMIT, "answers that wander more need a higher limit"
    assert judge_limit(fresh, limit).flagged <= 1.0
    with pytest.raises(ValueError, match="too few"):
        calibrate(np.zeros(100))


def test_habits_are_read_back_from_answers():
    truth = Habits(prevalence=0.3, steady=0.5, persistence=0.6, turnover=0.0, team_sd=0.0)
    answers = simulate(np.random.default_rng(7), np.full(160, 25), 24, truth)
    case = answers.case[..., 0].reshape(24, -1).T
    found = fit_habits(case, answers.answered.reshape(24, -1).T)
    assert found.prevalence == pytest.approx(0.3, abs=0.02)
    assert found.steady == pytest.approx(0.5, abs=0.1)
    assert found.persistence == pytest.approx(0.6, abs=0.15)
    assert fit_habits(np.zeros((5, 6), bool), np.zeros((5, 6), bool)) == Habits()
    # Sheppard 1899: P(both above the median) = 1/4 + arcsin(r)/(2 pi); 1/3 at r = 1/2.
    assert both_above(0.0, 0.5) == pytest.approx(1 / 3)


def test_rounding_noise_is_the_variance_of_random_rounding():
    draws = np.random.default_rng(3).random((200_000, 5))
    noise = [np.var(np.where(draws[:, r] < r / 5, 5 - r, -r)) for r in range(5)]
    assert np.mean(noise) == pytest.approx(rounding_noise(5), rel=0.01)


def test_quarters_show_multiples_over_enough_people_only():
    rng = np.random.default_rng(8)
    answers = simulate(rng, rng.integers(5, 30, 200), 12, Habits())
    found = quarter_counts(answers, rng)
    assert (found.published % 5 == 0).all()
    assert ((found.n == 0) | (found.n >= 10)).all()
    assert (found.published <= found.n).all()
    assert (found.published[found.n == 0] == 0).all()


def test_exposure_false_flags_and_power():
    # 800 teams in control, months with lag-1 correlation 0.3: Monte-Carlo error about 0.2 of 40.
    rng = np.random.default_rng(9)
    noise = rng.standard_normal((800, 24))
    for month in range(1, 24):
        noise[:, month] = 0.3 * noise[:, month - 1] + np.sqrt(1 - 0.3**2) * noise[:, month]

    def flagged(series: np.ndarray) -> float:
        return float(
            np.mean([any(exposure_flag(x[:m]).word == RISEN for m in range(13, 25)) for x in series])
        )

    assert 40 * flagged(noise) <= 1.0
    assert flagged(noise[:200] + np.where(np.arange(24) < 12, 0.0, 3.0)) >= 0.9


def test_exposure_flag_without_data_says_so():
    assert exposure_flag([np.nan] * 24).word == FEW
    assert exposure_flag([6.0] * 10).word == FEW
    assert exposure_flag([6.0, 6.5] * 6 + [np.nan] * 3).word == FEW
    assert exposure_flag([6.0, 6.5] * 7).word == AS_BEFORE
    found = exposure_flag([6.0, 6.5] * 6 + [9.0] * 4)
    assert found.word == RISEN
    assert found.since == 12
