"""How a defect gets into a sheet: rows planted behind clean ones, and the count of what they must cause."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa

from demo_data.sheets import Sheet

Row = dict[str, str | None]
NO_PERSON = "k1:ZZZZZZZZZZZZZZZZ"


@dataclass
class Planted:
    """Defects planted in one sheet.

    Attributes
    ----------
    kinds : Counter
        Lines planted by kind of defect.
    reasons : Counter
        Rows the loader must set aside, by reason code; a conflict takes the clean row with it.
    accepted : int
        Planted rows that a loader accepts and the facts must handle (overlaps).
    clean_lost : int
        Clean rows that a conflict takes along.
    """

    kinds: Counter[str] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    accepted: int = 0
    clean_lost: int = 0


@dataclass
class Bed:
    """A sheet while rows are planted in it; ``templates`` yields each row number once."""

    sheet: Sheet
    planted: Planted
    templates: Iterator[int]
    rows: list[tuple[int, Row]] = field(default_factory=list)
    replaced: set[int] = field(default_factory=set)

    def template(self) -> tuple[int, Row]:
        """Return a clean row that no other defect uses, and its number."""
        number = next(self.templates)
        row = self.sheet.table.slice(number, 1).to_pylist()[0]
        return number, row

    def plant(self, kind: str, reason: str, after: int, row: Row, rows: int = 1) -> None:
        """Plant a row behind row ``after``; no reason means that a loader accepts it."""
        self.planted.kinds[kind] += 1
        if reason:
            self.planted.reasons[reason] += rows
        else:
            self.planted.accepted += rows
        self.rows.append((after, row))


def weave(table: pa.Table, rows: list[tuple[int, Row]], replaced: set[int]) -> pa.Table:
    """Put each planted row behind its template, or in the template's place.

    Parameters
    ----------
    table : pyarrow.Table
        Clean rows.
    rows : list of (int, dict)
        Number of the template and the planted row.
    replaced : set of int
        Templates that give up their place.

    Returns
    -------
    pyarrow.Table
        Clean rows keep their order.
    """
    if not rows:
        return table
    extra = pa.Table.from_pylist([row for _, row in rows], schema=table.schema)
    kept = np.setdiff1d(np.arange(table.num_rows), np.array(sorted(replaced), int))
    place = np.concatenate([kept, np.array([after for after, _ in rows]) + 0.5])
    order = np.concatenate([kept, table.num_rows + np.arange(len(rows))])
    return pa.concat_tables([table, extra]).take(pa.array(order[np.argsort(place, kind="stable")]))
