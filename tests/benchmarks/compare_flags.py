"""What rounding and quarters cost the flags: published, exact quarters and exact months at one promise.

Run: ``python -m tests.benchmarks.compare_flags``. Three ways in which answers hang together, three years
after the baseline, at most 0.75 of 40 teams a year newly flagged by mistake (1200 teams: Monte-Carlo error
0.14); 400 worsened teams: 0.07 of 3.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from models.answering import Answers, Habits, simulate
from models.disclosure import HEALTH_FLOOR_TEAM
from models.flag_limit import newly_flagged
from models.flag_paths import BASELINE_MONTHS, QUARTERS, quarter_paths
from models.flag_setup import WAYS
from models.flags_together import Together, flag_together
from models.quarters import MONTHS

MOST = 0.75
TEAMS, WORSE = 1200, 400


def exact_quarters(answers: Answers, region: int) -> tuple[np.ndarray, np.ndarray]:
    """Return cohorts' counts by quarter without rounding, 0 where hidden."""
    teams, quarters = answers.case.shape[1], len(answers.case) // MONTHS
    cases, people = np.zeros((teams, quarters)), np.zeros((teams, quarters))
    for quarter in range(quarters):
        months = slice(quarter * MONTHS, (quarter + 1) * MONTHS)
        said = answers.answered[months]
        cohort = said.any(0) & answers.stays[months][1:].all(0)
        hit = (answers.case[months, ..., region] & said).any(0) & cohort
        shown = cohort.sum(1) >= HEALTH_FLOOR_TEAM
        cases[:, quarter], people[:, quarter] = hit.sum(1) * shown, cohort.sum(1) * shown
    return cases, people


def exact_months(answers: Answers, region: int) -> tuple[np.ndarray, np.ndarray]:
    """Return monthly counts without rounding."""
    cases, people = answers.counts(region)
    return cases.astype(float), people.astype(float)


def paths(
    answers: Answers, reference: Answers, periods: int, count: Callable[[Answers, int], tuple]
) -> Together:
    """Return scores on exact counts."""
    own = [count(answers, region) for region in range(answers.case.shape[3])]
    base = [count(reference, region) for region in range(answers.case.shape[3])]
    overall = [float(x[:, :periods].sum() / max(n[:, :periods].sum(), 1)) for x, n in base]
    return flag_together(
        [x for x, _ in own], [n for _, n in own], overall, baseline_periods=periods, window=periods
    )


def compare(sizes: np.ndarray, habits: Habits) -> None:
    """Print what each kind of count finds."""
    rng = np.random.default_rng(5)
    people = rng.choice(sizes, TEAMS)
    calm = [simulate(rng, people, 48, replace(habits, steady=s, persistence=p)) for s, p in WAYS]
    bad = [
        simulate(rng, people[:WORSE], 24, habits, worse_from=12, worse_odds=2.5, worse_regions=regions)
        for regions in (None, 1)
    ]
    kinds: dict[str, tuple[int, Callable[[Answers, Answers], Together]]] = {
        "published quarters": (QUARTERS, lambda own, ref: quarter_paths(own, rng, reference=ref)),
        "exact quarters": (QUARTERS, lambda own, ref: paths(own, ref, QUARTERS, exact_quarters)),
        "exact months": (BASELINE_MONTHS, lambda own, ref: paths(own, ref, BASELINE_MONTHS, exact_months)),
    }
    for name, (periods, score) in kinds.items():
        still = [score(one, one) for one in calm]
        region, together = 5.0, 5.0

        def false(one: Together, region: float, together: float, periods: int = periods) -> float:
            either = np.maximum(one.highest / region, one.score / together)
            return max(year.flagged for year in newly_flagged(either, 1.0, periods))

        while max(false(one, region, np.inf) for one in still) > 0.5:
            region += 0.5
        while max(false(one, np.inf, together) for one in still) > 0.65:
            together += 0.5
        while max(false(one, region, together) for one in still) > MOST:
            region, together = region + 0.25, together + 0.25
        found = []
        for worse in bad:
            seen = score(worse, calm[0])
            found.append(3 * float(((seen.highest >= region) | (seen.score >= together)).any(1).mean()))
        print(
            f"teams of {sizes[0]} to {sizes[-1]}, prevalence {habits.prevalence:.0%}, {name}: limits "
            f"{region:g} and {together:g}, of 3 found {found[0]:.1f} (all regions), {found[1]:.1f} (one)",
            flush=True,
        )


if __name__ == "__main__":
    compare(np.arange(10, 41), Habits(regions=9))
    compare(np.arange(10, 21), Habits(regions=9))
    compare(np.arange(10, 21), Habits(regions=9, prevalence=0.18, answering=0.68))
