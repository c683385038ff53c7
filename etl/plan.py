"""Plan a change from the person store: learn the ground, work the plan out, keep it, say it in words."""

import datetime as dt
import math
from collections.abc import Sequence

from etl.contracts.codelists import REGIONS
from etl.errors import EvenhandError
from etl.facts_update import refresh_facts
from etl.home import Home
from etl.plan_draft import CHANGED, MONTHS, Draft, Progress, TooFewFree, Wish, make_draft, site_grid
from etl.plan_ground import LEAST_PEOPLE, SiteGround, busy_teams, last_month, learn_ground, team_sizes
from etl.plan_keep import keep_plan
from etl.settings import load_settings
from etl.store import open_store
from models.planning_grid import Reach

_STEPS = 4


def plan_change(
    home: Home,
    region: str,
    wish: Wish,
    now: dt.datetime,
    *,
    keep: tuple[str, str] = ("", ""),
    progress: Progress = lambda step, done, total: None,
) -> tuple[str, ...]:
    """Plan a change.

    Parameters
    ----------
    home : Home
        The data home.
    region : str
        Body region.
    wish : Wish
        What is planned.
    now : datetime
        Present time with zone.
    keep : tuple of str
        Code and title under which the plan is kept; empty for a plan only looked at.
    progress : callable
        Told the step, steps done and steps in all.

    Returns
    -------
    tuple of str
        Lines to print.

    Raises
    ------
    EvenhandError
        If the region is unknown, too few people answered, or the plan cannot be made.
    """
    if region not in REGIONS:
        raise EvenhandError(f"'{region}' is no body region", "evenhand plan", f"One of {', '.join(REGIONS)}.")
    if not home.person_db.exists():
        raise EvenhandError("Nothing is loaded yet", str(home.person_db), "Run 'evenhand load' first.")
    with open_store(home, write=True) as con:
        progress("facts", 0, _STEPS)
        refresh_facts(con, load_settings(home.settings_file))
        month = last_month(con)
        progress("how answers hang together", 1, _STEPS)
        site = learn_ground(con, month, region) if month else None
        if month is None or site is None:
            raise EvenhandError(
                f"Fewer than {LEAST_PEOPLE} people answered, or all alike", "evenhand plan",
                "Collect answers for some months first.",
            )  # fmt: skip
        sizes = team_sizes(con, month)
        progress("every number of teams and months", 2, _STEPS)
        grid = site_grid(site, sizes, wish.fall)
        progress("this plan", 3, _STEPS)
        try:
            draft = make_draft(site, sizes, lambda begin: busy_teams(con, begin), wish, grid)
            plan = draft_lines(draft)
            if keep[0]:
                keep_plan(con, draft, *keep, now)
        except TooFewFree as error:
            if keep[0]:
                raise
            # What the site can find is worth knowing all the same.
            plan = (f"No plan: {error.what}. {error.remedy}",)
        progress("", _STEPS, _STEPS)
    kept = (f"Kept as {keep[0]}; enter its teams with 'evenhand change add ... --lot {keep[0]}'.",)
    return (
        *ground_lines(site, sizes),
        *grid_lines(grid, wish.fall),
        *plan,
        *(kept if keep[0] else ()),
    )


def ground_lines(site: SiteGround, sizes: dict[str, int]) -> tuple[str, ...]:
    """Return what the site's answers are like in words."""
    g = site.ground
    return (
        f"{_name(site.region)}: {site.people} people of {len(sizes)} teams, {site.answers} answers, "
        f"{site.first} to {site.last}.",
        f"{100 * g.prevalence:.0f} % with discomfort (95 % interval "
        f"{_share(site.share - 1.96 * site.error)} to {_share(site.share + 1.96 * site.error)}); "
        f"{100 * g.answering:.0f} % of months answered; "
        f"{100 * (1 - (1 - g.turnover) ** 12):.0f} % leave their team within a year.",
        f"Of what makes people differ {100 * g.steady:.0f} % lasts, the rest carries over by "
        f"{g.persistence:.2f} from month to month; teams move together by "
        f"{100 * g.shock_sd * g.prevalence * (1 - g.prevalence):.0f} points a month.",
    )


def grid_lines(grid: Sequence[Reach], fall: float) -> tuple[str, ...]:
    """Return the smallest falls found in four of five cases as a table."""
    head = "  teams changed (as many not)  " + "".join(f"{m:>4} + {m:<2} months" for m in MONTHS)
    found = {(r.changed, r.months): r for r in grid}
    lines = [
        "Smallest fall found in four of five cases, points "
        f"(* finds {100 * fall:g}; x cannot tell from chance at 5 %):",
        head,
    ]
    for number in CHANGED:
        cells = "".join(f"{_cell(found[number, m], fall):>15}" for m in MONTHS)
        lines.append(f"  {number:>5} of {2 * number:<21}{cells}")
    return tuple(lines)


def draft_lines(draft: Draft) -> tuple[str, ...]:
    """Return a plan in words: schedule, reach, cost, limits."""
    reach, wish, drawn = draft.drawn.reach, draft.wish, draft.drawn
    compared = f" against {reach.others} others" if reach.others else ", compared with those still waiting"
    effect = "no fall that is possible" if math.isinf(reach.effect) else f"{100 * reach.effect:.0f} points"
    lines = [
        f"Plan ({draft.kind}): {reach.changed} teams{compared}, {wish.months} months before and after; "
        f"finds {effect} in four of five cases, and {100 * wish.fall:g} points in "
        f"{100 * reach.found:.0f} % (Monte-Carlo error {100 * reach.found_error:.0f}) of {drawn.worlds} "
        "drawn worlds.",
        f"By lot with seed {wish.seed}:",
    ]
    for step in sorted({s.step for s in draft.starts}):
        here = [s for s in draft.starts if s.step == step]
        late = " (after the evaluation)" if here[0].follows else ""
        lines.append(f"  {here[0].month}  {', '.join(s.team for s in here)}{late}")
    if draft.left_out:
        lines.append(f"Not offered: {'; '.join(draft.left_out)}.")
    if draft.case_cost is not None:
        lines.append(f"If it falls by {100 * wish.fall:g} points: {_priced(draft)}")
    lines += [f"What it cannot show: {words}." for words in draft.cannot]
    return tuple(lines)


def _priced(draft: Draft) -> str:
    price = draft.case_cost
    assert price is not None
    assert price.cost is not None
    high = "no upper limit" if price.high is None else f"{price.high:,.0f}"
    return (
        f"{draft.case_months:,.0f} person-months of discomfort avoided until the evaluation, "
        f"{price.cost:,.0f} each; 95 of 100 evaluations would say {price.low or 0:,.0f} to {high}."
    )


def _cell(reach: Reach, fall: float) -> str:
    if reach.smallest_p > 0.05:
        return "x"
    if math.isinf(reach.effect):
        return "none"
    return f"{100 * reach.effect:.0f}{'*' if reach.effect <= fall else ''}"


def _share(value: float) -> str:
    return f"{100 * min(max(value, 0.0), 1.0):.0f}"


def _name(region: str) -> str:
    pairs = ("WRIST_HAND", "HIP_THIGH", "ANKLE_FOOT")
    return region.replace("_", " and " if region in pairs else " ").capitalize()
