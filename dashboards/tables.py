"""Tables behind the figures, as accessible markup and as CSV; both hold release rows only."""

import re
from dataclasses import dataclass

import pandas as pd

from dashboards.kinds import Frame, Row
from dashboards.labels import (
    MEASURES,
    interval,
    missing,
    month_label,
    number,
    region_label,
    safe,
)


@dataclass(frozen=True)
class Column:
    """One printed column.

    Attributes
    ----------
    name : str
        Column of the release row.
    head : str
        Heading, with the unit.
    kind : str
        ``text``, ``period``, ``region``, ``measure``, ``date``, ``year``, ``interval`` (of low and high) or
        ``0``, ``1``, ``2`` for a number with that many decimals.
    """

    name: str
    head: str
    kind: str = "text"

    @property
    def is_number(self) -> bool:
        """Whether the column is set flush right."""
        return self.kind.isdigit() or self.kind == "interval"


def cell(row: Row, column: Column) -> str:
    """Return one printed cell, unescaped.

    Parameters
    ----------
    row : pandas.Series
        A release row.
    column : Column
        Which cell and how.

    Returns
    -------
    str
        The words of ``reason`` for a hidden number, never 0.
    """
    if column.is_number and row.get("reason"):
        return str(row["reason"]) if column.kind != "interval" else ""
    if column.kind == "interval":
        digits = 0 if "percent" in row or "points" in row else 1
        return interval(row["low"], row["high"], digits)
    value = row[column.name]
    if column.kind.isdigit():
        return number(value, int(column.kind))
    if missing(value):
        return "\u2013"
    if column.kind == "year":
        return str(int(value))
    if column.kind == "period":
        return month_label(str(value))
    if column.kind == "region":
        return region_label(str(value))
    if column.kind == "measure":
        known = MEASURES.get(str(value))
        return known.title if known else str(value)
    if column.kind == "date":
        return f"{pd.Timestamp(value):%d %b %Y}"
    return str(value)


def as_html(rows: Frame, columns: tuple[Column, ...], caption: str, *, tall: bool = True) -> str:
    """Return a table as markup that a screen reader can walk and a keyboard can scroll.

    Parameters
    ----------
    rows : pandas.DataFrame
        Release rows.
    columns : tuple of Column
        Printed columns; the first is the row heading.
    caption : str
        What the table shows.
    tall : bool, default True
        Whether a long table scrolls in its own box.

    Returns
    -------
    str
        Markup with every data-borne string escaped.
    """
    head = "".join(f'<th scope="col"{" class=n" if c.is_number else ""}>{safe(c.head)}</th>' for c in columns)
    body = "".join(_row(row, columns) for _, row in rows.iterrows())
    if not len(rows):
        body = f'<tr><td class="why" colspan="{len(columns)}">no rows in this edition</td></tr>'
    box = "scroll tall" if tall and len(rows) > 12 else "scroll"
    return (
        f'<div class="{box}" tabindex="0" role="region" aria-label="{safe(caption)}"><table>'
        f"<caption>{safe(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _row(row: Row, columns: tuple[Column, ...]) -> str:
    cells = []
    for place, column in enumerate(columns):
        text = safe(cell(row, column))
        if place == 0:
            cells.append(f'<th scope="row">{text}</th>')
        elif column.is_number and row.get("reason"):
            cells.append(f'<td class="why">{text}</td>')
        else:
            cells.append(f"<td{' class=n' if column.is_number else ''}>{text}</td>")
    return f"<tr>{''.join(cells)}</tr>"


def as_csv(rows: Frame) -> str:
    """Return the release rows as CSV with their own column names.

    Parameters
    ----------
    rows : pandas.DataFrame
        Release rows.

    Returns
    -------
    str
        CSV text. A cell a spreadsheet would run as a formula gets a leading apostrophe.
    """
    tame = rows.copy()
    for name in tame.columns:
        if not pd.api.types.is_numeric_dtype(tame[name]) and not pd.api.types.is_datetime64_any_dtype(
            tame[name]
        ):
            tame[name] = tame[name].map(tamed)
    return tame.to_csv(index=False)


# What spreadsheets take for the start of a formula, in full width too, and what some strip before it.
_STARTS = ("=", "+", "-", "@", "\t", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_BREAKS = re.compile(r"[\r\n\v\f\x1c-\x1e\x85\u2028\u2029]")


def tamed(value: object) -> object:
    """Return a cell that no spreadsheet runs.

    Parameters
    ----------
    value : object
        A cell.

    Returns
    -------
    object
        Text on one line, with an apostrophe before what looks like a formula; anything else as it is.
    """
    if not isinstance(value, str):
        return value
    # A line break inside a cell begins a new row for some readers, and what follows could be a formula.
    line = " ".join(value.splitlines()) if _BREAKS.search(value) else value
    return f"'{line}" if line.lstrip(" ").startswith(_STARTS) else line
