"""Limits of the published flags, found from an institute's own published numbers when flags begin.

Only published counts, head-counts and response enter, so the limits tell nothing that readers could not
work out. The two limits (each region by itself, and all regions together) are raised together until a team is
newly flagged by mistake no more often than is wanted, in every simulated year after the baseline.
"""

from dataclasses import dataclass, replace

import numpy as np

from models.answering import Answers, Habits, simulate
from models.flag_limit import FALSE_FLAGS_A_YEAR, newly_flagged
from models.flag_paths import QUARTERS, quarter_paths
from models.flags_together import Together

STARTS = (6.0, 6.0)
STEP = 0.25
SHARES = (0.5, 0.65)
"""Of the accepted false flags, what each limit may use up alone; both often flag the same team."""

WAYS = ((0.5, 0.6), (0.3, 0.8), (0.7, 0.3))
"""Steadiness of a person's leaning, and month-to-month correlation of the rest: published quarters do not
tell which one an institute has, so the promise holds for all; power is stated for the first."""

YEARS = 3
"""Years after the baseline in which the promise has to hold."""

TEAMS, WORSE_TEAMS = 1500, 400


@dataclass(frozen=True)
class Limits:
    """Decision limits of published quarters.

    Attributes
    ----------
    region : float
        For each body region by itself.
    together : float
        For the sum over all regions of a team.
    """

    region: float
    together: float


DEFAULT = Limits(11.25, 12.5)
"""For teams of 10 to 40, nine regions, a monthly prevalence of 25 %; see the benchmarks."""


@dataclass(frozen=True)
class Setup:
    """Limits with what they were found from, and how they fare on simulated teams.

    Attributes
    ----------
    limits : Limits
        The limits.
    habits : Habits
        How answers hang together.
    false_flags, error : float
        Teams of 40 newly flagged by mistake in the worst year, and its Monte-Carlo standard error.
    finds_all, finds_one : float
        Of three teams whose odds grow 2.5 times, how many are flagged within the year: worse in all
        regions, and in one region only.
    teams : int
        Teams simulated.
    """

    limits: Limits
    habits: Habits
    false_flags: float
    error: float
    finds_all: float
    finds_one: float
    teams: int


def find_setup(
    rng: np.random.Generator, habits: Habits, sizes: np.ndarray, *, teams: int = TEAMS, years: int = YEARS
) -> Setup:
    """Find the limits by simulation, and say how they fare.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance, seeded by the caller.
    habits : Habits
        How answers hang together.
    sizes : numpy.ndarray of int
        People of the teams; sizes are drawn from these.
    teams, years : int
        Teams simulated, and years after the baseline.

    Returns
    -------
    Setup
        Limits whose false flags, plus two Monte-Carlo errors, stay within one of 40 teams a year.
    """
    people = rng.choice(sizes, teams)
    calm = [
        simulate(rng, people, 12 * (1 + years), replace(habits, steady=steady, persistence=persistence))
        for steady, persistence in WAYS
    ]
    paths = [quarter_paths(answers, rng, reference=answers) for answers in calm]
    limits = Limits(
        max(_alone(one.highest, STARTS[0], SHARES[0]) for one in paths),
        max(_alone(one.score, STARTS[1], SHARES[1]) for one in paths),
    )
    while (worst := max(_worst(one, limits) for one in paths))[0] + 2 * worst[1] > FALSE_FLAGS_A_YEAR:
        limits = Limits(limits.region + STEP, limits.together + STEP)
    few, first = people[:WORSE_TEAMS], calm[0]
    alike = Answers(first.case[:12, :WORSE_TEAMS], first.answered[:12, :WORSE_TEAMS],
                    first.long_run[:WORSE_TEAMS], first.stays[:12, :WORSE_TEAMS])  # fmt: skip
    usual = replace(habits, steady=WAYS[0][0], persistence=WAYS[0][1])
    finds = []
    for regions in (None, 1):
        bad = simulate(rng, few, 24, usual, worse_from=12, worse_odds=2.5, worse_regions=regions)
        finds.append(3 * float(_over(quarter_paths(bad, rng, reference=alike), limits).any(1).mean()))
    return Setup(limits, usual, worst[0], worst[1], finds[0], finds[1], teams)


def _over(paths: Together, limits: Limits) -> np.ndarray:
    return (paths.highest >= limits.region) | (paths.score >= limits.together)


def _alone(paths: np.ndarray, limit: float, wanted: float) -> float:
    while max(year.flagged for year in newly_flagged(paths, limit, QUARTERS)) > wanted:
        limit += STEP
    return limit


def _worst(paths: Together, limits: Limits) -> tuple[float, float]:
    either = np.maximum(paths.highest / limits.region, paths.score / limits.together)
    years = newly_flagged(either, 1.0, QUARTERS)
    worst = max(years, key=lambda year: year.flagged)
    return worst.flagged, worst.error
