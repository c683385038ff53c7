"""Ways to flag a team's discomfort, at one promise: rules, kinds of counts, and the best that could be done.

Run: ``python -m tests.benchmarks.compare_flags`` (add ``--bound`` for the best). Three ways in which answers
hang together, three years after the baseline; at most 0.85 of 40 teams a year newly flagged by mistake (4000
teams: Monte-Carlo error 0.09). Found of three teams whose odds grow 2.5 times right after the baseline,
within the year (2000 teams: error 0.02).
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from sklearn.ensemble import HistGradientBoostingClassifier

from models.answering import Answers, Habits, simulate
from models.disclosure import HEALTH_FLOOR_TEAM
from models.flag_limit import newly_flagged
from models.flag_paths import QUARTERS, Published, joined, publish, quarter_paths, rounding_noise
from models.flag_rise import learn_wander
from models.flag_setup import AT_ONCE, WAYS
from models.flags import LEAST_BASELINE_ANSWERS, damped_steps, shrunk_baseline, window_scores
from models.quarters import MONTHS

MOST, REGION_SHARE = 0.85, 0.2
TEAMS, WORSE = 4000, 2000

Paths = tuple[np.ndarray, np.ndarray]
"""Scores of the highest region and of all together, each (teams, quarters)."""


@dataclass(frozen=True)
class World:
    """Calm teams, one element a way, and teams that worsened in all regions and in one."""

    calm: tuple[Published, ...]
    worse: Published
    one: Published


def exact_quarters(answers: Answers) -> Published:
    """Return cohorts' counts by quarter without rounding, 0 where hidden."""
    teams, quarters, regions = answers.case.shape[1], len(answers.case) // MONTHS, answers.case.shape[3]
    cases, people = np.zeros((regions, teams, quarters)), np.zeros((teams, quarters))
    for quarter in range(quarters):
        months = slice(quarter * MONTHS, (quarter + 1) * MONTHS)
        said = answers.answered[months]
        cohort = np.asarray(said.any(0) & answers.stays[months][1:].all(0))
        shown = cohort.sum(1) >= HEALTH_FLOOR_TEAM
        hit = (answers.case[months] & said[..., None]).any(0) & cohort[..., None]
        cases[:, :, quarter] = (hit.sum(1) * shown[:, None]).T
        people[:, quarter] = cohort.sum(1) * shown
    return Published(tuple(cases), (people,) * regions)


def invent_both(
    rng: np.random.Generator, people: np.ndarray, months: int, habits: Habits, **worse: float | None
) -> tuple[Published, Published]:
    """Return published and exact quarters of the same invented teams."""
    shown, exact = [], []
    for begin in range(0, len(people), AT_ONCE):
        some = simulate(rng, people[begin : begin + AT_ONCE], months, habits, **worse)  # pyright: ignore[reportArgumentType]
        shown.append(publish(some, rng))
        exact.append(exact_quarters(some))
    return joined(shown), joined(exact)


def worlds(
    rng: np.random.Generator, sizes: np.ndarray, habits: Habits, years: int = 3
) -> tuple[World, World]:
    """Return the published and the exact side of one set of simulations."""
    people, months = rng.choice(sizes, TEAMS), 12 * (1 + years)
    calm = [invent_both(rng, people, months, replace(habits, steady=s, persistence=p)) for s, p in WAYS]
    worse = invent_both(rng, people[:WORSE], 24, habits, worse_from=12, worse_odds=2.5)
    one = invent_both(rng, people[:WORSE], 24, habits, worse_from=12, worse_odds=2.5, worse_regions=1)
    shown, exact = (World(tuple(way[k] for way in calm), worse[k], one[k]) for k in (0, 1))
    return shown, exact


def summed(own: Published, overall: Sequence[float], noise: float) -> Paths:
    """Return the rule before: log-likelihood ratios of the regions, highest and added up."""
    total, highest = np.zeros(own.cases[0].shape), np.zeros(own.cases[0].shape)
    for x, n, share in zip(own.cases, own.people, overall, strict=True):
        before_x, before_n = x[:, :QUARTERS].sum(1), n[:, :QUARTERS].sum(1)
        p0 = shrunk_baseline(before_x, before_n, share)
        steps = damped_steps(x, n, p0, 2.5, noise) * (before_n >= LEAST_BASELINE_ANSWERS)[:, None]
        total += steps
        highest = np.maximum(highest, window_scores(steps, QUARTERS, QUARTERS)[0])
    return highest, window_scores(total, QUARTERS, QUARTERS)[0]


def by_least_squares(world: World) -> Callable[[Published], Paths]:
    """Return the rule in use: the average against what the baseline lets expect."""
    wander = learn_wander([one.averages() for one in world.calm])

    def paths(own: Published) -> Paths:
        found = quarter_paths(own, wander, overall=world.calm[0].overall)
        return found.highest, found.score

    return paths


