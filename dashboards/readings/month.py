"""Month: the committee's answer, what moved and what was done in words."""

from dashboards.data import ReleaseFrames, Unit
from dashboards.kinds import Frame
from dashboards.labels import MEASURES, REGIONS, interval, month_label, number, region_label, sentence_case
from dashboards.readings.base import (
    Answer,
    Fact,
    listed,
    year_before,
)
from dashboards.readings.health import health_period
from dashboards.readings.moved import trend_rows
from dashboards.state import Chosen


def answer(frames: ReleaseFrames, chosen: Chosen) -> Answer:
    """Return the committee's answer: what moved, on how many answers, what was done.

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
    period = health_period(frames, chosen, unit)
    trend = trend_rows(frames, chosen)
    headline, lead = (
        _moved_words(trend, chosen) if unit.level != "team" else _team_words(frames, unit, period)
    )
    average = frames.frame("health_average", period=period, level=unit.level, unit=unit.code)
    facts = [_average_fact(average), _response_fact(frames, unit, period), _hours_fact(frames, chosen)]
    facts.append(_changes_fact(frames, unit))
    return Answer(f"{unit.name} \u00b7 {month_label(chosen.period)}", headline, lead, tuple(facts))


def _moved_words(trend: Frame, chosen: Chosen) -> tuple[str, str]:
    if trend.empty:
        return (
            "No comparison with last year yet.",
            f"This release has no {month_label(year_before(chosen.period))} to compare with; "
            "the months so far stand below.",
        )
    by_word = {word: [region_label(r).lower() for r in g["region"]] for word, g in trend.groupby("word")}
    parts = [f"rising in {listed(by_word['rising'])}"] if by_word.get("rising") else []
    parts += [f"easing in {listed(by_word['easing'])}"] if by_word.get("easing") else []
    few = by_word.get("too few answers", [])
    if not parts and len(few) == len(trend):
        headline = "Too few answers to say what moved."
    elif not parts:
        headline = "Discomfort is steady: no region moved beyond its interval."
    else:
        headline = f"Discomfort is {', '.join(parts)}."
    steady = len(by_word.get("steady", []))
    lead = (
        f"Against {month_label(str(trend['compared_with'].iloc[0]))}, {steady} of {len(trend)} body regions "
        "are steady, which means the interval of the change includes zero."
    )
    if len(few) == len(trend):
        return headline, (
            f"Against {month_label(str(trend['compared_with'].iloc[0]))} every interval of a change "
            f"is so wide that "
            "no word is given. The months below show what is known; "
            "a larger group or more answers would narrow it."
        )
    if few:
        lead += f" Too few answers for {listed(few)}."
    return headline, lead


def _team_words(frames: ReleaseFrames, unit: Unit, period: str) -> tuple[str, str]:
    rows = frames.frame("health", period=period, level="team", unit=unit.code)
    shown = rows[(rows["reason"] == "") & rows["percent"].notna()]
    why = "A team's discomfort is published by quarter, never by month, and only for 10 or more people."
    if shown.empty:
        words = "; ".join(sorted(set(rows["reason"]) - {""})) or "no quarter is published yet"
        return sentence_case(words), f"{why} Look at {frames.cluster_of(unit).name} instead."
    shown = shown.sort_values("region", key=lambda r: r.map(list(REGIONS).index))
    top = shown[shown["percent"] == shown["percent"].max()]
    names = [region_label(region).lower() for region in top["region"]]
    # Rounded to fives, several regions often share the highest share; one of them named alone would mislead.
    first = names[0] if len(names) == 1 else f"{len(names)} regions alike"
    alike = "" if len(names) == 1 else f"{listed(names)[:1].upper()}{listed(names)[1:]}: "
    return (
        f"In the {month_label(period)} most was reported for {'the ' * (len(names) == 1)}{first}: "
        f"{number(top['percent'].iloc[0])} %.",
        f"{alike}95 % interval {interval(top['low'].min(), top['high'].max(), 0, '%')}. {why}",
    )


def _average_fact(rows: Frame) -> Fact:
    name = "People with discomfort"
    if rows.empty or rows.iloc[0]["reason"]:
        return Fact(name, "\u2013", rows.iloc[0]["reason"] if len(rows) else "not in this edition")
    row = rows.iloc[0]
    return Fact(
        name,
        f"{number(row['percent'])} %",
        f"{interval(row['low'], row['high'], 0, '%')} (95 % interval), "
        f"average of {row['regions_shown']} regions",
    )


def _response_fact(frames: ReleaseFrames, unit: Unit, period: str) -> Fact:
    rows = frames.frame("response", period=period, level=unit.level, unit=unit.code)
    if rows.empty or rows.iloc[0]["reason"]:
        return Fact("Answered", "\u2013", rows.iloc[0]["reason"] if len(rows) else "not in this edition")
    row = rows.iloc[0]
    return Fact(
        "Answered", f"{number(row['percent'])} %", f"{row['answered_band']} of {row['invited_band']} people"
    )


def _hours_fact(frames: ReleaseFrames, chosen: Chosen) -> Fact:
    rows = frames.frame(
        "exposure", period=chosen.period, level=chosen.level, unit=chosen.code, measure="hours_per_week"
    )
    name = "Pipetting per person and week"
    if rows.empty or rows.iloc[0]["reason"]:
        return Fact(name, "\u2013", rows.iloc[0]["reason"] if len(rows) else "not in this edition")
    row = rows.iloc[0]
    digits = MEASURES["hours_per_week"].digits
    word = row["standing"] if isinstance(row["standing"], str) else "no guide"
    return Fact(
        name, f"{number(row['value'], digits)} h", f"{interval(row['low'], row['high'], digits, 'h')}; {word}"
    )


def _changes_fact(frames: ReleaseFrames, unit: Unit) -> Fact:
    rows = changes_of(frames, unit).drop_duplicates("change")
    counts = rows["status"].value_counts()
    running = int(counts.get("STARTED", 0))
    return Fact(
        "Changes under way",
        str(running),
        f"{int(counts.get('COMPLETE', 0))} complete, {int(counts.get('PLANNED', 0))} planned",
    )


def changes_of(frames: ReleaseFrames, unit: Unit) -> Frame:
    """Return the registered changes of a unit's teams, latest start first.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    unit : Unit
        Organisation, cluster or team.

    Returns
    -------
    pandas.DataFrame
        Rows of ``change``.
    """
    rows = frames.frame("change")
    if unit.level == "team":
        rows = rows[rows["team"] == unit.code]
    elif unit.level == "cluster":
        rows = rows[rows["team"].isin([t.code for t in frames.units("team") if t.parent == unit.code])]
    when = rows["completed"].fillna(rows["started"]).fillna(rows["planned"])
    return rows.assign(when=when).sort_values("when", ascending=False).reset_index(drop=True)
