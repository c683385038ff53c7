"""Names and units a reader sees, and the one function that makes text safe for markup."""

import html
import math
import re
from dataclasses import dataclass
from typing import Any

import pandas as pd

from dashboards.kinds import Day

AVERAGE = ("ALL", "Average of the regions")
REGIONS = {
    "NECK": "Neck",
    "SHOULDER": "Shoulder",
    "UPPER_BACK": "Upper back",
    "ELBOW": "Elbow",
    "WRIST_HAND": "Wrist and hand",
    "LOW_BACK": "Low back",
    "HIP_THIGH": "Hip and thigh",
    "KNEE": "Knee",
    "ANKLE_FOOT": "Ankle and foot",
}
MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
# A shape and a word stand beside every colour; the shapes fill up as the load rises.
STANDING = {"within guide": "\u25cb", "near guide": "\u25d0", "over guide": "\u25cf"}
TREND = {"rising": "\u25b2", "steady": "\u25ac", "easing": "\u25bc", "too few answers": "\u25c7"}
STATUS = {"PLANNED": "planned", "STARTED": "started", "COMPLETE": "complete", "DROPPED": "dropped"}
CONTROL = {
    "ELIMINATION": "elimination",
    "SUBSTITUTION": "substitution",
    "ENGINEERING": "engineering",
    "ADMINISTRATIVE": "administrative",
    "PPE": "personal protective equipment",
}
KIND = {
    "INSTRUMENT": "instrument",
    "MULTI_CHANNEL": "multi-channel work",
    "AUTOMATION": "automation",
    "ROTATION": "rotation",
    "MICRO_BREAKS": "micro-breaks",
    "BENCH_CHAIR": "bench and chair",
    "TRAINING": "training",
    "PROTOCOL": "protocol",
}
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class Measure:
    """How an exposure measure is named and written.

    Attributes
    ----------
    title, axis : str
        Name of the measure, and of its axis.
    unit : str
        Unit as printed behind a value.
    digits : int
        Decimals worth reading.
    """

    title: str
    axis: str
    unit: str
    digits: int


MEASURES = {
    "hours_per_week": Measure("Pipetting hours", "Pipetting, hours per person and week", "h a week", 1),
    "strokes_per_week": Measure("Strokes", "Strokes per person and week", "a week", 0),
    "longest_spell": Measure("Longest spell", "Longest spell of a day without a rest, min", "min", 0),
    "long_spell_days": Measure("Days with a spell over 60 min", "Person-days with a long spell, %", "%", 0),
    "beyond_guide_share": Measure("Time past 20 min", "Pipetting time past 20 min of a spell, %", "%", 0),
    "micro_rests": Measure("Short rests", "Rests of 3 to 5 min per pipetting hour", "an hour", 1),
    "force_time": Measure(
        "Thumb force-time", "Thumb force-time per person-day, N\u00b7s", "N\u00b7s a day", 0
    ),
    "peak_thumb_force": Measure("Peak thumb force", "Peak thumb force, N", "N", 1),
    "over_force_share": Measure("Strokes over 2 kgf", "Strokes made above 2 kgf, %", "%", 0),
}


def missing(value: object) -> bool:
    """Return whether a cell is empty, whichever of the three empty values it holds."""
    return value is None or value is pd.NA or value != value


def safe(text: object) -> str:
    """Return text made harmless for markup; every data-borne string goes through here.

    Parameters
    ----------
    text : object
        Anything from a release row.

    Returns
    -------
    str
        Escaped text; missing values become an empty string.
    """
    return "" if missing(text) else html.escape(str(text), quote=True)


def plain(text: object) -> str:
    """Return text for a plot label, where ``$$`` would start mathematical typesetting.

    Parameters
    ----------
    text : object
        Anything from a release row.

    Returns
    -------
    str
        The text with doubled dollar signs parted.
    """
    return "" if missing(text) else str(text).replace("$$", "$ $").replace("\\", "/")


def number(value: object, digits: int = 0) -> str:
    """Return a number as printed: thin-space thousands, a true minus, an en dash for none.

    Parameters
    ----------
    value : object
        A number of the release or a missing value.
    digits : int, default 0
        Decimals.

    Returns
    -------
    str
        The printed number.
    """
    if missing(value):
        return "\u2013"
    rounded = float(f"{float(value):.{digits}f}")  # type: ignore[arg-type]
    if math.isclose(rounded, 0.0, abs_tol=1e-12):
        rounded = 0.0
    return f"{rounded:,.{digits}f}".replace(",", "\u2009").replace("-", "\u2212")


