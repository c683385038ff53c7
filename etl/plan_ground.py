"""What a plan must reckon with, learnt from the site's own answers: variance, answering, teams, turnover.

All of it is rounded before it is used, as it is published; so whatever is planned from it is made of
published numbers and tells nothing more of anybody.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb
import numpy as np
import pandas as pd

from etl.release_calendar import Month, month_of
from etl.sqlfiles import sql
from models.change_world import Ground
from models.disclosure import band
from models.result_gate import POINT_STEPS, result_step, round_outward
from models.site_ground import site_ground

MOST_MONTHS = 36
"""Months a ground is learnt from; older answers speak of other people."""

LEAST_PEOPLE = 50
"""Fewer people say too little about how answers hang together."""

HANDS = ("WRIST_HAND", "NECK", "SHOULDER")
"""Regions that are always planned for: those that pipetting loads most."""


@dataclass(frozen=True)
class SiteGround:
    """How the answers of one region hang together at this site.

    Attributes
    ----------
    region : str
        Body region.
    ground : Ground
        Parts of the variance, rounded.
    share, error : float
        Share with discomfort before rounding, and its standard error, robust to people answering often.
    step : float
        Points to which shares are rounded.
    people, teams, answers : int
        What it rests on.
    first, last : Month
        Months used.
    ways : dict of str to str
        Pseudonym of each contributor to the months that count; never leaves the person store.
    """

    region: str
    ground: Ground
    share: float
    error: float
    step: float
    people: int
    teams: int
    answers: int
    first: Month
    last: Month
    ways: dict[str, str]


def learn_ground(con: duckdb.DuckDBPyConnection, month: Month, region: str) -> SiteGround | None:
    """Learn the ground of one region from the answers up to a month.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, facts built.
    month : Month
        Last month used.
    region : str
        Body region.

    Returns
    -------
    SiteGround or None
        None where fewer than `LEAST_PEOPLE` answered, or all answers are alike.
    """
    answered = con.execute(sql("plan/050_answered"), {"month": month.first_day}).fetchall()[0]
    if answered[0] is None:
        return None
    first = max(month_of(answered[0]), month.plus(1 - MOST_MONTHS))
    span = {"first": first.first_day, "month": month.first_day}
    rows = con.execute(sql("plan/010_answer"), {**span, "region": region}).df()
    asked, gone, followed = con.execute(sql("plan/020_asked"), span).fetchall()[0]
    who = pd.factorize(rows["person"])[0]
    people = int(who.max()) + 1 if len(who) else 0
    if people < LEAST_PEOPLE or len(set(rows["is_case"])) < 2:
        return None
    place, when = rows["place"].to_numpy(int), rows["month"].to_numpy(int)
    case = rows["is_case"].to_numpy(float)
    answers = np.full(
        (place.max() + 1, (month.year - first.year) * 12 + month.month - first.month + 1), np.nan
    )
    answers[place, when] = case
    team = rows.groupby("place")["team"].first().astype("category").cat.codes.to_numpy(int)
    ground = site_ground(answers, team, float(asked), gone / followed if followed else 0.0)
    own = np.bincount(who, weights=case - case.mean())
    error = float(np.sqrt((own**2).sum())) / len(rows)
    ways = rows.groupby("person")["month"].agg(lambda m: ",".join(map(str, m))).to_dict()
    step = result_step(people) or POINT_STEPS[-1]
    return SiteGround(
        region, rounded(ground, step), float(case.mean()), error, step, people, len(set(rows["team"])),
        len(rows), first, month, {person: f"{first} {months}" for person, months in ways.items()},
    )  # fmt: skip


def rounded(ground: Ground, step: float) -> Ground:
    """Round what is published of a ground, so that plans are made of published numbers.

    Parameters
    ----------
    ground : Ground
        As learnt.
    step : float
        Points to which a share of these people is rounded, no less than one person's worth.

    Returns
    -------
    Ground
        Shares and spreads to that step, correlations and answering to 0.05, turnover to 5 % a year; the share
        with discomfort stays within 5 and 95 %.
    """
    share = round_outward(100 * ground.prevalence, 0.0, 100.0, step)[0] / 100
    share = min(max(share, 0.05), 0.95)
    plain = share * (1 - share)
    spread = [
        round_outward(100 * sd * plain, 0.0, 100.0, step)[0] / 100 / plain
        for sd in (ground.team_sd, ground.shock_sd)
    ]
    year = min(round((1 - (1 - ground.turnover) ** 12) / 0.05) * 0.05, 0.95)
    near = [
        round(value / 0.05) * 0.05
        for value in (ground.steady, ground.persistence, ground.answering, ground.shock_persistence)
    ]
    return Ground(
        share, min(near[0], 0.95), min(near[1], 0.95), min(max(near[2], 0.05), 1.0),
        1 - (1 - year) ** (1 / 12), spread[0], spread[1], min(near[3], 0.9),
    )  # fmt: skip


def team_sizes(con: duckdb.DuckDBPyConnection, month: Month) -> dict[str, int]:
    """Return the people of each team in a month.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, facts built.
    month : Month
        The month.

    Returns
    -------
    dict of str to int
        Teams with anybody, by code; the middle of the published band stands for the headcount.
    """
    rows = con.execute(sql("plan/030_team"), {"month": month.first_day}).fetchall()
    return {team: (band(people).low + band(people).high) // 2 for team, people in rows}


def busy_teams(con: duckdb.DuckDBPyConnection, begin: Month) -> dict[str, str]:
    """Return the teams where another change would mix with the plan.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    begin : Month
        First month of the plan.

    Returns
    -------
    dict of str to str
        Team to the titles of those changes.
    """
    return dict(con.execute(sql("plan/040_busy"), {"begin": begin.first_day}).fetchall())


def planned_regions(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Return the regions worth planning for: targets of the register, and those pipetting loads.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.

    Returns
    -------
    tuple of str
        Without repeats, hands first.
    """
    named: Sequence[tuple[str]] = con.execute(sql("plan/060_target")).fetchall()
    targets = [region for (text,) in named for region in text.replace(",", ";").split(";") if region]
    return tuple(dict.fromkeys([*HANDS, *targets]))


def last_month(con: duckdb.DuckDBPyConnection) -> Month | None:
    """Return the last month with answers, None without any."""
    found = con.execute(sql("plan/050_answered"), {"month": None}).fetchall()[0][1]
    return None if found is None else month_of(found)
