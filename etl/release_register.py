"""One line of the register of changes, as an evaluation reads it."""

from dataclasses import dataclass
from datetime import date

from etl.release_calendar import Month, month_of


@dataclass(frozen=True)
class Entry:
    """One line of the register.

    Attributes
    ----------
    change, title, kind, team : str
        Code, title, kind and team.
    chosen : bool
        Whether the team was chosen for its discomfort.
    targets : tuple of str
        Target regions.
    expected, adherence, cost : float or None
        Expected points, share of the team that works the new way, cost.
    allocation, lot : str or None
        How it was decided which teams or in which order, and where a lot is on record.
    started, completed : date or None
        None where not known by the month.
    """

    change: str
    title: str
    kind: str
    team: str
    chosen: bool
    targets: tuple[str, ...]
    expected: float | None
    adherence: float | None
    cost: float | None
    allocation: str | None
    lot: str | None
    started: date | None
    completed: date | None

    def start(self, first: Month) -> int | None:
        """Return the first whole month with the change in force, counted from a month."""
        if self.completed is None:
            return None
        month = month_of(self.completed)
        return apart(first, month if self.completed.day == 1 else month.plus(1))


def apart(first: Month, month: Month) -> int:
    """Return how many months one lies after another."""
    return (month.year - first.year) * 12 + month.month - first.month