def true_minus(sentence: object) -> str:
    """Return a sentence of the release as printed: a hyphen before a number is a minus.

    Parameters
    ----------
    sentence : object
        Plain text; a hyphen between digits, as in a band or a date, stays.

    Returns
    -------
    str
        The sentence; empty where there is none.
    """
    return "" if missing(sentence) else re.sub(r"(?<![\w-])-(?=\d)", "\u2212", str(sentence))


def print_minus(record: object, *names: str) -> None:
    """Give texts of a frozen record their true minus, while the record is being made.

    Editions are frozen and write a hyphen before negative numbers; what carries their sentences to a
    reader calls this once, so that no reading has to remember it.

    Parameters
    ----------
    record : object
        A frozen dataclass, in its ``__post_init__``.
    *names : str
        Its fields with texts, or with tuples of texts of any depth.
    """
    for name in names:
        object.__setattr__(record, name, _minus_within(getattr(record, name)))


def _minus_within(texts: Any) -> Any:
    return tuple(map(_minus_within, texts)) if isinstance(texts, tuple) else true_minus(texts)


def interval(low: object, high: object, digits: int = 0, unit: str = "") -> str:
    """Return an interval as printed, ``20 to 26 %``; the word 'to' survives negative ends.

    Parameters
    ----------
    low, high : object
        Ends of the 95 % interval.
    digits : int, default 0
        Decimals.
    unit : str, default ""
        Unit printed behind.

    Returns
    -------
    str
        The printed interval.
    """
    return f"{number(low, digits)} to {number(high, digits)}{' ' + unit if unit else ''}"


def month_label(period: str) -> str:
    """Return ``October 2026`` for ``2026-10``, ``3rd quarter 2026`` for ``2026-Q3``, ``week 41 of 2026``.

    Parameters
    ----------
    period : str
        Period code of the release.

    Returns
    -------
    str
        The period in words.
    """
    year, _, part = period.partition("-")
    if part.startswith("Q"):
        return f"{('1st', '2nd', '3rd', '4th')[int(part[1:]) - 1]} quarter {year}"
    if part.startswith("W"):
        return f"week {int(part[1:])} of {year}"
    return f"{MONTHS[int(part) - 1]} {year}" if part else year


def start_of(period: str) -> Day:
    """Return the first day of a period, for time axes.

    Parameters
    ----------
    period : str
        Month, quarter or ISO week.

    Returns
    -------
    pandas.Timestamp
        Its first day.
    """
    year, _, part = period.partition("-")
    if part.startswith("Q"):
        return pd.Timestamp(int(year), 3 * int(part[1:]) - 2, 1)
    if part.startswith("W"):
        return pd.Timestamp.fromisocalendar(int(year), int(part[1:]), 1)
    return pd.Timestamp(int(year), int(part), 1)


def region_label(code: str) -> str:
    """Return the name of a body region.

    Parameters
    ----------
    code : str
        Region code, or ``ALL``.

    Returns
    -------
    str
        Its name; an unknown code is shown as it is.
    """
    return AVERAGE[1] if code == AVERAGE[0] else REGIONS.get(code, code)


def sentence_case(text: object) -> str:
    """Return words of the release as the start of a sentence, with its full stop.

    Parameters
    ----------
    text : object
        A reason or a sentence, as ``not shown: group too small``.

    Returns
    -------
    str
        ``Not shown: group too small.``; empty where there is none.
    """
    words = "" if missing(text) else str(text).strip()
    if not words:
        return ""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '?', '!')) else '.'}"


def spelled(text: object) -> str:
    """Return text with its month codes as words, ``August 2025 to September 2026``.

    Parameters
    ----------
    text : object
        Text of the release, such as ``2025-08 to 2026-09``.

    Returns
    -------
    str
        The same text, each month spelled out; a day, as ``2025-08-31``, stays.
    """
    months = re.compile(r"(?<![\d-])(\d{4}-(?:0[1-9]|1[0-2]))(?![\d-])")
    return "" if missing(text) else months.sub(lambda found: month_label(found[1]), str(text))


def guide_number(value: object) -> str:
    """Return a guide value as printed: a tenth only where it has one, ``20`` and ``19.6``."""
    return number(value, 1).removesuffix(".0")


def day_label(value: object, short: bool = True) -> str:
    """Return a day as printed, ``9 Aug 2026``.

    Parameters
    ----------
    value : object
        A day.
    short : bool, default True
        Whether the month's name is cut to three letters.

    Returns
    -------
    str
        The day; empty where there is none.
    """
    if missing(value):
        return ""
    day = pd.Timestamp(value)  # type: ignore[arg-type]
    return f"{day.day} {MONTHS[day.month - 1][: 3 if short else None]} {day.year}"
