"""Attacks on published model results: they fail against the gate and succeed without its rules.

The attacker knows everybody's place in the model (weights), who answered, and what three members of ten said.
All answers that fit what was published are listed; an answer is known where only one value is left.
"""

from collections.abc import Sequence

import numpy as np
import pytest

from models.disclosure import compatible_counts, round_count
from models.result_gate import Estimate, Gated, Ground, Question, Said, Withheld, gate_result, round_outward

PEOPLE, TOLD = 24, 6
"""24 people, of whom 6 tell: 18 answers open, 262,144 worlds, all looked at."""


def worlds_of(weights: np.ndarray) -> np.ndarray:
    """Return the weighted sum of each of the 2**n ways to answer; bit k of the place is person k's answer."""
    sums = np.zeros(1)
    for weight in weights:
        sums = np.concatenate([sums, sums + weight])
    return sums


def known(fits: np.ndarray) -> int:
    """Count the people with one and the same answer in all worlds that fit."""
    places = np.nonzero(fits)[0]
    assert len(places), "the truth must fit"
    n = int(np.log2(len(fits)))
    return sum(len(np.unique(places >> k & 1)) == 1 for k in range(n))


def invented(seed: int, prevalence: float) -> tuple[np.ndarray, np.ndarray]:
    """Weights in points, as of a contrast between two exposures with a jitter, and answers."""
    rng = np.random.default_rng(seed)
    side = np.where(np.arange(PEOPLE) % 2, 1.0, -1.0) * rng.uniform(0.6, 1.0, PEOPLE)
    return 100 / PEOPLE * side, (rng.random(PEOPLE) < prevalence).astype(int)


def said(value: float, weights: np.ndarray, period: str, earlier: Sequence[Said]):
    ways = {f"t{k}": f"{w:.9f}" for k, w in enumerate(weights)}
    ground = Ground((PEOPLE,), PEOPLE - 2, ways, float(np.abs(weights).max()))
    asked = Question("discomfort/NECK", "driver hours", period)
    return gate_result(asked, Estimate(value, value - 9, value + 9), ground, earlier), Said(asked, ways)


def fits(weights: np.ndarray, answers: np.ndarray, value: float, step: float) -> np.ndarray:
    """Worlds whose sum, with what was told, gives the published value."""
    told = weights[:TOLD] @ answers[:TOLD]
    sums = told + worlds_of(weights[TOLD:])
    return np.abs(sums - value) <= step / 2 + 1e-6


@pytest.mark.parametrize("prevalence", [0.0, 0.02, 0.25, 0.5, 0.8, 1.0])
def test_one_rounded_statement_leaves_every_answer_open_and_an_exact_one_none(prevalence):
    for seed in range(5):
        weights, answers = invented(seed, prevalence)
        exact = float(weights @ answers)
        gated, _ = said(exact, weights, "2026", ())
        assert isinstance(gated, Gated)
        assert known(fits(weights, answers, gated.value, gated.step)) == 0
        # Nine decimals are a knapsack with one solution.
        assert known(fits(weights, answers, round(exact, 9), 1e-7)) == PEOPLE - TOLD


def test_a_step_finer_than_one_person_lets_extremes_through():
    """Equal weights: any step under one person's worth is the exact count."""
    weights, answers = np.full(PEOPLE, 100 / PEOPLE), np.zeros(PEOPLE, int)
    at_floor = round_outward(0.0, 0.0, 0.0, 5)[0]
    assert known(fits(weights, answers, at_floor, 2 * 5)) == 0
    assert known(fits(weights, answers, 0.0, 2)) == PEOPLE - TOLD


def test_repeated_statements_find_everybody_unless_only_the_first_is_made():
    """The same people and answers against the exposure of one month after another."""
    answers = invented(11, 0.3)[1]
    earlier: list[Said] = []
    with_rule = without = np.ones(2 ** (PEOPLE - TOLD), bool)
    for k in range(40):
        weights = np.random.default_rng(k).permutation(invented(k, 0.3)[0])
        value = float(weights @ answers)
        rounded = round_outward(value, value, value, 5)[0]
        without = without & fits(weights, answers, rounded, 5)
        gated, statement = said(value, weights, "2026", earlier)
        if isinstance(gated, Gated):
            earlier.append(statement)
            with_rule = with_rule & fits(weights, answers, gated.value, gated.step)
    assert len(earlier) == 1
    assert known(with_rule) == 0
    assert known(without) == PEOPLE - TOLD


