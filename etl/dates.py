"""Read dates and months in a declared format, and say what is wrong with a date or a time.

Each method returns ``(value, reason, contradicts)``: a value with an empty reason, or no value with one.
"""

import datetime as dt
import re
from dataclasses import dataclass

from etl.profile_rules import NAMED_FORMATS, format_regex

Result = tuple[object, str, bool]

_ISO_DATE = re.compile(r"^(\d{4})-(\d{2})-(\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?$")
_ISO_MONTH = re.compile(r"^(\d{4})-(\d{2})$")
_SERIAL = re.compile(r"^[1-9]\d{4}(\.\d+)?$")
_DATE_LIKE = re.compile(r"^(\d{1,4})[./ -](\d{1,2})[./ -](\d{1,4})(?:[T ]+\d{1,2}[:.]\d{2}.*)?$")
_EPOCHS = {"excel-1900": dt.date(1899, 12, 30), "excel-1904": dt.date(1904, 1, 1)}
EARLIEST, LATEST = dt.date(1900, 1, 1), dt.date(2199, 12, 31)


def _real(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def reads_in_another_order(text: str, pattern: str) -> bool:
    """Tell whether a text is a real date in another order of day, month and year than the declared one.

    Parameters
    ----------
    text : str
        A text that is not a date in the declared format.
    pattern : str
        The declared format.

    Returns
    -------
    bool
        For ``iso``: True for ``31/12/2026``, False for ``2026-02-30`` and ``2026-02-03 25:00``.
    """
    found = _DATE_LIKE.match(text)
    if not found or re.match(r"^\d{4}-\d{2}-\d{2}", text):
        return False
    parts = [int(part) for part in found.groups()]
    declared = "".join(re.findall(r"%([dmYy])", pattern)).upper() or "YMD"
    if _in_order(parts, declared):
        return False
    return any(_in_order(parts, order) for order in ("YMD", "DMY", "MDY"))


def _in_order(parts: list[int], order: str) -> bool:
    named = dict(zip(order, parts, strict=False))
    year = named.get("Y", 0)
    in_range = EARLIEST.year <= year <= LATEST.year
    return in_range and _real(year, named.get("M", 1), named.get("D", 1)) is not None


@dataclass(frozen=True)
class DateReader:
    """Dates of one mapped field.

    Attributes
    ----------
    pattern : str
        Declared format of the field.
    date_pattern : str
        Declared format of dates, for months given as a day (``date``).
    today : datetime.date
        Later dates are in the future.
    origin : str
        Month that index 0 stands for, as ``YYYY-MM``.
    step_months : int
        Months from one index to the next.
    """

    pattern: str
    date_pattern: str
    today: dt.date
    origin: str = ""
    step_months: int = 1

    def date(self, text: str, *, may_be_future: bool) -> Result:
        """Read a date.

        Parameters
        ----------
        text : str
            The cell.
        may_be_future : bool
            Whether a later day than today is accepted.

        Returns
        -------
        tuple
            Value, reason and whether the text contradicts the declared format.
        """
        return self._placed(text, self._as_date(text, self.pattern), may_be_future=may_be_future)

    def month(self, text: str, *, may_be_future: bool) -> Result:
        """Read a month as its first day.

        Parameters
        ----------
        text : str
            The cell.
        may_be_future : bool
            Whether a later month than the present one is accepted.

        Returns
        -------
        tuple
            Value, reason and whether the text contradicts the declared format.
        """
        if self.pattern == "index":
            found = self._as_index(text)
        else:
            pattern = self.date_pattern if self.pattern == "date" else self.pattern
            iso = _ISO_MONTH.match(text)
            found = _real(int(iso[1]), int(iso[2]), 1) if iso else self._as_date(text, pattern)
        return self._placed(text, found and found.replace(day=1), may_be_future=may_be_future)

    def why_no_instant(self, text: str) -> Result:
        """Say why a text is not a date with a time of day in the declared format.

        Parameters
        ----------
        text : str
            A text that was not read as an instant.

        Returns
        -------
        tuple
            Always without a value.
        """
        return self._placed(text, None, may_be_future=True)

    def _as_date(self, text: str, pattern: str) -> dt.date | None:
        iso = _ISO_DATE.match(text)
        if iso:
            return _real(*(int(part) for part in iso.groups()))
        if pattern in _EPOCHS:
            serial = _SERIAL.match(text)
            return _EPOCHS[pattern] + dt.timedelta(days=int(float(text))) if serial else None
        if pattern in NAMED_FORMATS or not re.match(format_regex(pattern), text):
            return None
        try:
            # A month alone has no day; the first stands for it.
            day = "" if "%d" in pattern else "%d "
            return dt.datetime.strptime(("01 " if day else "") + text, day + pattern).date()
        except ValueError:
            return None

    def _as_index(self, text: str) -> dt.date | None:
        if not re.match(r"^-?\d{1,4}$", text):
            return None
        year, month = (int(part) for part in self.origin.split("-"))
        counted = year * 12 + month - 1 + int(text) * self.step_months
        return _real(counted // 12, counted % 12 + 1, 1) if counted > 0 else None

    def _placed(self, text: str, found: dt.date | None, *, may_be_future: bool) -> Result:
        if found is None:
            if _SERIAL.match(text):
                return None, "E_SERIAL", False
            return None, "E_DATE", reads_in_another_order(text, self.pattern)
        if not EARLIEST <= found <= LATEST:
            return None, "E_DATE", False
        if found > self.today and not may_be_future:
            return None, "E_FUTURE", False
        return found, "", False
