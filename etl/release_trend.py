"""Change of prevalence against the same month a year before, from published counts only."""

from collections.abc import Iterable, Mapping

from etl.release_calendar import Month
from etl.release_ledger import MONTH_KIND, HealthCell
from etl.release_rows import Row
from models.disclosure import percent_of, percent_step
from models.prevalence import newcombe_of_rounded, outward_percent

RISING, EASING, STEADY, TOO_FEW = "rising", "easing", "steady", "too few answers"

STEADY_WITHIN_POINTS = 20
"""An interval reaching further than this from zero is too wide to call steady. Own convention."""

CAUTION = (
    "The interval is cautious: it allows for the rounding of both counts and takes the two months as "
    "different people. It says that something moved, not why."
)

ANOTHER_SERIES = (
    "Who counts as having discomfort was defined anew from {series} on, so there is nothing to compare."
)

Counts = Mapping[tuple[str, str, str], tuple[int, int]]


def trend_word(low: int, high: int) -> str:
    """Return the word for a change of prevalence.

    Parameters
    ----------
    low, high : int
        Interval of the change, percentage points.

    Returns
    -------
    str
        ``rising`` or ``easing`` where the interval leaves zero out, ``steady`` where it holds zero and
        stays within 20 points of it, otherwise ``too few answers``.
    """
    if low > 0:
        return RISING
    if high < 0:
        return EASING
    return STEADY if max(-low, high) <= STEADY_WITHIN_POINTS else TOO_FEW


def trend_rows(cells: Iterable[HealthCell], month: Month, year_before: Counts, series: str = "") -> list[Row]:
    """Return the rows of table ``trend``: organisation and clusters, by region.

    Parameters
    ----------
    cells : iterable of HealthCell
        Protected cells of the edition.
    month : Month
        Month released.
    year_before : mapping
        (level, unit, region) to the count published for the same month a year before, and its n.
    series : str
        First month of the case definition in force, empty where it has no beginning; nothing is compared
        across it.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    rows: list[Row] = []
    for cell in cells:
        if cell.kind != MONTH_KIND:
            continue
        head = (str(month), str(month.plus(-12)), cell.level, cell.unit, cell.region)
        if str(month.plus(-12)) < series:
            rows.append((*head, None, None, None, TOO_FEW, ANOTHER_SERIES.format(series=series)))
            continue
        then = year_before.get((cell.level, cell.unit, cell.region))
        rows.append((*head, *_compare(cell, then, month.plus(-12))))
    return rows


def _compare(cell: HealthCell, then: tuple[int, int] | None, before: Month) -> tuple[object, ...]:
    if cell.published is None:
        why = "This month's number is withheld by the audit."
        if not cell.withheld:
            why = "Too few people answered this month to publish a number."
        return None, None, None, TOO_FEW, why
    if then is None:
        return (
            None,
            None,
            None,
            TOO_FEW,
            f"No number was published for {before}, so there is nothing to compare.",
        )
    n = len(cell.tokens)
    step = max(percent_step(n), percent_step(then[1]))
    points = percent_of(cell.published, n) - percent_of(*then)
    interval = newcombe_of_rounded(cell.published, n, *then, base=cell.base)
    low, high = outward_percent(interval, step)
    word = trend_word(low, high)
    if points:
        told = f"{abs(points)} points {'higher' if points > 0 else 'lower'} than in {before}"
    else:
        told = f"the same as in {before}"
    told = f"{told[0].upper()}{told[1:]} (95 % interval {low:+d} to {high:+d} points)."
    if word == TOO_FEW:
        told += " The interval is too wide to say which way it goes."
    return points, low, high, word, f"{told} {CAUTION}"
