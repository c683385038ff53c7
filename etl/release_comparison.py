"""Teams against the spread of all teams, and answers weighted to all asked; from published numbers."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from etl.release_calendar import Month
from etl.release_health import WITHHELD
from etl.release_ledger import MONTH_KIND, HealthCell
from etl.release_published import QuarterCount
from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.disclosure import TOO_SMALL, percent_of
from models.funnel import ALIKE, HIGHER, LOWER, proportion_funnel
from models.response import non_ignorable

LEAST_QUARTERS = 3
"""Published quarters of the year that a team needs. Own convention."""

DELTA = 0.7
"""Log-odds by which silent people may differ in the band shown: odds doubled or halved."""

FUNNEL_WORDS = {
    ALIKE: "Within the spread of all teams; a difference of this size needs no cause of its own.",
    HIGHER: "Above the spread of all teams (three standard errors, the spread between teams allowed for).",
    LOWER: "Below the spread of all teams (three standard errors, the spread between teams allowed for).",
}
FEW_TEAMS = "fewer than five teams with enough published quarters; no comparison is made"


def funnel_rows(month: Month, series: Mapping[tuple[str, str], Sequence[QuarterCount]]) -> list[Row]:
    """Compare the teams' year with the spread among them; no order of teams is made.

    A team's share is the mean of its published counts over the mean of its people: one person is one
    answer, however many quarters, as repeats of the same people add little.

    Parameters
    ----------
    month : Month
        Month released.
    series : mapping
        See :func:`etl.release_published.published_quarters`.

    Returns
    -------
    list of tuple
        Rows of table ``funnel`` without the edition number; none outside December.
    """
    if month.month != 12:
        return []
    year = month.year
    by_region: dict[str, dict[str, list[QuarterCount]]] = {}
    for (region, team), quarters in series.items():
        own = [q for q in quarters if q.quarter.startswith(f"{year}-")]
        if len(own) >= LEAST_QUARTERS:
            by_region.setdefault(region, {})[team] = own
    rows: list[Row] = []
    for region, teams in sorted(by_region.items()):
        cases = np.array([np.mean([q.published for q in own]) for own in teams.values()])
        n = np.array([np.mean([q.n for q in own]) for own in teams.values()])
        found = proportion_funnel(cases, n)
        for k, team in enumerate(teams):
            head = (year, "team", team, region)
            if found.standing[k] not in FUNNEL_WORDS:
                rows.append((*head, None, None, None, None, found.standing[k], FEW_TEAMS, FEW_TEAMS))
                continue
            percent = 5 * round(20 * float(cases[k] / n[k]))
            edges = (int(np.floor(100 * found.low[k])), int(np.ceil(100 * found.high[k])))
            target = round(100 * found.target)
            word = found.standing[k]
            rows.append((*head, percent, *edges, target, word, FUNNEL_WORDS[word], None))
    return rows


def weighted_rows(job: Job, cells: Iterable[HealthCell]) -> list[Row]:
    """Put the organisation's share weighted to everybody asked beside the unweighted one.

    From published counts only. Weighting classes are the clusters: each cluster's published share counts
    for all its people on the roster. Weights from single people's histories would be finer, but would rest
    on more than what is published.

    Parameters
    ----------
    job : Job
        Edition in the making.
    cells : iterable of HealthCell
        Protected cells of the edition.

    Returns
    -------
    list of tuple
        Rows of table ``weighted`` without the edition number.
    """
    asked = {
        (level, unit): invited
        for level, unit, _, invited, _ in job.con.execute(
            sql("release/060_response_month"), {"month": job.month.first_day}
        ).fetchall()
    }
    whole: dict[str, HealthCell] = {}
    parts: dict[str, list[HealthCell]] = {}
    for cell in cells:
        if cell.kind == MONTH_KIND and cell.level == "organisation":
            whole[cell.region] = cell
        elif cell.kind == MONTH_KIND and cell.level == "cluster":
            parts.setdefault(cell.region, []).append(cell)
    rows: list[Row] = []
    for region, cell in sorted(whole.items()):
        head = (str(job.month), cell.level, cell.unit, region)
        below = parts.get(region, [])
        n, people = len(cell.tokens), sum(asked.get((c.level, c.unit), 0) for c in below)
        if cell.published is None or not below or any(c.published is None for c in below) or people < n:
            held = any(c.withheld for c in (cell, *below))
            rows.append((*head, None, None, None, None, WITHHELD if held else TOO_SMALL))
            continue
        shares = [(c.published or 0) / len(c.tokens) * asked[c.level, c.unit] for c in below]
        weighted = sum(shares) / people
        low, high = (s.share for s in non_ignorable(weighted, n, people, (-DELTA, DELTA)))
        limits = (int(np.floor(100 * low)), int(np.ceil(100 * high)))
        rows.append((*head, percent_of(cell.published, n), round(100 * weighted), *limits, None))
    return rows
