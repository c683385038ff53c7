"""Which cells of a nested table may be shown: floors, dominance and the hidden-remainder rule.

Size-only by construction: a cell carries a headcount and, for exposure, how its hours are spread.
No health value can be handed in, so what is hidden can be worked out by anybody who knows the
headcounts, and says nothing about health (simulatable in the sense of Kenthapadi, Mishra and Nissim,
"Simulatable auditing", 2005).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from models.disclosure import DOMINATED, LARGEST_SHARE, TOO_SMALL, TWO_LARGEST_SHARE


@dataclass(frozen=True)
class Cell:
    """One cell of a nested table.

    Attributes
    ----------
    unit : str
        Code of the unit, unique in the table.
    parent : str or None
        Code of the unit above, None at the top.
    n : int
        Contributors.
    total, largest, second : float
        Sum of the contributions (working time) and the two largest of them; all 0 for counts of people.
        Whole microseconds keep shares of exactly one half on the right side in any order of summing.
    """

    unit: str
    parent: str | None
    n: int
    total: float = 0.0
    largest: float = 0.0
    second: float = 0.0


@dataclass(frozen=True)
class Rule:
    """When a cell may be shown.

    Attributes
    ----------
    floor : int
        Fewest contributors.
    dominance : bool
        Whether the spread of the contributions is judged too.
    largest_share, two_largest_share : float
        Largest shares of the total that one and two people may have.
    """

    floor: int
    dominance: bool = False
    largest_share: float = LARGEST_SHARE
    two_largest_share: float = TWO_LARGEST_SHARE


def cell_of(unit: str, parent: str | None, contributions: Iterable[float]) -> Cell:
    """Build a cell from the contributions of its people.

    Parameters
    ----------
    unit : str
        Code of the unit.
    parent : str or None
        Code of the unit above.
    contributions : iterable of float
        One number a person, for example microseconds of work.

    Returns
    -------
    Cell
        The cell with its headcount, total and two largest contributions.
    """
    ranked = sorted(contributions, reverse=True)
    first, second = (*ranked[:2], 0.0, 0.0)[:2]
    return Cell(unit, parent, len(ranked), sum(ranked), first, second)


def merge(cells: Iterable[Cell]) -> Cell:
    """Return what somebody learns who can work out the sum of several cells of different people.

    Parameters
    ----------
    cells : iterable of Cell
        Cells without common people.

    Returns
    -------
    Cell
        Their union; the code is empty.
    """
    members = list(cells)
    top = sorted((x for cell in members for x in (cell.largest, cell.second)), reverse=True)
    first, second = (*top[:2], 0.0, 0.0)[:2]
    return Cell("", None, sum(c.n for c in members), sum(c.total for c in members), first, second)


def verdict(cell: Cell, rule: Rule) -> str | None:
    """Judge one cell by itself.

    Parameters
    ----------
    cell : Cell
        The cell.
    rule : Rule
        Floor and dominance limits.

    Returns
    -------
    str or None
        None where it may be shown, otherwise the words to show in its place.
    """
    if cell.n < rule.floor:
        return TOO_SMALL
    if rule.dominance and cell.total > 0:
        one = cell.largest > rule.largest_share * cell.total
        two = cell.largest + cell.second > rule.two_largest_share * cell.total
        if one or two:
            return DOMINATED
    return None


def suppress(
    cells: Sequence[Cell], rule: Rule, already: Mapping[str, str] | None = None
) -> dict[str, str | None]:
    """Decide for every cell of a nested table whether it is shown.

    A cell is hidden if it fails the rule by itself, or if its parent is hidden. While what is hidden
    under one shown parent would fail the rule as a sum (parent minus shown children), the smallest
    shown sibling is hidden as well; ties go by code. Afterwards every sum that can be formed from
    shown cells by subtraction is empty or passes the rule.

    Parameters
    ----------
    cells : sequence of Cell
        The whole table, parents before or after their children.
    rule : Rule
        Floor and dominance limits, the same for all cells.
    already : mapping of str to str, optional
        Cells hidden for another reason, with the words for it.

    Returns
    -------
    dict
        Code of each unit to None (shown) or the words shown in its place.

    Raises
    ------
    ValueError
        If a code repeats or a parent is not in the table.
    """
    by_unit = {cell.unit: cell for cell in cells}
    if len(by_unit) != len(cells):
        raise ValueError("a unit is listed twice")
    children: dict[str | None, list[Cell]] = {}
    for cell in cells:
        if cell.parent is not None and cell.parent not in by_unit:
            raise ValueError(f"parent {cell.parent} of {cell.unit} is not in the table")
        children.setdefault(cell.parent, []).append(cell)

    forced = already or {}
    result: dict[str, str | None] = {}
    waiting: list[str | None] = [None]
    while waiting:
        parent = waiting.pop()
        family = children.get(parent, [])
        above = result[parent] if parent is not None else None
        for cell in family:
            own = forced.get(cell.unit) or verdict(cell, rule)
            result[cell.unit] = own or (TOO_SMALL if above else None)
        if parent is not None and above is None:
            _cover_remainder(family, rule, result)
        waiting.extend(cell.unit for cell in family)
    return result


def _cover_remainder(family: list[Cell], rule: Rule, result: dict[str, str | None]) -> None:
    """Hide the smallest shown siblings until the hidden rest of the family passes the rule."""
    while True:
        hidden = merge(c for c in family if result[c.unit])
        shown = [c for c in family if not result[c.unit]]
        if hidden.n == 0 or not shown or verdict(hidden, rule) is None:
            return
        smallest = min(shown, key=lambda c: (c.n, c.unit))
        result[smallest.unit] = TOO_SMALL
