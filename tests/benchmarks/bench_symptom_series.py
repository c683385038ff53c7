"""All symptom series of 40 teams x 36 months x 9 regions, and longer runs of the flags' promises.

Run: ``python -m tests.benchmarks.bench_symptom_series`` (add ``--long`` for the simulations). Reach: at
most 5 s for all series, flags and funnels.
"""

import sys
import time
from dataclasses import replace

import numpy as np

from models.answering import Answers, Habits, simulate
from models.charts import exact_share_limits
from models.flag_limit import MONTH_LIMIT, in_control_scores, judge_limit
from models.flag_paths import highest_scores, publish, quarter_paths
from models.flag_setup import DEFAULT_WANDER, find_setup
from models.flags import flag_series
from models.funnel import proportion_funnel
from models.incidence import incidence, onsets
from models.pooled import pooled_groups, wilson_limits
from models.shrinkage import fitted_prior, shrink

TEAMS, MONTHS, REGIONS = 40, 36, 9


def all_series(answers: Answers, rng: np.random.Generator) -> int:
    """Compute everything a year's report needs and return how many figures that is."""
    month, team, seat = np.nonzero(answers.answered)
    most = answers.answered.shape[2]
    figures = quarter_paths(publish(answers, rng), DEFAULT_WANDER).score.size
    for region in range(REGIONS):
        case = answers.case[month, team, seat, region]
        x, n = answers.counts(region)
        low, _high = wilson_limits(x / np.maximum(n, 1), n)
        quarters = pooled_groups(case, team * most + seat, team * 12 + month // 3, TEAMS * 12)
        years = pooled_groups(case, team * most + seat, team * 3 + month // 12, TEAMS * 3)
        overall = x[:, :12].sum() / n[:, :12].sum()
        flags = flag_series(x, n, limit=MONTH_LIMIT, baseline_periods=12, window=12, overall=overall)
        limits = [exact_share_limits(p, size)[1] for p, size in zip(flags.baseline, n, strict=True)]
        for year in range(3):
            effective = years.effective_n.reshape(TEAMS, 3)[:, year]
            cases = years.share.reshape(TEAMS, 3)[:, year] * effective
            proportion_funnel(cases, effective)
            if (prior := fitted_prior(cases, effective)) is not None:
                shrink(cases, effective, prior)
        for one in range(TEAMS):
            of = team == one
            figures += incidence(onsets(seat[of], month[of], case[of])).events >= 0
        figures += low.size + len(quarters.share) + len(years.share) + flags.score.size + len(limits)
    return figures


def promises() -> None:
    """Print how limits fare, with Monte-Carlo errors, for several ways answers hang together."""
    sizes = np.arange(10, 41)
    for habits in (
        Habits(),
        Habits(turnover=0.02),
        Habits(prevalence=0.1),
        Habits(prevalence=0.4),
        Habits(steady=0.3, persistence=0.8),
        Habits(steady=0.7, persistence=0.3),
    ):
        said = f"p {habits.prevalence:.2f} steady {habits.steady:.1f} turnover {habits.turnover:.2f}"
        rng = np.random.default_rng(17)
        calm = in_control_scores(rng, habits, teams=20_000, sizes=(10, 40))
        people = rng.choice(sizes, 2000)
        bad = simulate(rng, people, 24, habits, worse_from=12, worse_odds=2.5)
        alike = simulate(rng, people, 12, habits)
        found = 3 * float((highest_scores(bad, alike) >= MONTH_LIMIT).mean())
        verdict = judge_limit(calm, MONTH_LIMIT)
        print(
            f"months, one region, {said}: limit {MONTH_LIMIT:g} flags {verdict.flagged:.2f} (error "
            f"{verdict.error:.2f}) of 40 falsely, finds {found:.2f} of 3",
            flush=True,
        )
        own = find_setup(rng, replace(habits, regions=REGIONS), sizes)
        print(
            f"quarters, nine regions, {said}: limits {own.limits.region:g}, {own.limits.first:g} and "
            f"{own.limits.later:g} flag {own.false_flags:.2f} (error {own.error:.2f}) of 40 falsely in the "
            f"worst year, find {own.finds_all:.2f} of 3 (one region {own.finds_one:.2f}, two years on "
            f"{own.finds_later:.2f})",
            flush=True,
        )


def main() -> None:
    """Time the series once after a warm-up, and run the simulations if asked for."""
    rng = np.random.default_rng(1)
    answers = simulate(rng, rng.integers(10, 31, TEAMS), MONTHS, Habits(regions=REGIONS))
    all_series(answers, rng)
    start = time.perf_counter()
    figures = all_series(answers, rng)
    print(f"{figures} figures in {time.perf_counter() - start:.2f} s   (reach: 5)")
    if "--long" in sys.argv:
        promises()


if __name__ == "__main__":
    main()
