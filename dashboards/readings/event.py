"""Beside the verdict: effects by quarter, each check in words, and what the register said over time."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Row
from dashboards.labels import STATUS, interval, missing, month_label, number, region_label
from dashboards.readings.base import Reading, listed
from dashboards.state import Chosen
from dashboards.tables import Column

NO_PICTURE = "No picture by quarters is published for this change and body region."
NO_CHECKS = "No checks are published yet: they come with the statement on the change."
EVENT_COLUMNS = (
    Column("quarter_words", "Quarter"),
    Column("points", "Against the comparison, points", "0"),
    Column("low", "95 % interval", "interval"),
    Column("changed_band", "Changed, people"),
    Column("others_band", "Others, people"),
)
CHECK_COLUMNS = (
    Column("check_name", "Check"),
    Column("region_words", "Body region"),
    Column("passed_words", "Says"),
    Column("sentence", "In words"),
)
HISTORY_COLUMNS = (
    Column("noted_on", "Noted", "date"),
    Column("title", "Entry"),
    Column("status_word", "Status"),
    Column("planned", "Planned", "date"),
    Column("started", "Started", "date"),
    Column("completed", "Complete", "date"),
    Column("adherence_percent", "Adherence, %", "0"),
    Column("allocation_words", "Which teams, which order"),
)
_ALLOCATION = {
    "CHOICE": "by judgement",
    "LOT_TEAMS": "teams by lot",
    "LOT_ORDER": "order by lot",
}
_ORDER = ("1st", "2nd", "3rd", "4th")


def quarters(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the effects by quarter since the start for a target region of the chosen change.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State; another target region is taken where the chosen one is none.

    Returns
    -------
    Reading
        The reading.
    """
    rows = frames.frame("change_event", change=chosen.change)
    if rows.empty:
        words = _why_none(frames, chosen)
        return Reading(None, "", "", rows, EVENT_COLUMNS, notice=words)
    region = chosen.region if chosen.region in set(rows["region"]) else str(rows["region"].iloc[0])
    rows = rows[rows["region"] == region].sort_values("quarter").reset_index(drop=True)
    rows = rows.assign(quarter_words=[_quarter(q) for q in rows["quarter"]])
    plot = pd.DataFrame(
        {
            "label": rows["quarter_words"],
            "value": rows["points"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": ["before" if q < 0 else "after" for q in rows["quarter"]],
            "printed": [_printed(row) for _, row in rows.iterrows()],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    before = frames.frame("change_check", change=chosen.change, region=region, check_name="Before the start")
    drift = str(before["sentence"].iloc[0]) if len(before) else ""
    shown = rows[rows["changed_band"].notna()]
    who = (
        f"People: {', '.join(sorted(set(shown['changed_band'])))} changed, "
        f"{', '.join(sorted(set(shown['others_band'])))} others. "
        if len(shown)
        else ""
    )
    return Reading(
        RowsPlot(
            plot, "Against the comparison since the reference, points", "Quarter", 0.0, "no change", 30, True
        ),
        f"{region_label(region)}. {drift}",
        f"{who}The last quarter before the start is the reference and 0 by construction. Bars show the 95 % "
        "interval; "
        "rounded to 5 points (2 from 50 and 1 from 100 people a side), limits outward. Circles: before the "
        "start; "
        "squares: after.",
        rows,
        EVENT_COLUMNS,
    )


def checks(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return each check beside the verdict in words."""
    rows = frames.frame("change_check", change=chosen.change)
    if rows.empty:
        return Reading(None, "", "", rows, CHECK_COLUMNS, notice=NO_CHECKS)
    rows = rows.sort_values(["region", "place"]).reset_index(drop=True)
    rows = rows.assign(
        region_words=[region_label(str(region)) for region in rows["region"]],
        passed_words=[
            "cannot be told" if missing(passed) else "as it should be" if passed else "be careful"
            for passed in rows["passed"]
        ],
    )
    careful = [
        f"{name.lower()} ({region.lower()})"
        for name, region, word in zip(
            rows["check_name"], rows["region_words"], rows["passed_words"], strict=True
        )
        if word == "be careful"
    ]
    words = f"Be careful: {listed(careful)}." if careful else "No check speaks against the verdict."
    return Reading(
        None,
        words,
        "Lots: the change given to other teams. An earlier date: the same reckoning pretending an earlier "
        "start. "
        "Use: whether teams that use it more changed more. A check that finds nothing proves nothing.",
        rows,
        CHECK_COLUMNS,
    )


def history(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return what the register said over time about the chosen change, all its teams together."""
    register = frames.frame("change")
    own = register[register["change"] == chosen.change]
    same = register[register["title"].isin(own["title"])]
    names = {unit.code: unit.name for unit in frames.units("team")}
    titles = {
        row["change"]: f"{row['title']}, {names.get(row['team'], row['team'])}" for _, row in same.iterrows()
    }
    rows = frames.frame("change_history", change=tuple(titles))
    if rows.empty:
        words = "This release does not say what the register said earlier."
        return Reading(None, "", "", rows, HISTORY_COLUMNS, notice=words)
    rows = rows.sort_values(["noted_on", "change", "version"]).reset_index(drop=True)
    rows = rows.assign(
        title=[titles[change] for change in rows["change"]],
        status_word=[_status(row) for _, row in rows.iterrows()],
        allocation_words=[_allocated(row) for _, row in rows.iterrows()],
    )
    months = frames.frame("change_adherence", change=tuple(titles)).sort_values("month")
    told = [f"{number(r['adherence_percent'])} % in {month_label(r['month'])}" for _, r in months.iterrows()]
    use = f"Adherence: {listed(told)}." if told else "Adherence was not noted month by month."
    return Reading(
        None,
        f"{len(rows)} versions of {len(titles)} {'entry' if len(titles) == 1 else 'entries'}. {use}",
        "Noted: the day on which a load, a register command or a release noticed it. Nothing is overwritten.",
        rows,
        HISTORY_COLUMNS,
    )


def _why_none(frames: ReleaseFrames, chosen: Chosen) -> str:
    rows = frames.frame("change_check", change=chosen.change, check_name="Before the start")
    return str(rows["sentence"].iloc[0]) if len(rows) else NO_PICTURE


def _quarter(quarter: int) -> str:
    if quarter == -1:
        return "Last before (reference)"
    if quarter < 0:
        return f"{_ORDER[-quarter - 1]} before"
    return f"{_ORDER[quarter]} with it" if quarter < len(_ORDER) else f"{quarter + 1}th with it"


def _printed(row: Row) -> str:
    if row["quarter"] == -1:
        return "0, reference"
    if row["reason"]:
        return str(row["reason"])
    return f"{number(row['points'])} ({interval(row['low'], row['high'])})"


def _status(row: Row) -> str:
    if row["action"] == "taken back":
        return "taken back"
    return str(STATUS.get(row["status"], row["status"]))


def _allocated(row: Row) -> str:
    words = "" if missing(row["allocation"]) else _ALLOCATION.get(row["allocation"], row["allocation"])
    lot = "" if missing(row["lot"]) else f" ({row['lot']})"
    return f"{words}{lot}" if words or lot else "not recorded"
