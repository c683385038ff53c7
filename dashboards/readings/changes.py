"""Changes: what was changed, whether it reached the work, and what discomfort did; no verdict."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.register import RegisterPlot
from dashboards.figures.rows import RowsPlot
from dashboards.figures.series import SeriesPlot
from dashboards.labels import (
    CONTROL,
    KIND,
    MEASURES,
    STATUS,
    interval,
    month_label,
    number,
    region_label,
    start_of,
)
from dashboards.readings.base import INTERVAL, Answer, Fact, Reading, hidden_words
from dashboards.readings.month import HEALTH_COLUMNS, PERCENT_AXIS, region_series
from dashboards.state import Chosen
from dashboards.tables import Column

NO_VERDICT = (
    "Whether it helped: cannot tell. This edition describes, it does not evaluate. A before and after of one "
    "group mixes the change with the season, with who answered and with chance."
)
REGISTER_COLUMNS = (
    Column("title", "Change"),
    Column("team_name", "Team"),
    Column("kind_word", "Kind"),
    Column("control_word", "Level of control"),
    Column("planned", "Planned", "date"),
    Column("started", "Started", "date"),
    Column("completed", "Complete", "date"),
    Column("status_word", "Status"),
    Column("why", "Why there"),
    Column("adherence_percent", "Adherence, %", "0"),
    Column("cost", "Cost", "0"),
    Column("owner_role", "Owner"),
)
REACH_COLUMNS = (
    Column("measure", "Measure", "measure"),
    Column("side", "Side"),
    Column("periods", "Months"),
    Column("value", "Value", "1"),
    Column("low", "95 % interval", "interval"),
    Column("value_unit", "Unit"),
    Column("n_band", "People"),
)


def register_rows(frames: ReleaseFrames) -> pd.DataFrame:
    """Return the register, newest first, with its codes in words.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    pandas.DataFrame
        Rows of ``change`` and columns of words.
    """
    rows = frames.frame("change")
    names = {u.code: u.name for u in frames.units("team")}
    first = rows["started"].fillna(rows["planned"]).fillna(rows["completed"])
    rows = rows.assign(
        team_name=[names.get(t, t) for t in rows["team"]],
        kind_word=[KIND.get(k, k) for k in rows["kind"]],
        control_word=[CONTROL.get(k, k) for k in rows["control_level"]],
        status_word=[STATUS.get(k, k) for k in rows["status"]],
        first=pd.to_datetime(first),
    )
    return rows.sort_values("first", ascending=False, na_position="last").reset_index(drop=True)


def chosen_row(frames: ReleaseFrames, chosen: Chosen) -> pd.Series | None:
    """Return the chosen change's first row, or None if the release has no change."""
    rows = register_rows(frames)
    rows = rows[rows["change"] == chosen.change]
    return rows.iloc[0] if len(rows) else None


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return what was changed, when and where, and that no verdict is drawn.

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
    row = chosen_row(frames, chosen)
    if row is None:
        return Answer(
            "", "No change is registered in this edition.", "Load the register of changes to see it here."
        )
    teams = ", ".join(register_rows(frames).query("change == @row.change")["team_name"])
    since = next(
        (
            f"{word} {pd.Timestamp(row[key]):%d %B %Y}"
            for word, key in (
                ("complete since", "completed"),
                ("started", "started"),
                ("planned for", "planned"),
            )
            if pd.notna(row[key])
        ),
        "no date",
    )
    facts = (
        Fact("Level of control", row["control_word"], row["kind_word"]),
        Fact("Status", row["status_word"], since),
        Fact(
            "Adherence",
            "\u2013" if pd.isna(row["adherence_percent"]) else f"{number(row['adherence_percent'])} %",
            "as the owner reported it" if pd.notna(row["adherence_percent"]) else "not reported",
        ),
        Fact("Owner", row["owner_role"], "role, not a person"),
    )
    warn = (
        " It was placed where discomfort was high, so a fall afterwards is expected without any effect."
        if bool(row["chosen_on_outcome"])
        else ""
    )
    return Answer(f"{teams} \u00b7 {row['why']}", str(row["title"]), NO_VERDICT + warn, facts)


