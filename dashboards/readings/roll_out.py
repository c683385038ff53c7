"""The roll-out of a plan: who starts when, and what a month of discomfort avoided would cost."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.calendar import CalendarPlot
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame, Row
from dashboards.labels import REGIONS, STANDING, missing, number, start_of
from dashboards.readings.base import Reading, listed
from dashboards.state import Chosen
from dashboards.tables import Column

NO_PLAN = "No plan is published for this body region."
PLAN_COLUMNS = (
    Column("title", "Plan"),
    Column("status", "Status"),
    Column("drawn_on", "Drawn on", "date"),
    Column("seed_words", "Seed of the lot"),
    Column("kind", "Judged as"),
    Column("changed", "Teams changed", "0"),
    Column("others", "Teams compared", "0"),
    Column("months", "Months on either side", "0"),
    Column("first_start", "First start", "date"),
    Column("case_cost", "Cost of a case-month avoided", "0"),
    Column("cost_words", "In words"),
)
START_COLUMNS = (
    Column("team_name", "Team"),
    Column("step", "Step", "0"),
    Column("start", "Start", "date"),
    Column("when_words", "When"),
    Column("load_words", "Pipetting hours"),
)


def planned_region(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return the chosen body region, or the first one planned for where that has no plan.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    str
        Region; the chosen one where nothing is planned at all.
    """
    planned = [*frames.frame("plan")["region"], *frames.frame("plan_reach")["region"]]
    if chosen.region in planned or not planned:
        return chosen.region
    # A plan before a mere reach, and then the order of the body: by its letter, elbow would come first.
    own = list(frames.frame("plan")["region"]) or planned
    return min(own, key=lambda region: list(REGIONS).index(region) if region in REGIONS else len(REGIONS))


def plan_rows(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the plans for the chosen region, kept ones first, then the newest proposal.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Rows of ``plan``; plans drawn after the chosen month are left out.
    """
    rows = frames.frame("plan", region=planned_region(frames, chosen))
    end = start_of(chosen.period) + pd.DateOffset(months=1)
    rows = rows[pd.to_datetime(rows["drawn_on"]) < end].sort_values("drawn_on", ascending=False)
    kept = rows[rows["status"] == "kept"]
    found = pd.concat([kept, rows[rows["status"] == "proposed"].head(1)])
    return found.assign(seed_words=[str(seed) for seed in found["seed"]]).reset_index(drop=True)


def start_rows(frames: ReleaseFrames, plan: Row) -> Frame:
    """Return the teams of a plan with their start and whether their hours lie over the guide.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    plan : pandas.Series
        Row of ``plan``.

    Returns
    -------
    pandas.DataFrame
        Rows of ``plan_start`` with columns of words, in order of step and name.
    """
    rows = frames.frame("plan_start", plan=plan["plan"])
    names = {unit.code: unit.name for unit in frames.units("team")}
    load = frames.frame("exposure", level="team", measure="hours_per_week", period_kind="month")
    load = load[(load["period"] <= f"{pd.Timestamp(plan['drawn_on']):%Y-%m}") & (load["reason"] == "")]
    standing = load.sort_values("period").drop_duplicates("unit", keep="last").set_index("unit")["standing"]
    rows = rows.assign(
        team_name=[names.get(team, team) for team in rows["team"]],
        start=pd.to_datetime(rows["start"]),
        when_words=[
            "after the evaluation" if follows else f"step {step}"
            for follows, step in zip(rows["follows"], rows["step"], strict=True)
        ],
        load_words=[str(standing.get(team, "not shown")) for team in rows["team"]],
    )
    return rows.sort_values(["step", "team_name"]).reset_index(drop=True)


def calendar(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return who starts when, as a calendar of the newest plan."""
    plans = plan_rows(frames, chosen)
    if plans.empty:
        empty = frames.frame("plan_start").iloc[:0]
        return Reading(None, "", "", empty, START_COLUMNS, notice=NO_PLAN)
    plan = plans.iloc[0]
    rows = start_rows(frames, plan)
    months = pd.DateOffset(months=int(plan["months"]))
    starts = rows[~rows["follows"]]["start"]
    end = starts.max() + months
    plot = pd.DataFrame(
        {
            "label": rows["team_name"],
            "begin": starts.min() - months,
            "start": rows["start"],
            "follows": rows["follows"].astype(bool),
            "printed": [
                f"{row['start']:%b %Y} {STANDING.get(str(row['load_words']), '')}"
                for _, row in rows.iterrows()
            ],
        }
    )
    plot["text"] = [
        f"{row['team_name']}: {row['when_words']}, {row['start']:%B %Y}; hours {row['load_words']}"
        for _, row in rows.iterrows()
    ]
    steps = [
        f"{many(len(part))} in {day:%B %Y}"
        for day, part in rows[~rows["follows"]].groupby("start", sort=True)
    ]
    later = rows[rows["follows"]]
    rest = (
        f" The other {len(later)} follow once it is judged, from {later['start'].min():%B %Y}."
        if len(later)
        else ""
    )
    return Reading(
        CalendarPlot(plot, end),
        f"{listed(steps)}.{rest}",
        f"Dotted: months that count as before, surveys of the past included; thick: with the change; hollow: "
        f"after the evaluation in {end:%B %Y}. Drawn by lot with seed {plan['seed']}, so anybody can draw it "
        "again; teams with another change at work were left out. Pipetting hours beside the guide, for "
        f"information: {_legend()}; the lot looks neither at them nor at discomfort.",
        rows,
        START_COLUMNS,
    )


def cost(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the cost of a month of discomfort avoided of each plan, with its interval."""
    rows = plan_rows(frames, chosen)
    if rows.empty:
        return Reading(None, "", "", rows, PLAN_COLUMNS, notice=NO_PLAN)
    plot = pd.DataFrame(
        {
            "label": rows["title"],
            "value": rows["case_cost"].astype(float),
            "low": rows["case_low"].astype(float).where(rows["case_high"].notna()),
            "high": rows["case_high"].astype(float),
            "kind": ["own" if k == 0 else "plain" for k in range(len(rows))],
            "printed": [_cost_printed(row) for _, row in rows.iterrows()],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    first = rows.iloc[0]
    people = "" if missing(first["cost"]) else f" All changed teams: {number(first['cost'])}."
    return Reading(
        RowsPlot(plot, "Cost of a month of discomfort avoided", "Plan", row_height=40),
        str(first["cost_words"]),
        f"If discomfort falls by {number(first['fall_points'])} points, {number(first['case_months'])} "
        "person-months "
        f"are avoided until the evaluation.{people} The interval is where 95 of 100 evaluations would put "
        "it. "
        "A proposal takes the median cost a team of the registered changes; where none is registered, none "
        "is shown.",
        rows,
        PLAN_COLUMNS,
    )


def cost_behind(plan: Row) -> str:
    """Return the interval of a plan's cost in words."""
    if missing(plan["case_cost"]):
        return "cost not known"
    high = "no upper limit" if missing(plan["case_high"]) else number(plan["case_high"])
    return f"{number(plan['case_low'])} to {high}"


def _cost_printed(row: Row) -> str:
    return (
        "cost not known" if missing(row["case_cost"]) else f"{number(row['case_cost'])} ({cost_behind(row)})"
    )


def many(count: object) -> str:
    """Return a number of teams in words."""
    return f"{number(count)} team{'' if count == 1 else 's'}"


def _legend() -> str:
    return ", ".join(f"{shape} {word}" for word, shape in STANDING.items())
