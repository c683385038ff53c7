"""A plan for a change: who first, when, what it would find, what a month of discomfort avoided would cost."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from etl.errors import EvenhandError
from etl.plan_ground import SiteGround
from etl.release_calendar import Month
from models.change_design import COMMON_START, SIGNIFICANT, STEPPED
from models.planning import Plan
from models.planning_grid import Drawn, Reach, first_that_finds, plan_reach, reach_grid
from models.planning_stepped import stepped_reach
from models.rollout import CaseMonthCost, case_month_cost, draw_schedule

CHANGED = (2, 3, 4, 6, 8, 12)
MONTHS = (3, 6, 12, 18)
LEAST_IN_TEAM = 5
"""Smaller teams are not offered: too few people answer before and after."""

PREPARED = 3
"""Months between the last answers and the first start, by default."""

Progress = Callable[[str, int, int], None]


class TooFewFree(EvenhandError):
    """Too few teams are without another change in the months a plan needs."""


@dataclass(frozen=True)
class Wish:
    """What is planned.

    Attributes
    ----------
    fall : float
        Fall of the share with discomfort hoped for, such as 0.05.
    changed, months : int or None
        Teams changed, and months on either side; None lets the grid choose.
    steps : int
        Starts; 1 changes some teams and lets the others follow after the evaluation.
    apart : int
        Months between steps.
    cost : float or None
        Cost of the change at one team.
    seed : int
        Seed of the lot.
    among : tuple of str
        Teams that may be changed; empty for all.
    first : Month or None
        First start.
    """

    fall: float = 0.05
    changed: int | None = None
    months: int | None = None
    steps: int = 1
    apart: int = 3
    cost: float | None = None
    seed: int = 1
    among: tuple[str, ...] = ()
    first: Month | None = None


@dataclass(frozen=True)
class Start:
    """When a team starts: its step from 1 on, and the month; `follows` where only after the evaluation."""

    team: str
    step: int
    month: Month
    follows: bool


@dataclass(frozen=True)
class Draft:
    """A plan worked out.

    Attributes
    ----------
    region, kind : str
        Region judged, and method of judging.
    wish : Wish
        What was asked for, with what the grid chose filled in.
    starts : tuple of Start
        All teams of the plan in order of step and code.
    drawn : Drawn
        What it finds, by simulation.
    cost : float or None
        Cost at all teams that start before the evaluation.
    case_cost : CaseMonthCost or None
        Cost of a person-month of discomfort avoided if the fall hoped for comes true, with the interval in
        which 95 % of evaluations would put it.
    case_months : float
        Person-months of discomfort avoided until the evaluation by the fall hoped for.
    left_out : tuple of str
        Teams not offered, with the reason.
    """

    region: str
    kind: str
    wish: Wish
    starts: tuple[Start, ...]
    drawn: Drawn
    cost: float | None
    case_cost: CaseMonthCost | None
    case_months: float
    left_out: tuple[str, ...]

    @property
    def cannot(self) -> tuple[str, ...]:
        """What this design can never show, in words."""
        reach, told = self.drawn.reach, []
        if reach.smallest_p > SIGNIFICANT:
            told.append(
                f"its smallest p is {reach.smallest_p:.2f}: chance can never be told apart, whatever is found"
            )
        if reach.effect > self.wish.fall:
            told.append(f"a fall of {100 * self.wish.fall:g} points is missed more often than once in five")
        return tuple(told)


def site_grid(site: SiteGround, sizes: Mapping[str, int], fall: float) -> tuple[Reach, ...]:
    """Return what each number of teams and months can find at this site.

    Parameters
    ----------
    site : SiteGround
        What the answers say.
    sizes : mapping of str to int
        People of each team.
    fall : float
        Fall of the share whose power is wanted.

    Returns
    -------
    tuple of Reach
        The same answers give the same grid.
    """
    large = [n for n in sizes.values() if n >= LEAST_IN_TEAM]
    rng = np.random.default_rng(20_261)
    return reach_grid(site.ground, large, CHANGED, MONTHS, rng, asked=fall)


def make_draft(
    site: SiteGround,
    sizes: Mapping[str, int],
    busy: Callable[[Month], Mapping[str, str]],
    wish: Wish,
    grid: Sequence[Reach],
    progress: Progress = lambda step, done, total: None,
) -> Draft:
    """Work a plan out.

    Parameters
    ----------
    site : SiteGround
        What the answers say.
    sizes : mapping of str to int
        People of each team.
    busy : callable
        From the first month of the plan to the teams where another change would mix with it.
    wish : Wish
        What is planned.
    grid : sequence of Reach
        See `site_grid`; chooses teams and months where the wish leaves them open.
    progress : callable
        Told the step, steps done and steps in all.

    Returns
    -------
    Draft
        The plan.

    Raises
    ------
    TooFewFree
        If too few teams are left.
    EvenhandError
        If a team is unknown, or too few months are wished for.
    """
    progress("lots", 0, 2)
    unknown = sorted(set(wish.among) - set(sizes))
    if unknown:
        raise _wrong(f"Team {unknown[0]} has nobody in {site.last}", "Name teams as in the teams file.")
    first = wish.first or site.last.plus(PREPARED)
    # The months before may be over already: the surveys of the past are the baseline.
    offered, left_out = _offered(sizes, busy(first.plus(-(wish.months or 12))), wish.among)
    chosen = _filled(wish, grid, len(offered), first)
    if chosen.months and chosen.months > (wish.months or 12):
        offered, left_out = _offered(sizes, busy(first.plus(-chosen.months)), wish.among)
        chosen = _filled(replace(wish, months=chosen.months), grid, len(offered), first)
    if len(offered) < max(4, chosen.steps, (chosen.changed or 0) + 2):
        raise TooFewFree(
            f"{len(offered)} teams are free for this plan",
            "evenhand plan",
            "Wait until other changes are a year old, or plan with fewer teams or months.",
        )
    progress("worlds", 1, 2)
    starts, drawn, kind = (_common if chosen.steps == 1 else _stepped)(site, sizes, offered, chosen)
    reached = [start for start in starts if not start.follows]
    case_months = sum(
        sizes[s.team] * (_judged_at(chosen, starts) - _index(s.month)) * chosen.fall for s in reached
    )
    cost = None if chosen.cost is None else chosen.cost * len(reached)
    price = None
    if cost is not None and case_months > 0:
        people = case_months / chosen.fall
        price = case_month_cost(cost, -chosen.fall, drawn.low, drawn.high, people, 1.0)
    progress("", 2, 2)
    return Draft(site.region, kind, chosen, starts, drawn, cost, price, case_months, left_out)


def _offered(
    sizes: Mapping[str, int], taken: Mapping[str, str], among: tuple[str, ...]
) -> tuple[list[str], tuple[str, ...]]:
    """Return the teams that may be changed, and why others may not."""
    asked = sorted(team for team in sizes if not among or team in among)
    small = [team for team in asked if sizes[team] < LEAST_IN_TEAM]
    left_out = [f"{team}: too few people" for team in small]
    left_out += [f"{team}: {taken[team]} at work" for team in asked if team in taken and team not in small]
    return [team for team in asked if team not in small and team not in taken], tuple(left_out)


def _filled(wish: Wish, grid: Sequence[Reach], teams: int, first: Month) -> Wish:
    best = first_that_finds(grid, wish.fall, teams)
    months = wish.months or (best.months if best and wish.steps == 1 else 12)
    changed = wish.changed if wish.steps == 1 else None
    if wish.steps == 1 and changed is None:
        changed = best.changed if best else max(teams // 2, 1)
    if months < 3:
        raise _wrong(f"{months} months on a side", "Plan three whole months or more.")
    return Wish(wish.fall, changed, months, wish.steps, wish.apart, wish.cost, wish.seed, wish.among, first)


def _common(
    site: SiteGround, sizes: Mapping[str, int], offered: list[str], wish: Wish
) -> tuple[tuple[Start, ...], Drawn, str]:
    assert wish.first is not None
    assert wish.changed is not None
    assert wish.months is not None
    lot = draw_schedule(offered, 1, wish.seed, first=wish.months, each=wish.changed)
    chosen = lot.steps[0]
    others = [team for team in offered if team not in chosen]
    plan = Plan(
        tuple(sizes[t] for t in (*chosen, *others)), len(chosen), wish.months, wish.months, site.ground
    )
    drawn = plan_reach(plan, wish.fall, np.random.default_rng(wish.seed))
    starts = [Start(team, 1, wish.first, False) for team in chosen]
    starts += [Start(team, 2, wish.first.plus(wish.months), True) for team in others]
    return tuple(starts), drawn, COMMON_START


def _stepped(
    site: SiteGround, sizes: Mapping[str, int], offered: list[str], wish: Wish
) -> tuple[tuple[Start, ...], Drawn, str]:
    assert wish.first is not None
    assert wish.months is not None
    lot = draw_schedule(offered, wish.steps, wish.seed, first=wish.months, apart=wish.apart)
    teams = [team for step in lot.steps for team in step]
    begin = [start for start, step in zip(lot.starts, lot.steps, strict=True) for _ in step]
    drawn = stepped_reach(
        [sizes[t] for t in teams], begin, lot.starts[-1] + wish.months, site.ground, wish.fall,
        np.random.default_rng(wish.seed),
    )  # fmt: skip
    base = wish.first.plus(-wish.months)
    starts = tuple(
        Start(team, number, base.plus(month), False)
        for number, (month, step) in enumerate(zip(lot.starts, lot.steps, strict=True), start=1)
        for team in step
    )
    return starts, drawn, STEPPED


def _judged_at(wish: Wish, starts: Sequence[Start]) -> int:
    last = max(_index(start.month) for start in starts if not start.follows)
    return last + (wish.months or 0)


def _index(month: Month) -> int:
    return month.year * 12 + month.month


def _wrong(what: str, remedy: str) -> EvenhandError:
    return EvenhandError(what, "evenhand plan", remedy)
