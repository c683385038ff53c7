"""Periods of a release: months, the quarter and the ISO weeks that end in a month."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from etl.errors import ReleaseRefused

_MONTH = re.compile(r"(\d{4})-(0[1-9]|1[0-2])")


@dataclass(frozen=True, order=True)
class Month:
    """A calendar month.

    Attributes
    ----------
    year, month : int
        Calendar year, and month from 1 to 12.
    """

    year: int
    month: int

    def __str__(self) -> str:
        return f"{self.year:04d}-{self.month:02d}"

    @property
    def first_day(self) -> date:
        """First day of the month."""
        return date(self.year, self.month, 1)

    @property
    def last_day(self) -> date:
        """Last day of the month."""
        return date(self.year, self.month, monthrange(self.year, self.month)[1])

    @property
    def is_quarter_end(self) -> bool:
        """Whether a calendar quarter ends with this month."""
        return self.month % 3 == 0

    @property
    def quarter(self) -> str:
        """The quarter the month lies in, such as ``2026-Q3``."""
        return f"{self.year:04d}-Q{(self.month + 2) // 3}"

    def plus(self, months: int) -> "Month":
        """Return the month so many months later (earlier if negative)."""
        years, rest = divmod(self.year * 12 + self.month - 1 + months, 12)
        return Month(years, rest + 1)

    def quarter_months(self) -> tuple["Month", ...]:
        """Return the months of the quarter up to and including this one."""
        return tuple(self.plus(-k) for k in reversed(range((self.month - 1) % 3 + 1)))

    def weeks_ending(self) -> tuple[date, ...]:
        """Return the Mondays of the ISO weeks whose Sunday lies in this month."""
        first_sunday = self.first_day + timedelta(days=6 - self.first_day.weekday())
        sundays = (first_sunday + timedelta(weeks=k) for k in range(5))
        return tuple(day - timedelta(days=6) for day in sundays if day <= self.last_day)


def parse_month(text: str) -> Month:
    """Read a month such as ``2026-10``.

    Parameters
    ----------
    text : str
        Year and month, ISO 8601.

    Returns
    -------
    Month
        The month.

    Raises
    ------
    ReleaseRefused
        If the text is no month.
    """
    found = _MONTH.fullmatch(text)
    if found is None:
        raise ReleaseRefused(f"'{text}' is no month", "period", "Write year and month as in 2026-10.")
    return Month(int(found[1]), int(found[2]))


def month_of(day: date) -> Month:
    """Return the month a day lies in.

    Parameters
    ----------
    day : date
        Any day.

    Returns
    -------
    Month
        Its month.
    """
    return Month(day.year, day.month)


def iso_week(monday: date) -> str:
    """Return the name of an ISO week, such as ``2026-W41``.

    Parameters
    ----------
    monday : date
        First day of the week.

    Returns
    -------
    str
        ISO year and week.
    """
    year, week, _ = monday.isocalendar()
    return f"{year:04d}-W{week:02d}"


def refuse_period(month: Month, last: Month | None, today: date) -> None:
    """Refuse a month that is not over, or not after the last one released.

    Parameters
    ----------
    month : Month
        Month to release.
    last : Month or None
        Last month released, None before the first release.
    today : date
        The day the release is made.

    Raises
    ------
    ReleaseRefused
        With the reason; published numbers are frozen, so no month is released a second time.
    """
    if month.last_day >= today:
        raise ReleaseRefused(
            f"{month} is not over", "period", f"Release it from {month.plus(1).first_day} on."
        )
    if last is not None and month == last:
        raise ReleaseRefused(
            f"{month} is already released and published numbers are frozen",
            "period",
            f"Late answers count from the next period on; release {month.plus(1)} when it is over.",
        )
    if last is not None and month < last:
        raise ReleaseRefused(
            f"{month} lies before {last}, the last month released",
            "period",
            f"Editions are made in the order of time; the next one is {last.plus(1)}.",
        )
