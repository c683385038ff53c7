"""The plan in an edition: what the site can find, a roll-out proposed by lot, and those that were kept."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from statistics import median

from etl.plan_draft import TooFewFree, Wish, make_draft, site_grid
from etl.plan_ground import (
    LEAST_PEOPLE,
    SiteGround,
    busy_teams,
    learn_ground,
    planned_regions,
    team_sizes,
)
from etl.plan_keep import kept_rows, plan_row, start_rows
from etl.release_chain import open_release_file, tables_of
from etl.release_rows import Job, Row, Rows
from etl.release_said import earlier_statements, pass_gate
from models.change_design import SIGNIFICANT
from models.disclosure import band_text
from models.planning_grid import Reach
from models.result_gate import Estimate, Question, Withheld
from models.statement_count import share_again
from models.verdict import MEANINGFUL_POINTS

FALL = MEANINGFUL_POINTS / 100
LEAST_MONTHS = 12
"""Months with answers before a ground is learnt."""

TOO_FEW = f"not shown: fewer than {LEAST_PEOPLE} people answered, or for fewer than {LEAST_MONTHS} months"
TITLE = "Proposed by lot"
GROUND = "plan ground"
STEPS = 3
"""Starts of a proposal where one start could not show anything."""


def published_plans(file: Path | None) -> frozenset[str]:
    """Return the plans that earlier editions published.

    Parameters
    ----------
    file : Path or None
        Newest published file.

    Returns
    -------
    frozenset of str
        Codes.
    """
    if file is None:
        return frozenset()
    with open_release_file(file) as con:
        # Releases begun before plans were published have no such table.
        if "plan" not in tables_of(con):
            return frozenset()
        return frozenset(code for (code,) in con.execute("select distinct plan from plan").fetchall())


def add_plans(job: Job, rows: Rows, known: frozenset[str]) -> None:
    """Add ground, reach and proposals with the last month of a quarter, and plans kept since.

    Parameters
    ----------
    job : Job
        Edition in the making, facts built.
    rows : Rows
        Rows of the edition.
    known : frozenset of str
        Plans published by earlier editions.
    """
    plans, starts = kept_rows(job.con, job.month.last_day, sorted(known))
    rows.add("plan", [_published(plan) for plan in plans])
    rows.add("plan_start", starts)
    if not job.month.is_quarter_end:
        return
    sizes = team_sizes(job.con, job.month)
    for region in planned_regions(job.con):
        _add_region(job, rows, region, sizes)


def _add_region(job: Job, rows: Rows, region: str, sizes: dict[str, int]) -> None:
    period = str(job.month)
    site = learn_ground(job.con, job.month, region)
    months = 0 if site is None else _apart(site)
    if site is None or months < LEAST_MONTHS:
        rows.add("plan_ground", [(period, region, "", *[None] * 11, TOO_FEW)])
        return
    span = f"{site.first} to {site.last}"
    if not _stated_again(job, region, span, site.people):
        # No rows: the room shows the ground stated before, with its date.
        return
    half = 196 * site.error
    said = pass_gate(
        job,
        Question(f"discomfort/{region}", GROUND, span),
        Estimate(100 * site.share, 100 * site.share - half, 100 * site.share + half),
        (site.people,),
        site.people - site.teams,
        site.ways,
    )
    if isinstance(said, Withheld):
        rows.add("plan_ground", [(period, region, span, *[None] * 11, said.reason)])
        return
    rows.add("plan_ground", [_ground_row(site, period, span, said.value, max(said.low, 0.0), said.high)])
    grid = site_grid(site, sizes, FALL)
    people = median(sizes.values())
    rows.add("plan_reach", [_reach_row(period, region, reach, len(sizes), people) for reach in grid])
    wish = Wish(fall=FALL, cost=_usual_cost(job), seed=int(period.replace("-", "")))
    try:
        draft = make_draft(site, sizes, lambda begin: busy_teams(job.con, begin), wish, grid)
        if draft.drawn.reach.smallest_p > SIGNIFICANT:
            # So few teams tell nothing from chance in one step; in several there are more orders.
            stepped = replace(wish, steps=STEPS)
            draft = make_draft(site, sizes, lambda begin: busy_teams(job.con, begin), stepped, grid)
    except TooFewFree:
        # Too few teams are free of other changes: reach is published, and nothing is proposed.
        return
    code = f"LOT-{period}-{region}"
    rows.add("plan", [_published(plan_row(draft, code, TITLE, "proposed", job.month.last_day))])
    rows.add("plan_start", start_rows(draft, code))


def _stated_again(job: Job, region: str, span: str, people: int) -> bool:
    stated = [
        said.question.period
        for said in earlier_statements(job.con, f"discomfort/{region}")
        if said.question.asked == GROUND and said.question.period != span
    ]
    return share_again(span, people, stated)


def _apart(site: SiteGround) -> int:
    return (site.last.year - site.first.year) * 12 + site.last.month - site.first.month + 1


def _ground_row(site: SiteGround, period: str, span: str, value: float, low: float, high: float) -> Row:
    g = site.ground
    plain = 100 * g.prevalence * (1 - g.prevalence)
    return (
        period, site.region, span, band_text(site.people), site.teams, value, low, high,
        round(100 * g.steady), round(g.persistence, 2), round(100 * g.answering),
        round(100 * (1 - (1 - g.turnover) ** 12)), round(g.team_sd * plain, 1), round(g.shock_sd * plain, 1),
        None,
    )  # fmt: skip


def _reach_row(period: str, region: str, reach: Reach, teams: int, people: float) -> Row:
    # Effects are rounded up: a plan must not promise what it does not find.
    found = None if math.isinf(reach.effect) else math.ceil(round(100 * reach.effect, 6))
    error = None if found is None or math.isinf(reach.error) else round(100 * reach.error, 1)
    if reach.smallest_p > 0.05:
        words = f"smallest p {reach.smallest_p:.2f}: chance can never be told apart"
    elif found is None:
        words = "not even the end of all discomfort would be found"
    else:
        words = f"a fall of {found} points is found in four of five cases"
    return (
        period, region, reach.changed, reach.others, reach.months, found, error, 100 * FALL,
        round(100 * reach.found), round(100 * reach.found_error, 1),
        round(reach.changed * people * reach.months * FALL), reach.smallest_p,
        reach.changed + reach.others <= teams, words,
    )  # fmt: skip


def _published(plan: Sequence[object]) -> Row:
    """Round a plan for readers; all of it is made of published numbers already, digits would only mislead."""
    *head, points, error, found, found_error, worlds, smallest, months, cost, middle, low, high, cannot = plan
    words = "What the change costs is not known."
    if isinstance(cost, float | int) and isinstance(middle, float):
        top = _significant(high) if isinstance(high, float) else None
        words = (
            f"One month of discomfort avoided would cost {_significant(middle):,.0f} if the fall hoped for "
            f"comes true; 95 of 100 evaluations would put it between {_significant(low or 0.0):,.0f} and "
            f"{'no upper limit' if top is None else f'{top:,.0f}'}."
        )
    return (
        *head,
        None if points is None else math.ceil(round(float(str(points)), 6)),
        None if error is None else round(float(str(error)), 1),
        round(float(str(found))), round(float(str(found_error)), 1), worlds, smallest,
        round(float(str(months))), cost, *map(_significant, (middle, low, high)), words, cannot,
    )  # fmt: skip


def _significant(value: object) -> float | None:
    """Round to two digits."""
    if not isinstance(value, float | int) or value == 0:
        return None if value is None else 0.0
    return round(float(value), 1 - math.floor(math.log10(abs(float(value)))))


def _usual_cost(job: Job) -> float | None:
    """Return the median cost a team of the changes registered by the end of the month."""
    rows = job.con.execute(
        "select cost from core.changes where cost > 0 and coalesce(planned, started, completed) <= ?",
        [job.month.last_day],
    ).fetchall()
    return float(median(cost for (cost,) in rows)) if rows else None
