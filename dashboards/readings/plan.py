"""Plan: how many teams, how many months, who first, at what cost, and what can never be shown."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame, Row
from dashboards.labels import interval, missing, month_label, number, region_label, spelled
from dashboards.readings.base import Answer, Fact, Reading, listed
from dashboards.readings.roll_out import cost_behind, many, plan_rows, planned_region, start_rows
from dashboards.state import Chosen
from dashboards.tables import Column

NONE = (
    "No plan is published for this body region and month: plans come with the last month of a quarter, for "
    "neck, "
    "shoulder, wrist and hand and the regions of registered changes, once a year of answers is there."
)
SOURCE = (
    "Learnt from this site's own answers and rounded before use; by simulation, judged in each drawn world "
    "as a "
    "change would be."
)
REACH_COLUMNS = (
    Column("teams_words", "Teams changed"),
    Column("months", "Months on either side", "0"),
    Column("points", "Smallest fall found, points", "0"),
    Column("points_error", "Simulation error", "1"),
    Column("found_percent", "5 points found, % of cases", "0"),
    Column("found_error", "Simulation error", "1"),
    Column("case_months", "Case-months avoided by 5 points", "0"),
    Column("smallest_p_words", "Smallest p"),
    Column("sentence", "In words"),
)
GROUND_COLUMNS = (
    Column("region_words", "Body region"),
    Column("percent", "With discomfort, %", "0"),
    Column("low", "95 % interval", "interval"),
    Column("answered_percent", "Months answered, %", "0"),
    Column("leaving_percent", "Leave their team in a year, %", "0"),
    Column("lasting_percent", "Lasting share of differences, %", "0"),
    Column("carried", "Month to month", "2"),
    Column("shock_points", "Teams move together, points a month", "0"),
    Column("people_band", "People"),
    Column("months", "Months used"),
)
NEVER_COLUMNS = (
    Column("teams_words", "Teams changed"),
    Column("smallest_p_words", "Smallest p"),
    Column("never", "What it can never show"),
)
_YEAR = 12


def reach_rows(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return the newest published reach of the chosen region, by teams and months.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Rows of ``plan_reach`` with columns of words; empty without a plan.
    """
    rows = frames.frame("plan_reach", region=planned_region(frames, chosen))
    rows = rows[rows["period"] <= chosen.period]
    rows = rows[rows["period"] == rows["period"].max()] if len(rows) else rows
    return rows.assign(
        teams_words=[f"{c} of {c + o}" for c, o in zip(rows["changed"], rows["others"], strict=True)],
        smallest_p_words=[_p(p) for p in rows["smallest_p"]],
    ).reset_index(drop=True)


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return how many teams, how many months, who first, and at what cost.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Answer
        Words built from release rows.
    """
    plans = plan_rows(frames, chosen)
    reach = reach_rows(frames, chosen)
    region = planned_region(frames, chosen)
    name = region_label(region)
    if region != chosen.region:
        name += f" ({region_label(chosen.region).lower()} has no plan)"
    if plans.empty:
        words = (
            NONE if reach.empty else f"{largest(reach)} Too few teams are free of other changes for a plan."
        )
        return Answer(f"{name} \u00b7 {month_label(chosen.period)}", "No plan can be proposed yet.", words)
    plan = plans.iloc[0]
    first = start_rows(frames, plan).query("step == 1")
    teams = listed([str(team) for team in first["team_name"]])
    found = (
        "no fall that is possible"
        if missing(plan["points"])
        else f"a fall of {number(plan['points'])} points"
    )
    lead = (
        f"It finds {found} in four of five cases, and {number(plan['fall_points'])} points in "
        f"{number(plan['found_percent'])} of 100. First by lot: {teams}. {_wider(plan, reach)}"
    )
    cost = "\u2013" if missing(plan["case_cost"]) else number(plan["case_cost"])
    facts = (
        Fact("How many teams", number(plan["changed"]), _compared(plan)),
        Fact("How many months", f"{plan['months']} + {plan['months']}", "before and after the start"),
        Fact("Who first", f"{len(first)} teams", f"by lot, seed {plan['seed']}"),
        Fact("A case-month avoided", cost, cost_behind(plan)),
    )
    status = "kept" if plan["status"] == "kept" else "proposed"
    return Answer(
        f"{name} \u00b7 {plan['title']}, {status} {pd.Timestamp(plan['drawn_on']):%d %B %Y}",
        f"{many(plan['changed'])} {_steps(plan)}from {pd.Timestamp(plan['first_start']):%B %Y}, "
        f"{plan['months']} months on either side",
        lead,
        facts,
    )


def by_teams(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the smallest fall found by number of teams, a year on either side."""
    rows = reach_rows(frames, chosen)
    if rows.empty:
        return Reading(None, "", "", rows, REACH_COLUMNS, notice=NONE)
    year = rows[rows["months"] == _YEAR].reset_index(drop=True)
    known = year["points"].astype(float)
    half = 1.96 * year["points_error"].astype(float)
    plot = pd.DataFrame(
        {
            "label": [f"{words} teams" for words in year["teams_words"]],
            "value": known,
            "low": known - half,
            "high": known + half,
            "kind": ["own" if enough else "plain" for enough in year["teams_enough"]],
            "printed": [_printed(row) for _, row in year.iterrows()],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    return Reading(
        RowsPlot(
            plot, "Smallest fall found, points", "Teams changed",
            float(year["fall_points"].iloc[0]), f"matters from {number(year['fall_points'].iloc[0])}",
        ),
        _by_year(year),
        f"{_YEAR} months on either side; half of the teams changed at one start, by lot. Bars show the 95 % "
        "error of "
        f"the simulation. Grey: more teams than there are. {SOURCE}",
        year,
        REACH_COLUMNS,
    )  # fmt: skip


def never(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return what each number of teams can never show, by the smallest p it can reach."""
    rows = reach_rows(frames, chosen).drop_duplicates("changed").reset_index(drop=True)
    if rows.empty:
        return Reading(None, "", "", rows, NEVER_COLUMNS, notice=NONE)
    rows = rows.assign(never=[_never(p) for p in rows["smallest_p"]])
    least = rows[rows["smallest_p"] <= 0.05]
    words = (
        f"With fewer than {least['teams_words'].iloc[0]} teams nothing can be shown." if len(least) else ""
    )
    plans = plan_rows(frames, chosen)
    own = "" if plans.empty or not plans["cannot"].iloc[0] else f" This plan: {plans['cannot'].iloc[0]}."
    return Reading(
        None,
        f"{words}{own}",
        "The smallest p is one over the ways in which a lot could have chosen the teams. No plan shows what "
        "would have "
        "happened without the change, what it does to one person, or why it works.",
        rows,
        NEVER_COLUMNS,
    )


def ground(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return what the plans reckon with."""
    rows = frames.frame("plan_ground")
    rows = rows[rows["period"] <= chosen.period]
    rows = rows[rows["period"] == rows["period"].max()] if len(rows) else rows
    rows = rows.assign(
        region_words=[region_label(region) for region in rows["region"]],
        months=[spelled(months) for months in rows["months"]],
    ).reset_index(drop=True)
    if rows.empty:
        return Reading(None, "", "", rows, GROUND_COLUMNS, notice=NONE)
    own = rows[(rows["region"] == planned_region(frames, chosen)) & (rows["reason"] == "")]
    words = ""
    if len(own):
        row = own.iloc[0]
        words = (
            f"{row['region_words']}: {number(row['percent'])} % of answers with discomfort "
            f"({interval(row['low'], row['high'])}), {row['people_band']} people of {number(row['teams'])} "
            "teams."
        )
    return Reading(
        None,
        words,
        "Lasting share: how much of what makes people differ never changes; month to month: correlation of "
        "the rest. "
        "How long teams' common movements last cannot be told from so few teams and is held at 0.6 or more, "
        "on the "
        f"safe side. Ended with {month_label(str(rows['period'].iloc[0]))}.",
        rows,
        GROUND_COLUMNS,
    )  # fmt: skip


def largest(rows: Frame) -> str:
    """Return the reach of the largest design, or the cheapest that finds the fall, in one sentence."""
    able = rows[rows["teams_enough"].astype(bool) & (rows["smallest_p"] <= 0.05) & rows["points"].notna()]
    if able.empty:
        return "With the teams there are, no design finds even the end of all discomfort."
    best = able.sort_values(["points", "months"]).iloc[0]
    fall = number(best["fall_points"])
    met = able[able["points"] <= best["fall_points"]]
    if len(met):
        cheap = met.sort_values(["changed", "months"]).iloc[0]
        months = f"{cheap['months']} months on either side"
        return f"A fall of {fall} points takes {cheap['teams_words']} teams and {months}."
    return (
        f"No design with the teams there are finds {fall} points: {best['teams_words']} teams with "
        f"{best['months']} "
        f"months on either side find {number(best['points'])}."
    )


def _by_year(year: Frame) -> str:
    able = year[year["teams_enough"].astype(bool) & year["points"].notna() & (year["smallest_p"] <= 0.05)]
    if able.empty:
        return "With a year on either side, the teams there are find no fall that is possible."
    best = able.sort_values("points").iloc[0]
    return f"With a year on either side, {best['teams_words']} teams find {number(best['points'])} points."


def _wider(plan: Row, reach: Frame) -> str:
    return largest(reach) if len(reach) and not missing(plan["points"]) else ""


def _steps(plan: Row) -> str:
    return "" if plan["steps"] == 1 else f"in {plan['steps']} steps "


def _compared(plan: Row) -> str:
    return (
        f"{number(plan['others'])} compared with"
        if plan["others"]
        else "each compared with those still waiting"
    )


def _printed(row: Row) -> str:
    if row["smallest_p"] > 0.05:
        return f"cannot tell, p {row['smallest_p']:.2f}"
    return "no possible fall" if missing(row["points"]) else f"{number(row['points'])} points"


def _p(value: float) -> str:
    return f"{value:.3f}" if value >= 0.001 else "under 0.001"


def _never(value: float) -> str:
    if value > 0.05:
        return "anything at all: chance alone does as much in more than 1 of 20 lots"
    if value > 0.001:
        return f"a p below {value:.3f}"
    return "nothing by the number of lots; small falls by their size"
