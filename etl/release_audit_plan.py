"""Which editions are audited, over what, and what an edition says that is not."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from etl.release_audit_case import Auditor
from etl.release_calendar import Month
from etl.release_chain import open_release_file

NOT_AUDITED = (
    "Not audited: no auditor has searched this edition for values of single people that could be worked "
    "out from all editions together. Floors, rounding and frozen editions stand; the proof is missing."
)


class AuditSchedule(StrEnum):
    """When several editions are made in a row, which of them the auditor judges."""

    EACH = "each"
    QUARTER = "quarter"
    NONE = "none"


@dataclass(frozen=True)
class AuditPlan:
    """What the auditor does for one edition.

    Attributes
    ----------
    auditor : callable or None
        Judges the edition; None where it is not audited.
    since : int
        First edition that no auditor has passed: the audit covers the numbers from it on.
    absent : str
        What the edition says when nobody audits it.
    last : bool
        Whether it is the last edition made in a row: the audit then also counts what guesses are worth.
    """

    auditor: Auditor | None
    since: int
    absent: str = NOT_AUDITED
    last: bool = True


def plan_audit(
    auditor: Auditor | None, schedule: AuditSchedule, month: Month, last: Month, since: int
) -> AuditPlan:
    """Decide about one edition.

    Parameters
    ----------
    auditor : callable or None
        The auditor, if there is one.
    schedule : AuditSchedule
        ``each``: every edition; ``quarter``: those that close a quarter, and the last; ``none``: no edition.
    month, last : Month
        Month of the edition, and of the last one made in the same run.
    since : int
        First edition that no auditor has passed.

    Returns
    -------
    AuditPlan
        The plan.
    """
    if auditor is None or schedule is AuditSchedule.NONE:
        return AuditPlan(None, since)
    if schedule is AuditSchedule.EACH or month.is_quarter_end or month == last:
        return AuditPlan(auditor, since, last=month == last)
    by = min(month.plus(-month.month % 3), last)
    return AuditPlan(
        None, since, f"Not audited by itself: its numbers are judged together with the edition of {by}."
    )


def first_unaudited(file: Path | None) -> int:
    """Return the number of the first edition that no auditor has passed.

    Parameters
    ----------
    file : Path or None
        Published file.

    Returns
    -------
    int
        One more than the newest edition with a passed audit; 1 without any.
    """
    if file is None:
        return 1
    with open_release_file(file) as con:
        row = con.execute(
            "select max(edition) from audit_report where check_name = 'auditor' and passed"
        ).fetchone()
    return 1 + (row[0] if row and row[0] is not None else 0)
