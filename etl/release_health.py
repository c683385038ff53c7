"""Discomfort counts of an edition: suppressed by size alone, rounded with the contributors' draw."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from etl.release_ledger import MONTH_KIND, QUARTER_KIND, HealthCell
from etl.release_rows import Job, Row, name_of, parent_of
from etl.sqlfiles import sql
from models.disclosure import (
    TOO_SMALL,
    band_text,
    percent_of,
    percent_step,
    round_count,
    rounding_draw,
)
from models.prevalence import outward_percent, wilson_of_rounded
from models.suppression import Cell, Rule, suppress

WITHHELD = "not shown: withheld by the audit"


@dataclass(frozen=True)
class Counted:
    """A true count on its way to being protected; never stored.

    Attributes
    ----------
    level, unit : str
        Whose count.
    parent : str or None
        Unit above.
    region : str
        Body region.
    tokens : tuple of str
        People counted over, as opaque labels.
    n, cases : int
        People counted over, and those of them with discomfort.
    """

    level: str
    unit: str
    parent: str | None
    region: str
    tokens: tuple[str, ...]
    n: int
    cases: int


def counted_month(job: Job) -> list[Counted]:
    """Count the month's answers of the organisation and its clusters.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of Counted
        One element a unit and region.
    """
    rows = job.con.execute(sql("release/040_health_month"), {"month": job.month.first_day}).fetchall()
    return [_counted(row) for row in rows]


def counted_quarter(job: Job) -> list[Counted]:
    """Count the quarter cohort of each team; the quarter has to end with the month released.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of Counted
        One element a team and region; a person counts once, with discomfort in any answered month.
    """
    first = job.month.quarter_months()[0].first_day
    rows = job.con.execute(sql("release/050_health_quarter"), {"first": first}).fetchall()
    return [_counted(row) for row in rows]


def _counted(row: Sequence) -> Counted:
    level, unit, parent, region, tokens, n, cases = row
    return Counted(level, unit, parent, region, tuple(tokens), n, cases)


def protect(
    counted: Iterable[Counted], kind: str, period: str, floor: int, base: int, key: bytes
) -> list[HealthCell]:
    """Suppress and round the counts of one period.

    Parameters
    ----------
    counted : iterable of Counted
        All units of the period.
    kind : str
        Kind of table; part of what keys the rounding.
    period : str
        Month or quarter.
    floor : int
        Fewest contributors.
    base : int
        Rounding base.
    key : bytes
        Secret release key.

    Returns
    -------
    list of HealthCell
        One element for each count, hidden where `published` is None.
    """
    by_region: dict[str, list[Counted]] = {}
    for item in counted:
        by_region.setdefault(item.region, []).append(item)
    cells = []
    for region, items in sorted(by_region.items()):
        hidden = suppress(_lattice(items), Rule(floor))
        for item in items:
            shown = hidden[name_of(item.level, item.unit)] is None
            draw = rounding_draw(key, item.tokens, region, kind) if shown else 0
            value = round_count(item.cases, item.n, draw, base) if shown else None
            cells.append(HealthCell(kind, item.level, item.unit, period, region, item.tokens, base, value))
    return cells


def _lattice(items: list[Counted]) -> list[Cell]:
    """Complete the nested table with the sums above, which nobody publishes for a quarter."""
    cells = {
        name_of(i.level, i.unit): Cell(name_of(i.level, i.unit), parent_of(i.level, i.parent), i.n)
        for i in items
    }
    for item in items:
        above = parent_of(item.level, item.parent)
        if above is not None and above not in cells:
            siblings = (i.n for i in items if parent_of(i.level, i.parent) == above)
            cells[above] = Cell(above, None, sum(siblings))
    return list(cells.values())


def health_cells(job: Job) -> list[HealthCell]:
    """Return all protected health cells of the edition.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of HealthCell
        The month's organisation and clusters, and the quarter's teams if a quarter ends.
    """
    privacy, key = job.settings.privacy, job.key.secret
    cells = protect(
        counted_month(job),
        MONTH_KIND,
        str(job.month),
        privacy.health_floor_month,
        privacy.rounding_base,
        key,
    )
    if job.month.is_quarter_end:
        cells += protect(
            counted_quarter(job),
            QUARTER_KIND,
            job.month.quarter,
            privacy.health_floor_team,
            privacy.rounding_base,
            key,
        )
    return cells


def health_rows(cells: Iterable[HealthCell]) -> list[Row]:
    """Turn protected cells into rows of table ``health``.

    Parameters
    ----------
    cells : iterable of HealthCell
        Protected cells.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    rows: list[Row] = []
    for cell in cells:
        period_kind = "month" if cell.kind == MONTH_KIND else "quarter"
        head = (cell.period, period_kind, cell.level, cell.unit, cell.region)
        n = len(cell.tokens)
        if cell.published is None:
            rows.append((*head, None, None, None, None, None, WITHHELD if cell.withheld else TOO_SMALL))
            continue
        limits = outward_percent(wilson_of_rounded(cell.published, n, cell.base), percent_step(n))
        rows.append((*head, band_text(n), cell.published, percent_of(cell.published, n), *limits, None))
    return rows


def average_rows(health: Iterable[Row]) -> list[Row]:
    """Average the published percentages of each unit over the body regions.

    Parameters
    ----------
    health : iterable of tuple
        Rows of table ``health`` of one edition.

    Returns
    -------
    list of tuple
        Rows of table ``health_average``. The average and its limits are plain means of published values,
        and are shown only where every region is, so that averages stay comparable.
    """
    groups: dict[tuple, list[Row]] = {}
    for row in health:
        groups.setdefault(row[:4], []).append(row)
    rows: list[Row] = []
    for head, members in groups.items():
        shown = [row for row in members if row[10] is None]
        if len(shown) < len(members):
            words = next(row[10] for row in members if row[10] is not None)
            rows.append((*head, len(shown), None, None, None, words))
            continue
        percents, lows, highs = zip(*((row[7], row[8], row[9]) for row in shown), strict=True)
        size = len(shown)
        mean = (2 * sum(percents) + size) // (2 * size)
        rows.append((*head, size, mean, sum(lows) // size, -(-sum(highs) // size), None))
    return rows


def response_rows(job: Job) -> list[Row]:
    """Say how many of those on the roster answered.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows of table ``response``: organisation and clusters of the month, teams of the quarter.
    """
    privacy = job.settings.privacy
    found = job.con.execute(sql("release/060_response_month"), {"month": job.month.first_day}).fetchall()
    rows = _response(found, str(job.month), "month", privacy.health_floor_month)
    if job.month.is_quarter_end:
        first = job.month.quarter_months()[0].first_day
        found = job.con.execute(sql("release/070_response_quarter"), {"first": first}).fetchall()
        rows += _response(found, job.month.quarter, "quarter", privacy.health_floor_team)
    return rows


def _response(found: list[tuple], period: str, kind: str, floor: int) -> list[Row]:
    items = [Counted(level, unit, parent, "", (), n, yes) for level, unit, parent, n, yes in found]
    hidden = suppress(_lattice(items), Rule(floor))
    rows: list[Row] = []
    for item in items:
        head = (period, kind, item.level, item.unit)
        if (words := hidden[name_of(item.level, item.unit)]) is not None:
            rows.append((*head, None, None, None, words))
        else:
            bands = (band_text(item.n, floor), band_text(item.cases, floor))
            rows.append((*head, *bands, percent_of(item.cases, item.n), None))
    return rows
