"""Shares of bad rows beyond which a file says more about its profile than about its rows."""

import difflib
from collections.abc import Sequence
from pathlib import Path

import duckdb

from etl.columns import Findings
from etl.filechecks import refuse
from etl.reasons import REASONS, number_of

# Share of rows and least number of rows. A handful of bad rows in a small file stays a row matter.
LIMITS: dict[str, tuple[float, int]] = {
    "E_CODE": (0.05, 3),
    "E_PERSON": (0.05, 3),
    "E_FUTURE": (0.10, 3),
    "E_CTRL": (0.01, 3),
    "E_UNIT": (0.50, 3),
    "E_DATE": (0.50, 3),
    "E_SERIAL": (0.50, 3),
    "E_NUMBER": (0.50, 3),
}


def suggestions(findings: Findings, most: int = 3) -> tuple[str, ...]:
    """Say which codes are not known and which known ones they resemble; nothing is replaced.

    Parameters
    ----------
    findings : Findings
        What reading the columns found.
    most : int
        Codes named a field.

    Returns
    -------
    tuple of str
        One sentence part a field.
    """
    said = []
    for name, texts in findings.unknown.items():
        parts = []
        for text in texts[:most]:
            shown = "".join(c if c.isprintable() else "?" for c in text[:32])
            near = difflib.get_close_matches(text.upper(), findings.known.get(name, ()), 1, 0.6)
            parts.append(f"{shown!r} (near {near[0]})" if near else repr(shown))
        more = f" and {len(texts) - most} more" if len(texts) > most else ""
        said.append(f"{name}: {', '.join(parts)}{more}")
    return tuple(said)


def refuse_by_share(con: duckdb.DuckDBPyConnection, rows: int, findings: Findings, path: Path) -> None:
    """Refuse a file of whose rows too large a share has one and the same defect.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection with the temporary table ``issues``.
    rows : int
        Rows in the file.
    findings : Findings
        Unknown codes, for the message.
    path : Path
        The file, for messages.

    Raises
    ------
    FileRefused
        With the code of the defect.
    """
    counted = con.execute(
        "select reason, count(distinct id), any_value(column_name) from issues group by reason"
    ).fetchall()
    found = {reason: (bad, column) for reason, bad, column in counted}
    for code, (share, least) in LIMITS.items():
        bad, column = found.get(number_of(code), (0, ""))
        if bad < least or bad <= share * rows:
            continue
        hints = suggestions(findings) if code == "E_CODE" else ()
        detail = f": {'; '.join(hints)}" if hints else f" in column {column}"
        raise refuse(
            code, f"{bad:,} of {rows:,} rows have {REASONS[code].meaning}{detail}", path, REASONS[code].remedy
        )  # fmt: skip


def columns_of(con: duckdb.DuckDBPyConnection) -> Sequence[tuple[str, str, int]]:
    """Return how many rows each reason and column set aside.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection with the temporary table ``issues``.

    Returns
    -------
    sequence of tuple
        Number of the reason, column, rows; most rows first.
    """
    return con.execute(
        "select reason, column_name, count(distinct id) as n from issues group by all order by n desc, 1, 2"
    ).fetchall()