@pytest.mark.parametrize(("people", "step"), [(25, 5), (100, 1)])
def test_one_person_in_and_out_is_given_away_by_two_statements_and_by_none(people, step):
    """Mean of all, and of all but one: exact ones differ by the answer, rounded ones where a step lies."""
    exact = crossed = refused = 0
    trials = 200
    for seed in range(trials):
        rng = np.random.default_rng(seed)
        answers = (rng.random(people) < 0.3).astype(int)
        first, second = 100 * answers.mean(), 100 * answers[1:].mean()
        exact += round((people * first - (people - 1) * second) / 100) == answers[0]
        shown = [round_outward(v, v, v, step)[0] for v in (first, second)]
        counts = [
            {c for c in range(n + 1) if round_outward(100 * c / n, 0, 100, step)[0] == v}
            for n, v in zip((people, people - 1), shown, strict=True)
        ]
        crossed += len({one - other for one in counts[0] for other in counts[1]} & {0, 1}) == 1
        ways = {f"t{k}": "all months" for k in range(people)}
        asked = [Question("discomfort/NECK", "prevalence", p) for p in ("2026", "2026 but one")]
        earlier = [Said(asked[0], ways)]
        # One person more on the floor, so that nothing but nearness stands in the way.
        again = Ground((people,), 20, {k: v for k, v in ways.items() if k != "t0"})
        refused += not isinstance(gate_result(asked[1], Estimate(10, 0, 20), again, earlier), Gated)
    assert exact == trials
    assert crossed > trials / 10
    assert refused == trials


@pytest.mark.parametrize(("late", "told"), [(1, True), (19, True), (20, False)])
def test_a_later_quarter_taken_off_an_earlier_one(late, told):
    """Statements of successive quarters: `late` people answer anew between them, all others enter as before.

    The attacker takes one sum off the other. Exact ones give the newcomers' count, with one newcomer the
    answer; the gate holds statements of all periods against each other and lets only the first be made.
    """
    rng = np.random.default_rng(late)
    answers = (rng.random(100 + late) < 0.3).astype(int)
    first, second = answers[:100].sum(), answers.sum()
    assert second - first == answers[100:].sum()
    ways = {f"t{k}": "1,2,3,4,5,6,7,8,9,10,11,12" for k in range(100)}
    later = ways | {f"t{k}": "13,14,15" for k in range(100, 100 + late)}
    quarters = [
        Question("discomfort/NECK", "drivers", f"2025-01 to {month}") for month in ("2025-12", "2026-03")
    ]
    shown = [
        gate_result(q, Estimate(10, 5, 15), Ground((100,), 50, way), said)
        for q, way, said in ((quarters[0], ways, ()), (quarters[1], later, [Said(quarters[0], ways)]))
    ]
    assert isinstance(shown[0], Gated)
    assert isinstance(shown[1], Withheld) is told
    # Without the rule across periods the second would have come out.
    assert isinstance(gate_result(quarters[1], Estimate(10, 5, 15), Ground((100,), 50, later), ()), Gated)


@pytest.mark.parametrize("prevalence", [0.02, 0.25, 0.5, 0.8])
def test_published_counts_and_one_statement_together_leave_every_answer_open(prevalence):
    """Two teams of 12, three colluders in each; both counts to base 5 and the statement, stable answers."""
    for seed in range(8):
        weights, answers = invented(seed, prevalence)
        order = np.array([0, 1, 2, 12, 13, 14, *range(3, 12), *range(15, 24)])
        weights, answers = weights[order], answers[order]
        teams = [np.isin(order, range(12)), np.isin(order, range(12, 24))]
        gated, _ = said(float(weights @ answers), weights, "2026", ())
        assert isinstance(gated, Gated)
        left = fits(weights, answers, gated.value, gated.step)
        draws = np.random.default_rng(seed).integers(0, 2**53, 2)
        for team, draw in zip(teams, draws, strict=True):
            count = int(answers[team].sum())
            low, high = compatible_counts(round_count(count, 12, int(draw)), 12)
            sums = int(answers[:TOLD] @ team[:TOLD]) + worlds_of(team[TOLD:].astype(float))
            left &= (low <= sums) & (sums <= high)
        assert known(left) == 0
