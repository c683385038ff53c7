"""New discomfort among those free of it: who is at risk, for how long, and the interval."""

import numpy as np
import pytest

from models.answering import Habits, simulate
from models.counts import TOO_FEW, byar, count_limits
from models.incidence import Onsets, incidence, onsets
from models.rates import garwood


def test_time_at_risk_runs_only_while_free_of_it():
    # free, free, case, case, free, case: at risk 1 month + half a month + (nothing) + half a month.
    found = onsets([0] * 6, [1, 2, 3, 4, 5, 6], [0, 0, 1, 1, 0, 1])
    assert found.events.tolist() == [2]
    assert found.months.tolist() == [2.0]


def test_a_missed_survey_is_bridged_a_long_silence_is_not():
    found = onsets([0, 0, 1, 1], [1, 3, 1, 6], [0, 1, 0, 1])
    assert found.person.tolist() == [0]
    assert found.months.tolist() == [1.0]
    assert found.events.tolist() == [1]


def test_order_of_rows_does_not_matter():
    rng = np.random.default_rng(1)
    person, month = np.repeat(np.arange(30), 12), np.tile(np.arange(12), 30)
    case = rng.random(360) < 0.3
    shuffled = rng.permutation(360)
    one, other = onsets(person, month, case), onsets(person[shuffled], month[shuffled], case[shuffled])
    assert (one.events == other.events).all()
    assert (one.months == other.months).all()


def test_two_answers_in_a_month_are_refused():
    with pytest.raises(ValueError, match="two answers in one month"):
        onsets([0, 0], [1, 1], [0, 1])


@pytest.mark.parametrize("case", [[], [0], [1]])
def test_nothing_to_compare_gives_words(case):
    found = incidence(onsets([0] * len(case), list(range(len(case))), case))
    assert (found.rate, found.low, found.high, found.reason) == (None, None, None, TOO_FEW)


def test_nobody_ever_and_everybody_always():
    person, month = np.repeat(np.arange(20), 12), np.tile(np.arange(12), 20)
    never = incidence(onsets(person, month, np.zeros(240, bool)))
    assert (never.rate, never.low, never.months) == (0.0, 0.0, 220.0)
    # Garwood's upper limit of no event is -ln(0.025) = 3.6889.
    assert never.high == pytest.approx(100 * 3.6889 / 220, abs=1e-3)
    assert incidence(onsets(person, month, np.ones(240, bool))).reason == TOO_FEW


def test_exact_below_ten_byar_from_ten():
    assert count_limits(9) == garwood(9)
    assert count_limits(10) == byar(10)
    assert byar(0)[0] == 0.0
    with pytest.raises(ValueError, match="out of bounds"):
        byar(-1)


def test_the_same_few_people_again_and_again_widen_the_interval():
    spread = incidence(Onsets(np.arange(40), np.ones(40, int), np.full(40, 10.0)))
    heaped = incidence(Onsets(np.arange(40), np.repeat([8, 0], [5, 35]), np.full(40, 10.0)))
    assert spread.rate == heaped.rate == pytest.approx(10.0)
    assert heaped.dispersion > 3
    assert heaped.high is not None
    assert spread.high is not None
    assert heaped.high > spread.high


def test_interval_covers_the_long_run_rate():
    # 25 people, 24 months, 700 institutes; the truth is the rate of 40 000 people. Monte-Carlo error 0.8
    # points.
    habits = Habits(prevalence=0.25, turnover=0.0, team_sd=0.0, answering=0.8)

    def found(seed: int, teams: int, size: int) -> list:
        answers = simulate(np.random.default_rng(seed), np.full(teams, size), 24, habits)
        out = []
        for team in range(teams):
            month, seat = np.nonzero(answers.answered[:, team])
            case = answers.case[month, team, seat, 0]
            out.append(incidence(onsets(seat, month, case)))
        return out

    truth = found(71, 1, 40_000)[0].rate
    covered = np.mean([f.low <= truth <= f.high for f in found(72, 700, 25)])
    assert 0.92 <= covered <= 0.975, covered