def register(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the register on a time axis."""
    rows = register_rows(frames)
    if rows.empty:
        return Reading(
            None, "", "", rows, REGISTER_COLUMNS, notice="No change is registered in this edition."
        )
    plot = pd.DataFrame(
        {
            "label": [_short(t) for t in rows["title"]],
            "planned": pd.to_datetime(rows["planned"]),
            "started": pd.to_datetime(rows["started"]),
            "completed": pd.to_datetime(rows["completed"]),
            "chosen": rows["change"] == chosen.change,
            "status": rows["status_word"],
            "text": [f"{r['title']} ({r['team_name']}): {_dates(r)}" for _, r in rows.iterrows()],
        }
    )
    counts = rows.drop_duplicates("change")["status_word"].value_counts()
    words = ", ".join(f"{int(counts[w])} {w}" for w in STATUS.values() if w in counts)
    end = start_of(chosen.period) + pd.DateOffset(months=1)
    return Reading(
        RegisterPlot(plot, end),
        f"{len(rows.drop_duplicates('change'))} changes: {words}.",
        "Diamond: planned; triangle: started; square: complete. Thick line: at work; dotted: waiting. "
        "Blue: the chosen change. Source: the institute's register of changes.",
        rows,
        REGISTER_COLUMNS,
    )


def _short(title: str) -> str:
    return title if len(title) <= 30 else f"{title[:29].rstrip()}\u2026"


def _dates(row: pd.Series) -> str:
    told = [
        f"{name} {pd.Timestamp(row[name]):%d %b %Y}"
        for name in ("planned", "started", "completed")
        if pd.notna(row[name])
    ]
    return ", ".join(told) or "no date"


def reach(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the exposure of changed and other teams before and after the start.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State; the measure falls back to the first one published for this change.

    Returns
    -------
    Reading
        The reading.
    """
    rows = frames.frame("change_reach", change=chosen.change)
    if rows.empty:
        why = "No before and after is published: the change has not started, or too few months have passed."
        return Reading(None, "", "", rows, REACH_COLUMNS, notice=why)
    published = list(dict.fromkeys(rows["measure"]))
    key = chosen.measure if chosen.measure in published else published[0]
    rows = rows[rows["measure"] == key].reset_index(drop=True)
    measure = MEASURES[key]
    # Period spans sort by their first month, so the earlier one is the time before.
    spans = sorted(set(rows["periods"]), key=_first_month)
    order = {span: place for place, span in enumerate(spans)}
    rows = rows.assign(place=[order[p] for p in rows["periods"]])
    rows = rows.sort_values(["side", "place"]).drop(columns="place").reset_index(drop=True)
    digits = measure.digits
    when = {span: "before" if order[span] == 0 else "after" for span in spans}
    plot = pd.DataFrame(
        {
            "label": [f"{_side(s)}, {when[p]}" for s, p in zip(rows["side"], rows["periods"], strict=True)],
            "value": rows["value"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": [when[p] for p in rows["periods"]],
            "printed": [
                str(r["reason"])
                if r["reason"]
                else f"{number(r['value'], digits)} ({interval(r['low'], r['high'], digits)})"
                for _, r in rows.iterrows()
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    own = rows[rows["side"].str.lower().str.startswith("chang")]
    sentence = f"{measure.title} of the changed teams: " + "; ".join(
        f"{when[r['periods']]} {str(r['reason']) if r['reason'] else number(r['value'], digits)}"
        for _, r in own.iterrows()
    )
    if not (own["reason"] != "").any():
        sentence += f" {measure.unit}"
    bands = ", ".join(sorted(set(rows["n_band"].dropna())))
    foot = (
        f"People: {bands or 'not shown'}. {INTERVAL} Months: {'; '.join(f'{when[s]} {s}' for s in spans)}. "
        "Reach asks whether the work changed, not whether anybody feels better."
    )
    if key != chosen.measure:
        foot += (
            f" {MEASURES[chosen.measure].title} is not published for this change." if chosen.measure else ""
        )
    return Reading(
        RowsPlot(plot, measure.axis, "Teams", row_height=34, from_zero=False),
        f"{sentence}.",
        foot,
        rows,
        REACH_COLUMNS,
    )


def _first_month(span: str) -> tuple[int, str]:
    place = {"before": 0, "after": 1}
    word = span.split()[0].lower() if span.split() else span
    return (place.get(word, 0), span)


def _side(side: str) -> str:
    return {"changed": "Changed teams", "others": "Other teams", "other": "Other teams"}.get(
        side.lower(), side
    )


def discomfort(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the discomfort of the changed team's cluster with the start marked.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        The reading.
    """
    row = chosen_row(frames, chosen)
    if row is None:
        empty = frames.frame("health").iloc[:0]
        return Reading(None, "", "", empty, HEALTH_COLUMNS, notice="No change is chosen.")
    team = next((u for u in frames.units("team") if u.code == row["team"]), None)
    cluster = frames.cluster_of(team) if team else frames.organisation()
    rows = region_series(frames, cluster, chosen.region, chosen.period)
    shown = rows[rows["reason"] == ""]
    if shown.empty:
        words = "; ".join(sorted(set(rows["reason"]) - {""})) or "Not in this edition."
        return Reading(None, "", "", rows, HEALTH_COLUMNS, notice=words)
    own_rows = rows
    parts = [rows]
    if cluster.level != "organisation":
        top = frames.organisation()
        parts.append(region_series(frames, top, chosen.region, chosen.period).assign(series="other"))
    mark = ((pd.Timestamp(row["started"]), "started"),) if pd.notna(row["started"]) else ()
    last = shown.iloc[-1]
    sentence = (
        f"{cluster.name}, {region_label(chosen.region).lower()}: {number(last['value'])} % "
        f"({interval(last['low'], last['high'], 0, '%')}) in {month_label(last['period'])}."
    )
    note = (
        f"The changed team is one part of {cluster.name}; a team's months are not published. "
        if cluster.level == "cluster"
        else ""
    )
    band = f"{last['n_band']} people answered. " if last["n_band"] else ""
    return Reading(
        SeriesPlot(pd.concat(parts, ignore_index=True), PERCENT_AXIS, marks=mark, height=290),
        sentence,
        f"{note}{band}{INTERVAL} {hidden_words(own_rows)} Describes, does not evaluate.",
        rows,
        HEALTH_COLUMNS,
    )
