"""Months that a published period covers."""

from __future__ import annotations

import re

_PERIOD = re.compile(r"^(\d{4})-(?:(0[1-9]|1[0-2])|Q([1-4]))$")


def months_of(period: str) -> tuple[str, ...]:
    """List the months a period covers.

    Parameters
    ----------
    period : str
        ``2026-10`` (month), ``2026-Q3`` (quarter) or ``2026-02..2026-04`` (any run of months; nothing the
        project publishes, but what an unsafe release might).

    Returns
    -------
    tuple of str
        Months as ``YYYY-MM``, in order.

    Raises
    ------
    ValueError
        If the period has none of these forms.
    """
    first, _, last = period.partition("..")
    if last:
        (a,), (b,) = months_of(first), months_of(last)
        start, end = _ordinal(a), _ordinal(b)
        return tuple(_month(i) for i in range(start, end + 1))
    match = _PERIOD.match(period)
    if match is None:
        raise ValueError(
            f"period {period!r} is not a month (2026-10), a quarter (2026-Q3) or a run of months"
        )
    year, month, quarter = match.groups()
    if month:
        return (period,)
    return tuple(f"{year}-{3 * int(quarter) - 2 + i:02d}" for i in range(3))


def _ordinal(month: str) -> int:
    return int(month[:4]) * 12 + int(month[5:]) - 1


def _month(ordinal: int) -> str:
    return f"{ordinal // 12:04d}-{ordinal % 12 + 1:02d}"
