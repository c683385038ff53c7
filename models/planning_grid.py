"""How small an effect each number of teams and months can find, all from one draw of a site's worlds."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from models.change_world import Ground, World, draw_worlds
from models.team_changes import change_fit, smallest_p
from models.team_sums import TeamSums

WORLDS = 150
POWER = 0.8
DRAWN_FALLS = (0.35, 0.65, 0.95)
"""Falls drawn, as shares of the prevalence; more than nearly all of it is no effect a change can have."""


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
    falls = np.unique([asked, *(share * ground.prevalence for share in DRAWN_FALLS)])
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
            found.append(_reach(np.array(edges), falls, number, m, asked))
    return tuple(found)


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


def _reach(edges: np.ndarray, falls: np.ndarray, number: int, months: int, asked: float) -> Reach:
    once = edges.shape[1]
    off = float(np.sqrt(POWER * (1 - POWER) / once))
    low, middle, high = (
        _crossing(falls, np.quantile(edges, q, axis=1)) for q in (POWER - off, POWER, POWER + off)
    )
    share = float((edges[np.searchsorted(falls, asked)] < asked).mean())
    sure = np.isfinite(low) and np.isfinite(high)
    return Reach(
        number, number, months, middle, (high - low) / 2 if sure else float("inf"),
        share, float(np.sqrt(max(share * (1 - share), 1 / once) / once)),
        smallest_p(2 * number, number),
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
