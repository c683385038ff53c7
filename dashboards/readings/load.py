"""Load: is a group overloaded, on what; exposure only, no health."""

from dashboards.data import ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import MEASURES, month_label, sentence_case
from dashboards.readings.base import Answer, listed
from dashboards.readings.exposure import value_words
from dashboards.state import Chosen


def profile(frames: ReleaseFrames, chosen: Chosen) -> Frame:
    """Return a unit's measures of the month with the organisation's value beside each.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    pandas.DataFrame
        Release rows in the order of the measures, with ``title``, ``organisation``, ``other``
        (the organisation's value) and ``printed``.
    """
    rows = frames.frame("exposure", period=chosen.period, level=chosen.level, unit=chosen.code)
    rows = rows[rows["measure"].isin(MEASURES)]
    rows = rows.sort_values("measure", key=lambda m: m.map(list(MEASURES).index)).reset_index(drop=True)
    top = frames.organisation()
    whole = frames.frame("exposure", period=chosen.period, level=top.level, unit=top.code)
    beside = {r["measure"]: r for r in whole.to_dict("records")}
    return rows.assign(
        title=[MEASURES[m].title for m in rows["measure"]],
        organisation=[
            value_words(beside[m], MEASURES[m], unit=False) if m in beside else "\u2013"
            for m in rows["measure"]
        ],
        other=[float(beside[m]["value"]) if m in beside else float("nan") for m in rows["measure"]],
        printed=[value_words(r, MEASURES[r["measure"]]) for r in rows.to_dict("records")],
    )


def hidden_whole(rows: Frame) -> str:
    """Return why a unit has no measure of the month at all; empty where one is shown.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows of :func:`profile`.

    Returns
    -------
    str
        The reasons, each once: nine lines that say the same would say no more.
    """
    if rows.empty:
        return "nothing is published for this month"
    return "" if (rows["reason"] == "").any() else "; ".join(sorted(set(rows["reason"])))


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return the manager's answer: which measures stand over their guide this month.

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
    unit = frames.unit(chosen.unit)
    rows = profile(frames, chosen)
    eyebrow = f"{unit.name} \u00b7 {month_label(chosen.period)} \u00b7 {unit.people_band} people"
    if rows.empty:
        return Answer(eyebrow, "No exposure is published for this choice.", "Choose another month or group.")
    over = [t.lower() for t, s in zip(rows["title"], rows["standing"], strict=True) if s == "over guide"]
    near = [t.lower() for t, s in zip(rows["title"], rows["standing"], strict=True) if s == "near guide"]
    guided = int(rows["guide"].notna().sum())
    why = hidden_whole(rows)
    if why:
        around = frames.cluster_of(unit)
        instead = "" if around == unit else f"Look at {around.name}, which this group is part of."
        return Answer(eyebrow, sentence_case(why), instead)
    if over:
        headline = f"Over guide: {listed(over)}."
    elif near:
        headline = f"Near guide: {listed(near)}."
    else:
        headline = f"Within guide on the {guided} measures that have one." if guided else "No guide applies."
    hours = rows[rows["measure"] == "hours_per_week"]
    lead = ""
    if len(hours):
        first = hours.iloc[0]
        beside = "" if unit.level == "organisation" else f"; the organisation {first['organisation']}"
        lead = f"Pipetting: {first['printed']}{beside}. "
    lead += (
        "A guide is a working value from the sources named below, not a limit of safety; work within it can "
        "still hurt, and work over it need not."
    )
    return Answer(eyebrow, headline, lead)
