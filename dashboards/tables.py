"""Tables behind the figures, as accessible markup and as CSV; both hold release rows only."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from dashboards.kinds import Frame, Row
from dashboards.labels import (
    MEASURES,
    day_label,
    interval,
    missing,
    month_label,
    number,
    region_label,
    safe,
    true_minus,
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
        return day_label(value)
    return true_minus(value)


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
    told = [[cell(row, column) for column in columns] for _, row in rows.iterrows()]
    hidden = [bool(row.get("reason")) for _, row in rows.iterrows()]
    body = "".join(_row(texts, columns, why) for texts, why in zip(told, hidden, strict=True))
    if not len(rows):
        body = f'<tr><td class="why" colspan="{len(columns)}">no rows in this edition</td></tr>'
    box = "scroll tall" if tall and len(rows) > 12 else "scroll"
    caption = safe(caption)
    table = f"<table><caption>{caption}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    if _wordy(told, columns):
        table = as_cards(table, [c.head for c in columns])
    return f'<div class="{box}" tabindex="0" role="region" aria-label="{caption}">{table}</div>'


WORDY = 28
"""Characters in a cell from which a table of more than three columns becomes cards on a narrow screen."""


def _wordy(told: list[list[str]], columns: tuple[Column, ...]) -> bool:
    longest = max((len(text) for texts in told for text in texts), default=0)
    return len(columns) > 3 and longest > WORDY


def as_cards(table: str, heads: Sequence[str]) -> str:
    """Return a table that a narrow screen lays out as a card a row, each cell after its column's name.

    Parameters
    ----------
    table : str
        Markup of a table with one row heading a row.
    heads : sequence of str
        Names of all columns, the row heading's first.

    Returns
    -------
    str
        The same table; its roles say what the elements are once the screen shows them as blocks.
    """
    names: Iterator[str] = iter(())

    def told(found: re.Match[str]) -> str:
        nonlocal names
        element, rest = found[1], found[2]
        role = {"tr": "row", "td": "cell", "table": "table"}.get(element, "rowgroup")
        if element == "th":
            role = "columnheader" if 'scope="col"' in rest else "rowheader"
        if element == "tr":
            names = iter(heads[1:])
        name = ""
        if element == "td":
            span = re.search(r'colspan="(\d+)"', rest)
            name = f' data-head="{safe(next(names, ""))}"'
            for _ in range(int(span[1]) - 1 if span else 0):
                next(names, "")
        cards = ' class="cards"' if element == "table" and "class" not in rest else ""
        rest = rest.replace('class="', 'class="cards ', 1) if element == "table" and not cards else rest
        return f'<{element} role="{role}"{cards}{name}{rest}>'

    return re.sub(r"<(table|thead|tbody|tr|th|td)((?:\s[^<>]*)?)>", told, table)


def _row(texts: list[str], columns: tuple[Column, ...], hidden: bool) -> str:
    cells = []
    for place, (text, column) in enumerate(zip(texts, columns, strict=True)):
        if place == 0:
            cells.append(f'<th scope="row"{_WHOLE * (column.kind == "date")}>{safe(text)}</th>')
        elif column.is_number and hidden:
            cells.append(f'<td class="why">{safe(text)}</td>')
        else:
            whole = _WHOLE * (column.kind == "date" or column.name.endswith("_band"))
            cells.append(f"<td{' class=n' if column.is_number else whole}>{safe(text)}</td>")
    return f"<tr>{''.join(cells)}</tr>"


# A day or a band of people is read as one piece; broken in two it makes a reader stumble.
_WHOLE = ' class="whole"'


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
