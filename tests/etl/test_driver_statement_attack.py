"""All numbers of one driver statement together against one person's answers: where both stay possible.

An invented organisation of some people and 12 months. The attacker knows everybody's exposure, hence the
weight of each answer in each published number, and what some answered; an integer program looks for answers
of all others that give every published number. The model fits are put into straight lines (least squares on
the same columns), as only then does an integer program decide, and the intervals of the statement are not
used. An argument by attack, not a proof. The worst attacker takes it that everybody answers alike all year.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from etl.release_driver_pictures import MANY_NUMBERS_PEOPLE
from models.driver_standard import person_worth
from models.result_gate import RATIO, result_step

MONTHS, POINTS_DRAWN, LAGS = 12, 21, 7

Shape = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Statement:
    """Published numbers: ``low <= weights @ answers <= high`` is all they say."""

    weights: np.ndarray
    low: np.ndarray
    high: np.ndarray


def weights_of(rng: np.random.Generator, people: int, rising: bool) -> tuple[np.ndarray, np.ndarray]:
    """Return each answer's weight in curve, lags and effect, and the step of each published one."""
    level = 6 + 2.5 * rng.normal(size=people)
    hours = np.clip(level[:, None] + 1.2 * rng.normal(size=(people, MONTHS + LAGS - 1)), 0, None)
    person = np.repeat(np.arange(people), MONTHS)
    now = hours[:, LAGS - 1 :].ravel()
    age = rng.integers(0, 4, people)[person]
    season = np.tile(np.arange(MONTHS), people) / MONTHS
    rest = np.column_stack(
        [np.ones(len(now)), *(age == k for k in (1, 2, 3)), season, np.sin(2 * np.pi * season)]
    )
    centred = (now - 6) / 5

    # Expected share had everybody this exposure: a cubic, and a bend for the curve that may only rise.
    places = (np.linspace(*np.quantile(now, (0.05, 0.95)), POINTS_DRAWN) - 6) / 5
    shapes: list[Shape] = [lambda x: np.column_stack([x, x**2, x**3])]
    if rising:
        shapes.append(lambda x: np.column_stack([x, np.maximum(x, 0.0)]))
    curve = np.vstack([_curve(rest, shape, centred, places) for shape in shapes])

    # Seven months at once along a curve of degree 2; ratios to a tenth, a point where one in ten has it.
    windows = np.stack([hours[:, LAGS - 1 - k : LAGS - 1 - k + MONTHS].ravel() / 5 for k in range(LAGS)], -1)
    basis = np.vander(np.arange(LAGS) / LAGS, 3)
    by_lag = basis @ np.linalg.pinv(np.column_stack([windows @ basis, rest]))[:3]
    lags = np.vstack([by_lag, by_lag.sum(0)]) * 10

    slope = np.linalg.pinv(np.column_stack([centred, rest]))[:1]
    worth = person_worth(now, rest, person, 5.0)
    points, ratio = result_step(people), result_step(people, RATIO)
    effect, effect_ratio = result_step(people, influence=worth), result_step(people, RATIO, worth / 10)
    rows, steps = [curve, lags], [*[points] * len(curve), *[ratio] * len(lags)]
    if effect is not None and effect_ratio is not None:
        rows, steps = [*rows, 100 * slope, 10 * slope], [*steps, effect, effect_ratio]
    return np.vstack(rows), np.array(steps, float)


def _curve(rest: np.ndarray, shape: Shape, x: np.ndarray, places: np.ndarray) -> np.ndarray:
    solve = np.linalg.pinv(np.column_stack([rest, shape(x)]))
    mean = np.broadcast_to(rest.mean(0), (len(places), rest.shape[1]))
    return 100 * np.hstack([mean, shape(places)]) @ solve


def answers_of(rng: np.random.Generator, people: int, steady: bool) -> np.ndarray:
    """Return answers of all people and months, one in four with discomfort."""
    own = rng.random((people, 1 if steady else MONTHS)) < 0.25
    return np.broadcast_to(own, (people, MONTHS)).ravel().astype(float)


def stated(weights: np.ndarray, answers: np.ndarray, steps: np.ndarray) -> Statement:
    value = np.round(weights @ answers / steps) * steps
    return Statement(weights, value - steps / 2, value + steps / 2)


def possible(said: Statement, known: np.ndarray, steady: bool) -> bool:
    """Say whether any answers give the statement; `known` holds 0, 1 or nan for what is to be found."""
    weights, fixed = said.weights, known
    if steady:
        # One answer a person all year: the attacker takes it for granted, which leaves far fewer worlds.
        weights = weights.reshape(len(weights), -1, MONTHS).sum(2)
        fixed = known.reshape(-1, MONTHS)[:, 0]
    open_ = np.isnan(fixed)
    bounds = Bounds(np.where(open_, 0.0, fixed), np.where(open_, 1.0, fixed))
    scale = (said.high - said.low)[:, None]
    rows = LinearConstraint(weights / scale, said.low / scale[:, 0], said.high / scale[:, 0])
    found = milp(np.zeros(len(fixed)), constraints=rows, bounds=bounds, integrality=np.ones(len(fixed)))
    assert found.status in (0, 2), found.message
    return found.status == 0


def attacked(
    seed: int, people: int, *, steady: bool, told: int, finer: float = 1, tried: int = 3
) -> list[tuple[bool, bool]]:
    """Return for persons tried whether discomfort in none and in all of their months fits the statement."""
    rng = np.random.default_rng(seed)
    weights, steps = weights_of(rng, people, rising=not steady)
    answers = answers_of(rng, people, steady)
    said = stated(weights, answers, steps / finer)
    known = np.where(np.repeat(np.arange(people), MONTHS) < told, answers, np.nan)
    found = []
    for person in rng.choice(np.arange(told, people), tried, replace=False):
        at = slice(person * MONTHS, (person + 1) * MONTHS)
        both = []
        for answer in (0.0, 1.0):
            guess = known.copy()
            guess[at] = answer
            both.append(possible(said, guess, steady))
        found.append((both[0], both[1]))
    return found


def test_a_hundred_people_with_a_year_of_answers_each_stay_open():
    """Both curves, lags and effect; three in ten tell; no or all months of a person turned round."""
    assert attacked(1, 100, steady=False, told=30, tried=2) == [(True, True)] * 2


def test_a_hundred_people_who_answer_alike_all_year_stay_open():
    """The average curve, lags and effect; three in ten tell."""
    assert attacked(1, 100, steady=True, told=30, tried=2) == [(True, True)] * 2


def test_where_it_ends_twenty_people_are_read_off_and_so_are_a_hundred_of_whom_eighty_tell():
    for people, told in ((20, 0), (30, 9), (100, 80)):
        for never, always in attacked(0, people, steady=True, told=told):
            assert never != always, (people, told)
    assert MANY_NUMBERS_PEOPLE >= 100


def test_without_rounding_the_same_attack_finds_everybody():
    """Ten people are open; numbers to a thousandth of the step leave one answer for each."""
    for never, always in attacked(2, 100, steady=True, told=90, finer=1000):
        assert never != always
