"""How small an effect each number of teams and months can find, all from one draw of a site's worlds."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from models.change_world import Ground, World, draw_worlds
from models.planning import Plan
from models.team_changes import change_fit, smallest_p
from models.team_sums import TeamSums

WORLDS = 100
POWER = 0.8
DRAWN_FALLS = (0.45, 0.9)
"""Falls drawn, as shares of the prevalence; what needs more than the last one is not found."""


@dataclass(frozen=True)
class Reach:
    """What one design with a common start can find.

    Attributes
    ----------
    changed, others : int
        Teams changed, and teams compared with.
    months : int
        Months before the start, and as many after.
    effect : float
        Fall of the share with discomfort found with the power asked for; infinite where even the end of all
        discomfort would not be found.
    error : float
        Monte-Carlo standard error of `effect`.
    found : float
        Share of worlds in which the fall asked about is found.
    found_error : float
        Monte-Carlo standard error of `found`.
    smallest_p : float
        Smallest p that giving the change to other teams can reach.
    """

    changed: int
    others: int
    months: int
    effect: float
    error: float
    found: float
    found_error: float
    smallest_p: float


def spread_sizes(sizes: npt.ArrayLike, teams: int, rng: np.random.Generator) -> np.ndarray:
    """Return sizes of as many teams as wanted, spread like a site's and in random order.

    Parameters
    ----------
    sizes : array_like of int
        People of the site's teams.
    teams : int
        Teams wanted.
    rng : numpy.random.Generator
        Source of the order.

    Returns
    -------
    numpy.ndarray of int, shape (teams,)
        Quantiles of the sizes, 2 people or more.
    """
    places = (np.arange(teams) + 0.5) / teams
    found = np.quantile(np.asarray(sizes, float), places)
    return rng.permutation(np.maximum(np.rint(found), 2).astype(int))


def reach_grid(
    ground: Ground,
    sizes: npt.ArrayLike,
    changed: Sequence[int],
    months: Sequence[int],
    rng: np.random.Generator,
    *,
    asked: float = 0.05,
    worlds: int = WORLDS,
) -> tuple[Reach, ...]:
    """Return the reach of designs that change half of their teams at one start.

    People are drawn once for the largest design, without effect and under falls of several sizes, and cut
    into the smaller designs: changed teams as under the fall, others as without. A fall d is found where
    ``b + c < 0``, b the estimate and c half its interval. What chance adds, ``b + d + c``, varies slowly with
    d, because relieved teams clip at no discomfort at all and their people differ more; its 80 % point is
    interpolated between the falls drawn, and the fall that equals it is found with 80 % power.

    Parameters
    ----------
    ground : Ground
        How the site's answers hang together.
    sizes : array_like of int
        People of the site's teams.
    changed : sequence of int
        Numbers of changed teams; as many others are compared with.
    months : sequence of int
        Months on either side of the start.
    rng : numpy.random.Generator
        Source of chance.
    asked : float
        Fall of the share whose power is wanted.
    worlds : int
        Worlds of the largest design; smaller ones have more, because several fit into each.

    Returns
    -------
    tuple of Reach
        By number of teams, then months.
    """
    most, longest = 2 * max(changed), max(months)
    falls = _falls(asked, ground)
    since = np.arange(2 * longest) >= longest
    drawn = draw_worlds(
        rng, spread_sizes(sizes, most, rng), 2 * longest, ground,
        effects=[0.0, *(-fall * since for fall in falls)], worlds=worlds,
    )  # fmt: skip
    sums = {m: [_cut(world, longest, m).sums(m) for world in drawn] for m in months}
    found = []
    for number in changed:
        dose = np.arange(2 * number) < number
        for m in months:
            still, *eased = (_blocks(part, 2 * number) for part in sums[m])
            edges = [
                change_fit(_chosen(dose, part, still), dose).interval(1)[1] + fall
                for part, fall in zip(eased, falls, strict=True)
            ]
            found.append(_reach(np.array(edges), falls, (number, number), m, asked))
    return tuple(found)


@dataclass(frozen=True)
class Drawn:
    """One plan tried out on drawn worlds.

    Attributes
    ----------
    reach : Reach
        What it finds; `others` are the plan's teams not changed.
    low, high : float
        Where 95 % of the estimates lie if the fall asked about is true, as changes of the share.
    worlds : int
        Worlds drawn.
    """

    reach: Reach
    low: float
    high: float
    worlds: int


def plan_reach(plan: Plan, asked: float, rng: np.random.Generator, worlds: int = 400) -> Drawn:
    """Return the reach of one plan with a common start, on the sizes of its own teams.

    Parameters
    ----------
    plan : Plan
        The plan, changed teams first.
    asked : float
        Fall of the share asked about, more than 0.
    rng : numpy.random.Generator
        Source of chance.
    worlds : int
        Worlds drawn.

    Returns
    -------
    Drawn
        As `reach_grid` finds it, without cutting.
    """
    falls = _falls(asked, plan.ground)
    dose = np.arange(len(plan.sizes)) < plan.changed
    added = np.outer(dose, np.arange(plan.before + plan.after) >= plan.before)
    drawn = draw_worlds(
        rng, plan.sizes, plan.before + plan.after, plan.ground,
        effects=[-fall * added for fall in falls], worlds=worlds,
    )  # fmt: skip
    fits = [change_fit(world.sums(plan.before), dose) for world in drawn]
    edges = np.array([fit.interval(1)[1] + fall for fit, fall in zip(fits, falls, strict=True)])
    own = fits[int(np.searchsorted(falls, asked))].coefficient[:, 1]
    low, high = np.quantile(own, [0.025, 0.975])
    sides = (plan.changed, len(plan.sizes) - plan.changed)
    return Drawn(_reach(edges, falls, sides, plan.after, asked), float(low), float(high), worlds)


def _falls(asked: float, ground: Ground) -> np.ndarray:
    return np.unique([asked, *(share * ground.prevalence for share in DRAWN_FALLS)])


def first_that_finds(grid: Sequence[Reach], effect: float, teams: int) -> Reach | None:
    """Return the cheapest design that finds an effect, or failing that the one with the furthest reach.

    Parameters
    ----------
    grid : sequence of Reach
        Designs.
    effect : float
        Fall of the share.
    teams : int
        Teams that there are.

    Returns
    -------
    Reach or None
        Fewest team-months with the change among those within reach of `effect`; else the one that finds the
        smallest effect; None where no design with that many teams can show anything at 5 %.
    """
    able = [r for r in grid if r.changed + r.others <= teams and r.smallest_p <= 0.05]
    enough = [r for r in able if r.effect <= effect]
    if enough:
        return min(enough, key=lambda r: (r.changed * r.months, r.months))
    return min(able, key=lambda r: (r.effect, r.changed * r.months), default=None)


def _cut(world: World, longest: int, months: int) -> World:
    kept = slice(longest - months, longest + months)
    return World(world.case[kept], world.answered[kept], world.holder[kept])


def _blocks(sums: TeamSums, teams: int) -> TeamSums:
    """Take as many whole designs out of each world as there is room for."""
    whole = sums.people.shape[-1] // teams * teams
    parts: Any = [a[..., :whole].reshape(-1, teams) for a in _arrays(sums)]
    return TeamSums(*parts)


def _chosen(dose: np.ndarray, changed: TeamSums, others: TeamSums) -> TeamSums:
    pairs = zip(_arrays(changed), _arrays(others), strict=True)
    parts: Any = [np.where(dose, a, b) for a, b in pairs]
    return TeamSums(*parts)


def _arrays(sums: TeamSums) -> tuple[np.ndarray, ...]:
    means = (sums.people, sums.before, sums.after)
    return (*means, sums.before_spread, sums.after_spread, sums.shared_spread)


def _reach(edges: np.ndarray, falls: np.ndarray, sides: tuple[int, int], months: int, asked: float) -> Reach:
    once = edges.shape[1]
    off = float(np.sqrt(POWER * (1 - POWER) / once))
    low, middle, high = (
        _crossing(falls, np.quantile(edges, q, axis=1)) for q in (POWER - off, POWER, POWER + off)
    )
    share = float((edges[np.searchsorted(falls, asked)] < asked).mean())
    sure = np.isfinite(low) and np.isfinite(high)
    return Reach(
        *sides, months, middle, (high - low) / 2 if sure else float("inf"),
        share, float(np.sqrt(max(share * (1 - share), 1 / once) / once)),
        smallest_p(sum(sides), sides[0]),
    )  # fmt: skip


def _crossing(falls: np.ndarray, needed: np.ndarray) -> float:
    """Return the fall that equals what it needs to be found; needs are flat below the smallest fall."""
    at = np.concatenate([[0.0], falls])
    over = at - np.concatenate([needed[:1], needed])
    place = int(np.argmax(over >= 0))
    if over[place] < 0:
        return float("inf")
    share = over[place - 1] / (over[place - 1] - over[place])
    return float(at[place - 1] + share * (at[place] - at[place - 1]))