def judge(name: str, world: World, paths: Callable[[Published], Paths], *, by_age: bool) -> None:
    """Print what a rule finds at the promise, with one limit or with one for the first year and one later."""
    calm = [paths(one) for one in world.calm]
    region = _limit(lambda at: max(_years([high / at for high, _ in calm])) > REGION_SHARE)

    def over(limits: tuple[float, float], pair: Paths) -> np.ndarray:
        age = np.arange(pair[1].shape[1]) < 2 * QUARTERS
        return np.maximum(pair[0] / region, pair[1] / np.where(age, *limits))

    def missed(limits: tuple[float, float], years: slice) -> bool:
        return max(_years([over(limits, pair) for pair in calm], years)) > MOST

    first = _limit(lambda at: missed((at, at), slice(0, 1) if by_age else slice(None)))
    later = _limit(lambda at: missed((first, at), slice(1, None))) if by_age else first
    found = [3 * (over((first, later), paths(one)) >= 1).any(1).mean() for one in (world.worse, world.one)]
    print(f"  {name}: limits {region:.1f}, {first:.2f}, {later:.2f}; of 3 found {found[0]:.2f} "
          f"(one region {found[1]:.2f})", flush=True)  # fmt: skip


def _years(scores: list[np.ndarray], years: slice = slice(None)) -> list[float]:
    return [year.flagged for one in scores for year in newly_flagged(one, 1.0, QUARTERS)[years]]


def _limit(too_many: Callable[[float], bool]) -> float:
    low, high = 0.5, 60.0
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if too_many(middle) else (low, middle)
    return high


def bound(name: str, rng: np.random.Generator, sizes: np.ndarray, habits: Habits, kind: int) -> None:
    """Print what a classifier finds that was shown both kinds of teams and knows when the change was.

    Trained on other teams than it is judged on; one judgement at the end of the year, on all quarters at
    once. It stands for the likelihood ratio at the known time, which has no closed form here.
    """
    learn, test = (worlds(rng, sizes, habits, years=1)[kind] for _ in range(2))
    classes = [*learn.calm, learn.calm[1], learn.worse]
    seen = np.concatenate([_features(one, learn.calm[0].overall) for one in classes])
    label = np.repeat(np.arange(len(classes)) == len(classes) - 1, [len(one.cases[0]) for one in classes])
    model = HistGradientBoostingClassifier(
        max_iter=150, learning_rate=0.06, l2_regularization=5.0, random_state=1
    ).fit(seen, label)
    calm = [model.predict_proba(_features(one, learn.calm[0].overall))[:, 1] for one in test.calm]
    limit = max(np.quantile(one, 1 - MOST / 40) for one in calm)
    found = model.predict_proba(_features(test.worse, learn.calm[0].overall))[:, 1] >= limit
    print(
        f"  best that a trained classifier does with {name}, first year: {3 * found.mean():.2f}", flush=True
    )


def _features(own: Published, overall: Sequence[float]) -> np.ndarray:
    off = np.stack([x - n * share for x, n, share in zip(own.cases, own.people, overall, strict=True)])
    n, total = own.people[0][:, : 2 * QUARTERS], off.sum(0)[:, : 2 * QUARTERS]
    before, after = off[:, :, :QUARTERS].sum(2), off[:, :, QUARTERS : 2 * QUARTERS].sum(2)
    expected = before.sum(0) / (n[:, :QUARTERS].sum(1) + 12)
    rise = total[:, QUARTERS:] - n[:, QUARTERS:] * expected[:, None]
    scaled = rise.sum(1) / np.sqrt(1 + n[:, QUARTERS:].sum(1))
    return np.column_stack([total, n, rise, rise.sum(1), scaled, before.T, after.T, (n > 0).sum(1)])


def compare(sizes: np.ndarray, habits: Habits) -> None:
    """Print how the rules fare in one setting."""
    rng = np.random.default_rng(5)
    settings = f"prevalence {habits.prevalence:.0%}, {habits.answering:.0%} answer"
    print(f"teams of {sizes[0]} to {sizes[-1]}, {settings}")
    shown, exact = worlds(rng, sizes, habits)
    for name, world, noise in (("published", shown, rounding_noise()), ("exact", exact, 0.0)):
        overall = world.calm[0].overall
        for by_age, limits in ((False, "one limit"), (True, "limits by age")):
            judge(f"{name} quarters, sum of ratios, {limits}", world,
                  lambda own, o=overall, e=noise: summed(own, o, e), by_age=by_age)  # fmt: skip
            judge(f"{name} quarters, least squares, {limits}", world, by_least_squares(world), by_age=by_age)
    if "--bound" in sys.argv:
        for kind, name in enumerate(("published quarters", "exact quarters")):
            bound(name, rng, sizes, habits, kind)


if __name__ == "__main__":
    compare(np.arange(10, 21), Habits(regions=9))
    compare(np.arange(10, 41), Habits(regions=9))
    compare(np.arange(10, 21), Habits(regions=9, prevalence=0.18, answering=0.68))
