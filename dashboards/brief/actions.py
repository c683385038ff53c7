"""Actions due, read from the register: starts, completions, adherence and statements to expect."""

from dataclasses import dataclass

import pandas as pd

from dashboards.kinds import Day, Frame, Row
from dashboards.labels import month_label, start_of

# How far ahead of the month's end the committee looks.
AHEAD_MONTHS = 2
# A statement counts six whole months after the last team had the change.
WHOLE_MONTHS = 6


@dataclass(frozen=True)
class Action:
    """One thing due.

    Attributes
    ----------
    when : str
        Day or month in words; overdue ones say so.
    what, who : str
        What to do, and the role that owns it.
    """

    when: str
    what: str
    who: str


def due(register: Frame, judged: frozenset[str], period: str) -> tuple[Action, ...]:
    """Return what is due by two months after the month's end, overdue first.

    Parameters
    ----------
    register : pandas.DataFrame
        Rows of ``change`` with ``team_name``.
    judged : frozenset of str
        Changes that have a published statement.
    period : str
        Month of the brief.

    Returns
    -------
    tuple of Action
        Actions in the order of their day.
    """
    end = month_end(period)
    horizon = month_end(period, AHEAD_MONTHS)
    found: list[tuple[Day, Action]] = []
    for row in register.to_dict("records"):
        found += _start(row, end, horizon)
        found += _completion(row, end)
        found += _adherence(row, end)
    found += _statements(register, judged, period)
    return tuple(action for _, action in sorted(found, key=lambda pair: (pair[0], pair[1].what)))


def month_end(period: str, later: int = 0) -> Day:
    """Return the last day of a month, or of one some months later.

    Parameters
    ----------
    period : str
        Month, such as ``2026-10``.
    later : int, default 0
        Months later.

    Returns
    -------
    pandas.Timestamp
        The day.
    """
    return start_of(period) + pd.DateOffset(months=later + 1) - pd.Timedelta(days=1)


def _start(row: Row, end: Day, horizon: Day) -> list[tuple[Day, Action]]:
    if row["status"] != "PLANNED" or pd.isna(row["planned"]) or row["planned"] > horizon:
        return []
    day: Day = pd.Timestamp(row["planned"])
    late = f"overdue since {day:%d %b %Y}" if day <= end else f"{day:%d %b %Y}"
    return [(day, Action(late, f"Start or put off: {row['title']} ({row['team_name']})", row["owner_role"]))]


def _completion(row: Row, end: Day) -> list[tuple[Day, Action]]:
    if row["status"] != "STARTED" or pd.isna(row["started"]) or row["started"] > end:
        return []
    day: Day = pd.Timestamp(row["started"])
    what = f"Say when it will be complete: {row['title']} ({row['team_name']}), started {day:%d %b %Y}"
    return [(day, Action("now", what, row["owner_role"]))]


def _adherence(row: Row, end: Day) -> list[tuple[Day, Action]]:
    begun = row["status"] in ("STARTED", "COMPLETE") and pd.notna(row["started"]) and row["started"] <= end
    if not begun or pd.notna(row["adherence_percent"]):
        return []
    what = f"Report how far it is followed: {row['title']} ({row['team_name']})"
    return [(pd.Timestamp(row["started"]), Action("now", what, row["owner_role"]))]


def _statements(register: Frame, judged: frozenset[str], period: str) -> list[tuple[Day, Action]]:
    # Entries with one title and kind are one change; its clock starts when the last team has it.
    found: list[tuple[Day, Action]] = []
    for _, rows in register.groupby(["title", "kind"], sort=True):
        live = rows[rows["status"] != "DROPPED"]
        last = live["completed"].max()
        open_end = live["completed"].isna().any() or live.empty
        if open_end or set(live["change"]) & judged:
            continue
        last_day: Day = pd.Timestamp(last)
        # The month of a first day counts whole; otherwise counting begins with the next one.
        extra = WHOLE_MONTHS - (1 if last_day.day == 1 else 0)
        month = f"{last_day + pd.DateOffset(months=extra):%Y-%m}"
        if month_end(month) > month_end(period, AHEAD_MONTHS):
            continue
        teams = ", ".join(sorted(set(live["team_name"])))
        what = f"Read the statement on whether it helped: {live['title'].iloc[0]} ({teams})"
        when = f"with the edition of {month_label(month)}"
        if month <= period:
            when, what = "now", f"Ask why no statement was made: {live['title'].iloc[0]} ({teams})"
        found.append((month_end(month), Action(when, what, "safety committee")))
    return found
