"""Limits of the published flags, found from an institute's own published numbers when flags begin.

Only published counts, head-counts and response enter, so the limits tell nothing that readers could not
work out. The limits (each region by itself, and all regions together) are raised until a team is newly
flagged by mistake no more often than is wanted, in every simulated year after the baseline. A frozen baseline
ages, so the limit for all regions together is lower in the first year after it than later.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from models.answering import Habits, simulate
from models.flag_limit import FALSE_FLAGS_A_YEAR, Verdict, newly_flagged
from models.flag_paths import QUARTERS, Published, joined, publish, quarter_paths
from models.flag_rise import Wander, learn_wander
from models.flags_together import Together

STARTS = (6.0, 1.5)
STEPS = (0.25, 0.02)
"""Where the search of each limit begins, and its steps."""

REGION_SHARE = 0.2
"""Of the accepted false flags, what the regions by themselves may use up. More of it finds hardly more of one
worsened region, and fewer of the teams that are worse in all."""

WAYS = ((0.5, 0.6), (0.3, 0.8), (0.7, 0.3))
"""Steadiness of a person's leaning, and month-to-month correlation of the rest: published quarters do not
tell which one an institute has, so the promise holds for all; power is stated for the first."""

YEARS = 3
"""Years after the baseline in which the promise has to hold."""

TEAMS, WORSE_TEAMS, AT_ONCE = 5000, 1000, 500


@dataclass(frozen=True)
class Limits:
    """Decision limits of published quarters.

    Attributes
    ----------
    region : float
        For each body region by itself.
    first, later : float
        For all regions of a team together: in the first year after the baseline, and from the second on.
    """

    region: float
    first: float
    later: float

    def together(self, quarters_after: int) -> float:
        """Return the limit for all regions in the so manieth quarter after the baseline, counted from 0."""
        return self.first if quarters_after < QUARTERS else self.later


@dataclass(frozen=True)
class Setup:
    """Limits with what they were found from, and how they fare on simulated teams.

    Attributes
    ----------
    limits : Limits
        The limits.
    wander : Wander
        How a team's average strays when nothing changes.
    habits : Habits
        How answers hang together.
    false_flags, error : float
        Teams of 40 newly flagged by mistake in the worst year, and its Monte-Carlo standard error.
    finds_all, finds_one : float
        Of three teams whose odds grow 2.5 times right after the baseline, how many are flagged within the
        year: worse in all regions, and in one region only.
    finds_later : float
        The same where all regions worsen two years after the baseline.
    teams : int
        Teams simulated.
    """

    limits: Limits
    wander: Wander
    habits: Habits
    false_flags: float
    error: float
    finds_all: float
    finds_one: float
    finds_later: float
    teams: int


DEFAULT = Limits(11.25, 2.5, 2.8)
DEFAULT_WANDER = Wander(0.0077, 0.0268, 0.0459, 0.45, 0.0046, 0.353)
"""For teams of 10 to 40, nine regions, a monthly prevalence of 25 %; see the benchmarks."""


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
        invent(rng, people, 12 * (1 + years), replace(habits, steady=steady, persistence=persistence))
        for steady, persistence in WAYS
    ]
    wander = learn_wander([one.averages() for one in calm])
    limits, worst = find_limits([quarter_paths(one, wander) for one in calm])
    usual, few = replace(habits, steady=WAYS[0][0], persistence=WAYS[0][1]), people[:WORSE_TEAMS]

    def finds(after: int, regions: int | None) -> float:
        bad = invent(rng, few, 12 * (2 + after), usual, worse_from=12 * (1 + after), worse_odds=2.5,
                     worse_regions=regions)  # fmt: skip
        over = over_limits(quarter_paths(bad, wander, overall=calm[0].overall), limits)
        return 3 * float(over[:, -QUARTERS:].any(1).mean())

    return Setup(limits, wander, usual, worst.flagged, worst.error, finds(0, None), finds(0, 1),
                 finds(years - 1, None), teams)  # fmt: skip


def invent(
    rng: np.random.Generator,
    people: np.ndarray,
    months: int,
    habits: Habits,
    *,
    worse_from: int | None = None,
    worse_odds: float = 1.0,
    worse_regions: int | None = None,
) -> Published:
    """Return published quarters of simulated teams, some hundred teams at a time to keep memory small.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    people : numpy.ndarray of int
        Team sizes.
    months : int
        Months drawn.
    habits : Habits
        How answers hang together.
    worse_from, worse_odds, worse_regions : int, float, int
        See :func:`models.answering.simulate`.

    Returns
    -------
    Published
        Quarters.
    """
    parts = []
    for begin in range(0, len(people), AT_ONCE):
        some = simulate(
            rng, people[begin : begin + AT_ONCE], months, habits,
            worse_from=worse_from, worse_odds=worse_odds, worse_regions=worse_regions,
        )  # fmt: skip
        parts.append(publish(some, rng))
    return joined(parts)


def find_limits(paths: list[Together]) -> tuple[Limits, Verdict]:
    """Return the lowest limits that keep the promise on calm teams, and the worst year at them.

    Parameters
    ----------
    paths : list of Together
        Scores of teams in which nothing changed, one element a way in which answers hang together.

    Returns
    -------
    tuple
        Limits and the worst year.
    """

    def years(limits: Limits) -> list[tuple[Verdict, ...]]:
        return [newly_flagged(over_limits(one, limits).astype(float), 1.0, QUARTERS) for one in paths]

    def raised(limit: float, step: float, too_many: Callable[[float], bool]) -> float:
        while too_many(limit):
            limit = round(limit + step, 2)
        return limit

    def missed(verdicts: list[Verdict]) -> bool:
        return max(one.flagged + 2 * one.error for one in verdicts) > FALSE_FLAGS_A_YEAR

    never = float("inf")
    region = raised(
        STARTS[0], STEPS[0],
        lambda at: max(y.flagged for way in years(Limits(at, never, never)) for y in way) > REGION_SHARE,
    )  # fmt: skip
    first = raised(
        STARTS[1], STEPS[1], lambda at: missed([way[0] for way in years(Limits(region, at, never))])
    )
    later = raised(
        STARTS[1], STEPS[1],
        lambda at: missed([year for way in years(Limits(region, first, at)) for year in way[1:]]),
    )  # fmt: skip
    limits = Limits(region, first, later)
    return limits, max((year for way in years(limits) for year in way), key=lambda year: year.flagged)


def over_limits(paths: Together, limits: Limits) -> np.ndarray:
    """Return which periods stand at or over a limit.

    Parameters
    ----------
    paths : Together
        Scores.
    limits : Limits
        Limits.

    Returns
    -------
    numpy.ndarray of bool
        Shape (teams, periods).
    """
    after = np.arange(paths.score.shape[1]) - QUARTERS
    together = np.array([limits.together(int(quarter)) for quarter in after])
    return (paths.highest >= limits.region) | (paths.score >= together)
