"""The shape of a reading and the sentences all rooms share."""

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from dashboards.kinds import Frame
from dashboards.labels import month_label, print_minus, start_of
from dashboards.tables import Column

CAUTION = (
    "Evenhand informs; it diagnoses nobody. Numbers describe groups. "
    "Local rules and the advice of licensed practitioners come first."
)
INTERVAL = "Bars show the 95 % interval."
ZERO = "A shown 0 stands for 0 to 4 people."


@dataclass(frozen=True)
class Reading:
    """One figure's content.

    Attributes
    ----------
    plot : object
        Handed to the figure's draw function; None if there is no figure.
    sentence : str
        The reading in one sentence, plain text.
    foot : str
        Who was counted, interval, method and source; plain text.
    rows : pandas.DataFrame
        The release rows behind it.
    columns : tuple of Column
        How the rows are printed as a table.
    notice : str
        Shown in place of the figure when there is nothing to draw.
    """

    plot: Any
    sentence: str
    foot: str
    rows: Frame
    columns: tuple[Column, ...]
    notice: str = ""
    title: str = ""

    def __post_init__(self) -> None:
        print_minus(self, "sentence", "foot", "notice", "title")


@dataclass(frozen=True)
class Fact:
    """A number on top of a room: name, number, what stands behind it; all plain text."""

    name: str
    value: str
    behind: str

    def __post_init__(self) -> None:
        print_minus(self, "name", "value", "behind")


@dataclass(frozen=True)
class Answer:
    """The first screen's answer to a room's question; all plain text."""

    eyebrow: str
    headline: str
    lead: str
    facts: tuple[Fact, ...] = field(default_factory=tuple)

    def __post_init__(self) -> None:
        print_minus(self, "eyebrow", "headline", "lead")


def quarter_until(month: str, quarters: list[str]) -> str:
    """Return the newest quarter that is over by the end of a month.

    Parameters
    ----------
    month : str
        ``2026-10``.
    quarters : list of str
        Quarters of the release.

    Returns
    -------
    str
        ``2026-Q3``; empty if there is none.
    """
    over = [q for q in quarters if start_of(q) + pd.DateOffset(months=2) <= start_of(month)]
    return max(over, default="")


def year_before(month: str) -> str:
    """Return the same month of the year before."""
    return f"{int(month[:4]) - 1}{month[4:]}"


def hidden_words(rows: Frame) -> str:
    """Return a sentence on hidden cells, or nothing.

    Parameters
    ----------
    rows : pandas.DataFrame
        Release rows with ``reason``.

    Returns
    -------
    str
        For instance ``3 of 24 are not shown: group too small.``
    """
    gone = rows[rows["reason"] != ""] if "reason" in rows else rows.iloc[:0]
    if not len(gone):
        return ""
    words = "; ".join(sorted({str(reason).removeprefix("not shown: ") for reason in gone["reason"]}))
    return f"Crosses: {len(gone)} of {len(rows)} not shown ({words})."


def until(rows: Frame, month: str, count: int = 36) -> Frame:
    """Return the last ``count`` periods that start no later than a month, oldest first.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows with ``period``.
    month : str
        Last month wanted.
    count : int, default 36
        Periods kept.

    Returns
    -------
    pandas.DataFrame
        The rows, with their first day as ``x``.
    """
    rows = rows.assign(x=pd.to_datetime([start_of(p) for p in rows["period"]]))
    end = start_of(month) + pd.DateOffset(months=1)
    rows = rows[rows["x"] < end].sort_values("x")
    return rows[rows["period"].isin(sorted(set(rows["period"]))[-count:])].reset_index(drop=True)


def listed(words: list[str]) -> str:
    """Return ``a, b and c``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def inside(reason: object) -> str:
    """Return a reason as it stands inside a sentence: ``not shown (group too small)``."""
    words, _, why = str(reason).rstrip(".").partition(": ")
    return f"{words} ({why})" if why else words


def when(period: str) -> str:
    """Return a period in words; empty stays empty."""
    return month_label(period) if period else ""
