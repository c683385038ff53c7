"""Changes: what was changed, where and when, and the published verdict."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.register import RegisterPlot
from dashboards.kinds import Frame, Row
from dashboards.labels import (
    CONTROL,
    KIND,
    STATUS,
    day_label,
    number,
    start_of,
)
from dashboards.readings import effect
from dashboards.readings.base import Answer, Fact, Reading
from dashboards.state import Chosen
from dashboards.tables import Column

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


def register_rows(frames: ReleaseFrames) -> Frame:
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


def chosen_row(frames: ReleaseFrames, chosen: Chosen) -> Row | None:
    """Return the chosen change's first row, or None if the release has no change."""
    rows = register_rows(frames)
    rows = rows[rows["change"] == chosen.change]
    return rows.iloc[0] if len(rows) else None


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return what was changed, when and where, and the published verdict.

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
            f"{word} {day_label(row[key], short=False)}"
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
    return Answer(
        f"{teams} \u00b7 {row['why']}",
        f"{row['title']}: {effect.verdict(frames, chosen)}.",
        effect.lead(frames, chosen) + warn,
        facts,
    )


def register(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the register on a time axis."""
    rows = register_rows(frames)
    if rows.empty:
        return Reading(
            None, "", "", rows, REGISTER_COLUMNS, notice="No change is registered in this edition."
        )
    plot = pd.DataFrame(
        {
            "label": rows["title"].astype(str),
            "planned": pd.to_datetime(rows["planned"]),
            "started": pd.to_datetime(rows["started"]),
            "completed": pd.to_datetime(rows["completed"]),
            "chosen": rows["change"] == chosen.change,
            "status": [f"{t}, {s}" for t, s in zip(rows["team_name"], rows["status_word"], strict=True)],
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


def _dates(row: Row) -> str:
    told = [
        f"{name} {day_label(row[name])}"
        for name in ("planned", "started", "completed")
        if pd.notna(row[name])
    ]
    return ", ".join(told) or "no date"
