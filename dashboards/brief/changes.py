"""Changes with their verdicts, actions due, and what to do next."""

import pandas as pd

from dashboards.brief.actions import due
from dashboards.brief.content import Block, Grid, Points, Section, Words
from dashboards.brief.month import evening, look_next
from dashboards.data import ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import interval, number, region_label
from dashboards.readings.base import listed
from dashboards.readings.changes import register_rows
from dashboards.state import Chosen

MOST = 10


def verdicts(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return the changes with the published statement on each.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month.

    Returns
    -------
    Section
        The section.
    """
    title = "Changes, and whether they helped"
    register = register_rows(frames)
    if register.empty:
        return Section(title, (Words("No change is registered.", "notice"),))
    effects = _effects(frames)
    cells, new = [], 0
    for (name, _), rows in register.groupby(["title", "kind"], sort=False):
        told = effects[effects["change"].isin(rows["change"])].drop_duplicates("region")
        new += int((told["stated_for"] == chosen.period).any())
        cells.append((str(name), _teams(rows), _state(rows), _verdict(told)))
    heads = ("Change", "Teams", "Status", "Verdict, against the comparison")
    words = (
        f"{len(cells)} changes are registered; {new} statements are new this month. "
        if new
        else (f"{len(cells)} changes are registered; no statement is new this month. ")
    )
    foot = (
        "Points of prevalence, below 0 is less discomfort, with the 95 % interval. A statement is made once, "
        "by a method that the design decides, and says that things changed together, not that one caused "
        "the other; 'cannot tell' is a result. Costs, checks and method stand in the Changes room."
    )
    more = (
        [Words(f"{len(cells) - MOST} more stand in the Changes room.", "small")] if len(cells) > MOST else []
    )
    table = Grid("Register of changes, newest first", heads, tuple(cells[:MOST]), (25, 20, 18, 37))
    return Section(title, (Words(words.strip()), table, *more, Words(foot, "small")))


def _effects(frames: ReleaseFrames) -> Frame:
    """Return the statements with the month of the edition that made each."""
    editions = frames.frame("edition")
    months = {int(e): str(p) for e, p in zip(editions["edition"], editions["period"], strict=True)}
    rows = frames.frame("change_effect")
    stated = [months.get(int(e), "") for e in rows["edition"]]
    return rows.assign(stated_for=pd.Series(stated, index=rows.index, dtype=object))


def _teams(rows: Frame) -> str:
    names = list(dict.fromkeys(rows["team_name"]))
    return listed(names) if len(names) <= 3 else f"{', '.join(names[:2])} and {len(names) - 2} more"


def _state(rows: Frame) -> str:
    words = list(dict.fromkeys(rows["status_word"]))
    days = [
        pd.Timestamp(day)
        for day in rows["completed"].fillna(rows["started"]).fillna(rows["planned"]).dropna()
    ]
    return f"{listed(words)}, {max(days):%d %b %Y}" if days else listed(words)


def _verdict(told: Frame) -> str:
    if told.empty:
        return "no statement yet"
    parts = []
    for row in told.to_dict("records"):
        name = region_label(row["region"]).lower() if row["region"] else ""
        tail = ""
        if pd.notna(row["points"]):
            tail = f", {number(row['points'])} points ({interval(row['low'], row['high'])})"
        elif len(told["sentence"].unique()) > 1 or len(told) == 1:
            tail = f": {row['sentence'].removeprefix('Cannot tell: ').rstrip('.')}"
        parts.append(f"{name + ': ' if name else ''}{row['word']}{tail}")
    if len(set(told["sentence"])) == 1 and len(told) > 1 and told["points"].isna().all():
        regions = listed([region_label(r).lower() for r in told["region"]])
        words = str(told["sentence"].iloc[0])
        return f"{regions}: {words[:1].lower()}{words[1:]}"
    return "; ".join(parts)


def actions_due(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return what the register says is due.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month.

    Returns
    -------
    Section
        The section.
    """
    register = register_rows(frames)
    judged = frozenset(_effects(frames)["change"])
    actions = due(register, judged, chosen.period)
    if not actions:
        words = "The register names nothing due before the end of the month after next."
        return Section("Actions due", (Words(words, "notice"),))
    cells = tuple((a.what, a.when, a.who) for a in actions[:MOST])
    grid = Grid("Actions due, overdue first", ("What", "When", "Who (a role)"), cells, (58, 24, 18))
    more = len(actions) - len(cells)
    tail = [Words(f"{more} more follow from the register.", "small")] if more > 0 else []
    source = Words("Read from the register as this edition holds it; due within two months.", "small")
    return Section("Actions due", (grid, *tail, source))


def what_next(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return what flags ask to look at and what would settle open verdicts.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month.

    Returns
    -------
    Section
        The section.
    """
    blocks: list[Block] = []
    asked = look_next(frames, chosen)
    if asked:
        blocks += [Words("Where flags say to look:"), asked]
    most = evening(frames, chosen)
    if most:
        blocks += [Words("What could be shared out where load is furthest over a guide:"), most]
    effects = _effects(frames)
    open_ = effects[effects["word"].eq("cannot tell") & effects["settle"].ne("")]
    groups = [
        f"{listed(sorted(set(rows['title'])))}: {str(settle)[:1].lower()}{str(settle)[1:]}."
        for settle, rows in open_.groupby("settle", sort=False)
    ]
    if groups:
        blocks += [Words("What would settle verdicts that cannot be told:"), Points(tuple(groups[:4]))]
    if not blocks:
        blocks.append(Words("No flag and no open verdict asks for anything this month.", "notice"))
    return Section("What next", tuple(blocks))
