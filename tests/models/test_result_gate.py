"""The gate of model results: what passes, what is printed, what is withheld."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.disclosure import TOO_SMALL
from models.result_gate import (
    FEW_DEGREES,
    LEANS,
    NEARLY_SAID,
    NO_ESTIMATE,
    ONE_SIDED,
    RATIO,
    SAID_BEFORE,
    Estimate,
    Gated,
    Ground,
    Question,
    Said,
    Withheld,
    gate_result,
    people_apart,
    result_step,
    round_outward,
)

ASKED = Question("discomfort/NECK", "change LIGHT", "2025-01 to 2025-12")
LATER = replace(ASKED, period="2026-01 to 2026-12")
FOUND = Estimate(-7.4, -15.1, -0.4)


def ground(*groups: int, df: float = 10, ways: dict[str, str] | None = None, worth: float | None = None):
    return Ground(groups or (100, 100), df, ways or {}, worth)


def people(n: int, way: str = "m1") -> dict[str, str]:
    return {f"t{k}": way for k in range(n)}


def test_an_effect_over_100_people_is_readable_to_one_point():
    said = gate_result(ASKED, FOUND, ground(100, 250))
    assert said == Gated(ASKED, -7, -16, 0, 1, "points", True)


@pytest.mark.parametrize(
    ("n", "step"), [(20, 5), (49, 5), (50, 2), (99, 2), (100, 1), (5000, 1), (19, None), (1, None)]
)
def test_the_step_is_the_finest_that_one_person_cannot_pass(n, step):
    assert result_step(n) == step
    assert result_step(n, RATIO) == (None if step is None else pytest.approx(step / 10))


@given(st.integers(1, 2000))
def test_no_step_is_finer_than_one_person_and_no_finer_one_would_do(n):
    step = result_step(n)
    if step is None:
        assert 100 / n > 5
    else:
        assert step >= 100 / n
        assert not any(100 / n <= finer < step for finer in (1, 2, 5))


def test_the_step_follows_the_smallest_group_and_the_weight_of_one_person():
    assert gate_result(ASKED, FOUND, ground(20, 500)) == Gated(ASKED, -5, -20, 0, 5, "points", True)
    assert gate_result(ASKED, FOUND, ground(100, worth=1.5)) == Gated(ASKED, -8, -16, 0, 2, "points", True)
    # One tenth, five times: not exactly a half in floating point.
    assert result_step(500, RATIO, sum([0.1] * 5)) == 0.5
    assert gate_result(ASKED, FOUND, ground(100, worth=5.1)) == Withheld(ASKED, LEANS)


@pytest.mark.parametrize(
    ("found", "rest", "reason"),
    [
        (FOUND, ground(19, 300), TOO_SMALL),
        (FOUND, ground(300, 19), TOO_SMALL),
        (FOUND, ground(20, df=9.99), FEW_DEGREES),
        (Estimate(math.nan, math.nan, math.nan), ground(), NO_ESTIMATE),
        (Estimate(math.inf, 0, math.inf), ground(), NO_ESTIMATE),
        (Estimate(50.01, 40, 60), ground(), ONE_SIDED),
        (Estimate(-50.01, -60, -40), ground(), ONE_SIDED),
        (Estimate(0, 0, 3, RATIO), ground(), ONE_SIDED),
        (Estimate(0.099, 0, 3, RATIO), ground(), ONE_SIDED),
        (Estimate(10.01, 3, math.inf, RATIO), ground(), ONE_SIDED),
    ],
)
def test_what_is_withheld_says_why(found, rest, reason):
    assert gate_result(ASKED, found, rest) == Withheld(ASKED, reason)


def test_edges_pass():
    assert isinstance(gate_result(ASKED, FOUND, ground(20, df=10)), Gated)
    assert isinstance(gate_result(ASKED, Estimate(50, 0, 60), ground()), Gated)
    assert isinstance(gate_result(ASKED, Estimate(-50, -60, 0), ground()), Gated)
    for ratio in (0.1, 10.0):
        assert isinstance(gate_result(ASKED, Estimate(ratio, 0, math.inf, RATIO), ground()), Gated)


def test_the_floor_can_be_raised_and_never_lowered():
    assert gate_result(ASKED, FOUND, ground(29), floor=30) == Withheld(ASKED, TOO_SMALL)
    assert isinstance(gate_result(ASKED, FOUND, ground(30), floor=30), Gated)
    assert gate_result(ASKED, FOUND, ground(19), floor=1) == Withheld(ASKED, TOO_SMALL)


def test_a_question_is_answered_once_for_a_period():
    earlier = [Said(ASKED, people(100))]
    # Also where everybody entered it in another way.
    again = gate_result(ASKED, FOUND, ground(ways=people(100, "m2")), earlier)
    assert again == Withheld(ASKED, SAID_BEFORE)
    assert isinstance(gate_result(LATER, FOUND, ground(ways=people(100, "m2")), earlier), Gated)


@pytest.mark.parametrize(("moved", "passes"), [(0, True), (1, False), (19, False), (20, True), (100, True)])
def test_no_second_answer_from_nearly_the_same_records(moved, passes):
    now = people(100) | people(moved, "m2")
    said = gate_result(LATER, FOUND, ground(ways=now), [Said(ASKED, people(100))])
    assert isinstance(said, Gated) is passes
    assert passes or said == Withheld(LATER, NEARLY_SAID)
    other = replace(LATER, outcome="discomfort/KNEE")
    assert isinstance(gate_result(other, FOUND, ground(ways=now), [Said(ASKED, people(100))]), Gated)


def test_nearness_follows_a_raised_floor():
    now, earlier = people(100) | people(25, "m2"), [Said(ASKED, people(100))]
    assert gate_result(LATER, FOUND, ground(ways=now), earlier, floor=30) == Withheld(LATER, NEARLY_SAID)
    assert isinstance(gate_result(LATER, FOUND, ground(ways=now), earlier, floor=25), Gated)


def test_people_apart_counts_comers_goers_and_changed_ways():
    assert people_apart({"a": "1", "b": "1"}, {"a": "1", "b": "2", "c": "1"}) == 2
    assert people_apart({"a": "1"}, {}) == people_apart({}, {"a": "1"}) == 1
    assert people_apart({"a": "1"}, {"a": "1"}) == 0


@pytest.mark.parametrize(
    ("numbers", "step", "expected"),
    [
        ((-7.4, -15.1, -0.4), 5, (-5, -20, 0)),
        ((-7.5, -15, 5), 5, (-5, -15, 5)),
        ((-7.4, -15.1, -0.4), 1, (-7, -16, 0)),
        ((0, -math.inf, math.inf), 5, (0, -math.inf, math.inf)),
        ((1.234, 1.199, 1.301), 0.1, (1.2, 1.1, 1.4)),
        ((2.4, 2.4, 2.4), 5, (0, 0, 5)),
        ((7.6, 7.6, 7.6), 5, (10, 5, 10)),
        # Within a millionth of a step counts as on it.
        ((2.499998, 2.4, 2.6), 5, (5, 0, 5)),
        ((15, 14.999998, 15.000002), 5, (15, 15, 15)),
    ],
)
def test_estimates_go_to_the_nearest_step_and_limits_outward(numbers, step, expected):
    value, low, high = numbers
    assert round_outward(value, low, high, step) == expected


@given(st.floats(-50, 50), st.floats(0, 60), st.floats(0, 60), st.sampled_from([1, 2, 5]))
def test_rounding_never_narrows_an_interval_and_moves_the_estimate_by_half_a_step(value, below, above, step):
    middle, low, high = round_outward(value, value - below, value + above, step)
    assert low <= middle <= high
    assert abs(middle - value) <= step / 2 + 1e-5
    assert low <= value - below + 1e-5
    assert high >= value + above - 1e-5
    assert value - below - low < step + 1e-5
    assert high - value - above < step + 1e-5


@pytest.mark.parametrize(
    ("found", "judged"),
    [
        (Estimate(-7.4, -15.1, -0.4), (-7, -16, -0.001)),
        (Estimate(7.4, 0.4, 15.1), (7, 0.001, 16)),
        (Estimate(-0.4, -0.8, -0.1), (-0.001, -1, -0.001)),
        (Estimate(-7.4, -15.1, 0.0), (-7, -16, 0)),
        (Estimate(-7.4, -15.1, 0.4), (-7, -16, 1)),
        (Estimate(1.42, 1.04, 2.0, RATIO), (1.4, 1.0001, 2.0)),
        (Estimate(0.7, 0.5, 0.96, RATIO), (0.7, 0.5, 0.9999)),
    ],
)
def test_a_verdict_rests_on_what_is_printed(found, judged):
    said = gate_result(ASKED, found, ground())
    assert isinstance(said, Gated)
    assert said.judged() == pytest.approx(judged)


@pytest.mark.parametrize(
    ("found", "left_out"),
    [
        (Estimate(7.0, 0.0, 15.0), False),
        (Estimate(7.0, 0.1, 15.0), True),
        (Estimate(-7.0, -15.0, 0.0), False),
        (Estimate(1.2, 0.9, 1.5, RATIO), False),
        (Estimate(1.2, 1.0, 1.5, RATIO), False),
        (Estimate(1.2, 1.1, 1.2, RATIO), True),
        (Estimate(0.8, 0.8, 0.9, RATIO), True),
    ],
)
def test_whether_no_effect_is_left_out_is_read_off_before_rounding(found, left_out):
    said = gate_result(ASKED, found, ground())
    assert isinstance(said, Gated)
    assert said.no_effect_left_out is left_out


@pytest.mark.parametrize(
    ("found", "rest"),
    [
        (Estimate(1, 2, 3), ground()),
        (Estimate(3, 1, 2), ground()),
        (Estimate(1, 0, 2, "hazard"), ground()),
        (FOUND, Ground((), 20, {})),
    ],
)
def test_what_makes_no_sense_is_refused(found, rest):
    with pytest.raises(ValueError, match=r"interval|groups"):
        gate_result(ASKED, found, rest)
