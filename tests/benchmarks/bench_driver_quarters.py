"""Driver statements of successive quarters against answers that stay the same: who is read off?

Run: python -m tests.benchmarks.bench_driver_quarters --people 100 --told 50 --quarters 2

Each statement covers all months so far, so the next one covers the same answers once more, with other
weights. The attacker knows everybody's exposure, takes it (rightly) that each person answers alike all
along, and is told some answers; an integer program looks for answers that give all curves, lags and effects
of all quarters, as in tests/etl/test_driver_statement_attack.py. Printed for each person tried: open (both
answers fit), read off (one does not), or undecided (the search hit its time limit).
"""

import argparse

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from models.driver_standard import person_worth
from models.result_gate import RATIO, result_step

LAGS, DRAWN, FIRST, STEP = 7, 21, 12, 3
FITS, NONE = 0, 2


def weights_of(hours: np.ndarray, age: np.ndarray, months: int) -> tuple[np.ndarray, np.ndarray]:
    """Return each person's weight in the numbers of one statement, and the step of each number."""
    people = len(hours)
    hours = hours[:, : months + LAGS - 1]
    person = np.repeat(np.arange(people), months)
    now = hours[:, LAGS - 1 :].ravel()
    season = np.tile(np.arange(months), people) / 12
    bands = [age[person] == k for k in (1, 2, 3)]
    rest = np.column_stack([np.ones(len(now)), *bands, season, np.sin(2 * np.pi * season)])
    centred = (now - 6) / 5
    places = (np.linspace(*np.quantile(now, (0.05, 0.95)), DRAWN) - 6) / 5
    cubic = np.vander(centred, 4)[:, :3]
    solve = np.linalg.pinv(np.column_stack([rest, cubic]))
    mean = np.broadcast_to(rest.mean(0), (DRAWN, rest.shape[1]))
    curve = 100 * np.hstack([mean, np.vander(places, 4)[:, :3]]) @ solve
    windows = np.stack([hours[:, LAGS - 1 - k : LAGS - 1 - k + months].ravel() / 5 for k in range(LAGS)], -1)
    basis = np.vander(np.arange(LAGS) / LAGS, 3)
    by_lag = basis @ np.linalg.pinv(np.column_stack([windows @ basis, rest]))[:3]
    rows = [curve, np.vstack([by_lag, by_lag.sum(0)]) * 10]
    steps: list[float | None] = [result_step(people)] * DRAWN + [result_step(people, RATIO)] * (LAGS + 1)
    slope = np.linalg.pinv(np.column_stack([centred, rest]))[:1]
    worth = person_worth(now, rest, person, 5.0)
    effect = [result_step(people, influence=worth), result_step(people, RATIO, worth / 10)]
    if None not in effect:
        rows, steps = [*rows, 100 * slope, 10 * slope], [*steps, *effect]
    return np.vstack(rows).reshape(-1, people, months).sum(2), np.array(steps, float)


def verdicts(
    rng: np.random.Generator, people: int, told: int, quarters: int, tried: int, limit: float
) -> list[str]:
    """Attack a few people of one invented organisation."""
    most = FIRST + STEP * (quarters - 1)
    level = 6 + 2.5 * rng.normal(size=people)
    hours = np.clip(level[:, None] + 1.2 * rng.normal(size=(people, most + LAGS - 1)), 0, None)
    age = rng.integers(0, 4, people)
    answers = (rng.random(people) < 0.25).astype(float)
    parts = [weights_of(hours, age, FIRST + STEP * k) for k in range(quarters)]
    weights, steps = np.vstack([w for w, _ in parts]), np.concatenate([s for _, s in parts])
    published = np.round(weights @ answers / steps)
    rows = LinearConstraint(weights / steps[:, None], published - 0.5, published + 0.5)
    found = []
    for person in rng.choice(np.arange(told, people), tried, replace=False):
        ends = []
        for answer in (0.0, 1.0):
            fixed = np.where(np.arange(people) < told, answers, np.nan)
            fixed[person] = answer
            free = np.isnan(fixed)
            bounds = Bounds(np.where(free, 0.0, fixed), np.where(free, 1.0, fixed))
            ends.append(
                milp(
                    np.zeros(people),
                    constraints=rows,
                    bounds=bounds,
                    integrality=np.ones(people),
                    options={"time_limit": limit},
                ).status
            )
        found.append("read off" if NONE in ends else "open" if ends == [FITS, FITS] else "undecided")
    return found


def main() -> None:
    """Print what became of the people tried."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, value in (
        ("people", 100),
        ("told", 30),
        ("quarters", 2),
        ("tried", 3),
        ("limit", 60),
        ("seed", 1),
    ):
        ask.add_argument(f"--{name}", type=int, default=value)
    a = ask.parse_args()
    found = verdicts(np.random.default_rng(a.seed), a.people, a.told, a.quarters, a.tried, a.limit)
    print(f"{a.people} people, {a.told} told, {a.quarters} quarters: {', '.join(found)}")


if __name__ == "__main__":
    main()
