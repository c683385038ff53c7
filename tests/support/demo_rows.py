"""What the demo's screens must say: rows of its release by plain SQL, printed by rules written down here."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from etl.home import Home

NOW = "2026-10"
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
REGIONS = {
    "NECK": "Neck", "SHOULDER": "Shoulder", "UPPER_BACK": "Upper back", "ELBOW": "Elbow",
    "WRIST_HAND": "Wrist and hand", "LOW_BACK": "Low back", "HIP_THIGH": "Hip and thigh", "KNEE": "Knee",
    "ANKLE_FOOT": "Ankle and foot",
}  # fmt: skip
# Code -> name, unit and decimals on the screen.
MEASURES = {
    "hours_per_week": ("Pipetting hours", "h a week", 1),
    "strokes_per_week": ("Strokes", "a week", 0),
    "longest_spell": ("Longest spell", "min", 0),
    "long_spell_days": ("Days with a spell over 60 min", "%", 0),
    "beyond_guide_share": ("Time past 20 min", "%", 0),
    "micro_rests": ("Short rests", "an hour", 1),
    "force_time": ("Thumb force-time", "N\u00b7s a day", 0),
    "peak_thumb_force": ("Peak thumb force", "N", 1),
    "over_force_share": ("Strokes over 2 kgf", "%", 0),
}


@dataclass(frozen=True)
class Demo:
    """The served demo: where it lies, where it is open, and plain SQL over a copy of its newest edition."""

    home: Home
    address: str
    ask: Callable[..., list[tuple]]

    def profile(self, team: str) -> dict[str, tuple[str, ...]]:
        """Return the measures of a team as the Load room prints them.

        Name -> value with interval, standing, the organisation's value.
        """
        rows = self.ask(
            "select t.measure, t.value, t.low, t.high, t.guide, t.standing, o.value, o.low, o.high "
            "from exposure t join exposure o on o.measure = t.measure and o.period = t.period "
            "and o.level = 'organisation' where t.level = 'team' and t.unit = ? and t.period = ? "
            "and t.reason is null", team, NOW)  # fmt: skip
        shapes = {"within guide": "\u25cb", "near guide": "\u25d0", "over guide": "\u25cf"}
        assert len(rows) == len(MEASURES)
        return {
            MEASURES[measure][0]: (
                with_interval(value, low, high, measure),
                "no guide" if guide is None else f"{shapes[standing]}{standing} {guide_of(guide)}",
                with_interval(*beside, measure).replace(f" {MEASURES[measure][1]} ", " "),
            )
            for measure, value, low, high, guide, standing, *beside in rows
        }


def printed(value: float | None, digits: int = 0) -> str:
    """Return a number as the rooms print it: thin space, true minus, a dash for none."""
    return "\u2013" if value is None else f"{value:,.{digits}f}".replace(",", "\u2009").replace("-", "\u2212")


def guide_of(value: float) -> str:
    """Return a guide as printed: a tenth only where there is one."""
    return printed(value, 1).removesuffix(".0")


def with_interval(value: float, low: float, high: float, measure: str) -> str:
    _, unit, digits = MEASURES[measure]
    return f"{printed(value, digits)} {unit} ({printed(low, digits)} to {printed(high, digits)})"


def month(period: str) -> str:
    return f"{MONTHS[int(period[5:]) - 1]} {period[:4]}"


def words(text: str) -> str:
    """Return text with each run of blanks as one, for the screen breaks lines where it likes."""
    return re.sub(r"[ \n\t\xa0]+", " ", text).strip()
