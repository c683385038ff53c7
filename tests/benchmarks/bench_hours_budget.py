"""How often the lower bound of the hours budget lies below the truth.

``python -m tests.benchmarks.bench_hours_budget [samples]``; by default 1000 samples a case, at which the
Monte-Carlo error of 95 % is 0.7 points. Half of the noise stays with a worker; a spread between teams that
has nothing to do with exposure is seen by clusters of teams only.
"""

import sys

import numpy as np
from scipy.special import expit, ndtr

from models.budget import first_crossing, hours_budget
from models.shape_average import averaged_curve

CASES = {
    "straight on the log-odds": lambda h: expit(-1.6 + 0.13 * h),
    "straight in points": lambda h: 0.2 + 0.0115 * h,
    "flat, then steep from 7 h": lambda h: expit(-1.3 + 0.25 * np.maximum(h - 7, 0)),
}
LOW, HIGH = 1.0, 14.0


def held(risk, samples: int, people: int, months: int, spread: float, by_team: bool) -> tuple[float, float]:
    """Return the share of samples whose bound lies below the truth, and the median bound."""
    rng = np.random.default_rng(17)
    grid = np.linspace(LOW, HIGH, 20001)
    true = float(first_crossing(grid, risk(grid)[None], risk(grid[:1]) + 0.10)[0])
    team = np.arange(people) % 16
    lows = []
    for _ in range(samples):
        pace = rng.gamma(16, 1 / 16, 16)[team]
        drive = rng.gamma(4, 1.6, people) * pace
        hours = np.clip(drive[:, None] * rng.gamma(9, 1 / 9, (people, months)), 0, 25)
        own = np.sqrt(0.5 - spread) * rng.standard_normal((people, 1))
        own += np.sqrt(spread) * rng.standard_normal(16)[team][:, None]
        noise = own + np.sqrt(0.5) * rng.standard_normal((people, months))
        case = (ndtr(noise) < risk(hours)).astype(float)
        cluster = np.repeat(team if by_team else np.arange(people), months)
        curve = averaged_curve(hours.ravel(), case.ravel(), cluster, rng, edges=(LOW, HIGH), draws=200)
        low = hours_budget(curve).low
        lows.append(np.inf if low is None else low)
    return float(np.mean(np.array(lows) <= true)), float(np.median(lows))


def main(samples: int) -> None:
    """Print a line a case."""
    for name, risk in CASES.items():
        for people, months, spread, by_team in (
            (80, 12, 0.0, False), (240, 12, 0.0, False), (240, 12, 0.0, True),
            (240, 12, 0.03, False), (240, 12, 0.03, True),
        ):  # fmt: skip
            share, median = held(risk, samples, people, months, spread, by_team)
            clusters = "teams" if by_team else "workers"
            print(
                f"{name:28} {people:4} workers {months} months, team spread {spread:.2f}, by {clusters}: "
                f"{100 * share:.1f} % (error {100 * np.sqrt(share * (1 - share) / samples):.1f}), "
                f"median bound {median:.1f} h",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
