"""Month: what moved, where, what was done; for the safety committee."""

import pandas as pd

from dashboards.data import ReleaseFrames, Unit
from dashboards.figures.rows import RowsPlot
from dashboards.figures.small import SmallPlot
from dashboards.labels import AVERAGE, MEASURES, REGIONS, interval, month_label, number, region_label
from dashboards.readings.base import (
    INTERVAL,
    ZERO,
    Answer,
    Fact,
    Reading,
    hidden_words,
    listed,
    quarter_until,
    until,
    year_before,
)
from dashboards.state import Chosen
from dashboards.tables import Column

CASE = "discomfort of 4 or more out of 10"
PERCENT_AXIS = f"People with {CASE}, %"
HEALTH_COLUMNS = (
    Column("period", "Period", "period"),
    Column("region", "Body region", "region"),
    Column("percent", "With discomfort, %", "0"),
    Column("low", "95 % interval, %", "interval"),
    Column("n_band", "People who answered"),
)
TREND_COLUMNS = (
    Column("region", "Body region", "region"),
    Column("points", "Change, percentage points", "0"),
    Column("low", "95 % interval, points", "interval"),
    Column("word", "In a word"),
    Column("compared_with", "Against", "period"),
)


def health_kind(unit: Unit) -> str:
    """Return the period kind in which a unit's health is published."""
    return "quarter" if unit.level == "team" else "month"


def health_period(frames: ReleaseFrames, chosen: Chosen, unit: Unit) -> str:
    """Return the period of health to show: the month, or for a team the last quarter over by then.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    unit : Unit
        Whose health.

    Returns
    -------
    str
        Period code; empty if there is none.
    """
    if unit.level != "team":
        return chosen.period
    quarters = frames.frame("health", level="team", unit=unit.code, period_kind="quarter")["period"]
    return quarter_until(chosen.period, sorted(set(quarters)))


def trend_rows(frames: ReleaseFrames, chosen: Chosen) -> pd.DataFrame:
    """Return this month's changes against a year before, one row a region in the order of the body."""
    rows = frames.frame("trend", period=chosen.period, level=chosen.level, unit=chosen.code)
    rows = rows[rows["region"].isin(REGIONS)]
    return rows.sort_values("region", key=lambda r: r.map(list(REGIONS).index)).reset_index(drop=True)


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


def _moved_words(trend: pd.DataFrame, chosen: Chosen) -> tuple[str, str]:
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
            f"Against {month_label(str(trend['compared_with'].iloc[0]))} every interval of a change is so wide that "
            "no word is given. The months below show what is known; a larger group or more answers would narrow it."
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
        return f"{words[:1].upper()}{words[1:]}.", f"{why} Look at the cluster instead."
    top = shown.sort_values("percent", ascending=False).iloc[0]
    return (
        f"In the {month_label(period)} most was reported for the {region_label(top['region']).lower()}: "
        f"{number(top['percent'])} %.",
        f"95 % interval {interval(top['low'], top['high'], 0, '%')}. {why}",
    )


def _average_fact(rows: pd.DataFrame) -> Fact:
    name = "Average over the body regions"
    if rows.empty or rows.iloc[0]["reason"]:
        return Fact(name, "\u2013", rows.iloc[0]["reason"] if len(rows) else "not in this edition")
    row = rows.iloc[0]
    return Fact(
        name,
        f"{number(row['percent'])} %",
        f"{interval(row['low'], row['high'], 0, '%')} (95 % interval), {row['regions_shown']} regions",
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
    name = "Pipetting a person and week"
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


def changes_of(frames: ReleaseFrames, unit: Unit) -> pd.DataFrame:
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


def moved(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the change of each body region against the same month a year before."""
    unit = frames.unit(chosen.unit)
    rows = trend_rows(frames, chosen)
    if rows.empty:
        why = (
            "A team's discomfort is published by quarter, so there is no monthly change; see the quarters below."
            if unit.level == "team"
            else f"No {month_label(year_before(chosen.period))} in this release to compare with."
        )
        return Reading(None, "", "", rows, TREND_COLUMNS, notice=why)
    plot = pd.DataFrame(
        {
            "label": [region_label(r) for r in rows["region"]],
            "value": rows["points"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": rows["word"],
        }
    )
    plot["printed"] = [
        f"{w} {number(p)} ({interval(a, b)})" if p == p else str(w)
        for p, a, b, w in zip(plot["value"], plot["low"], plot["high"], rows["word"], strict=True)
    ]
    plot["text"] = [f"{a}: {b}" for a, b in zip(plot["label"], plot["printed"], strict=True)]
    before = month_label(str(rows["compared_with"].iloc[0]))
    sentence = _extremes(rows, before)
    foot = (
        f"{INTERVAL} Triangle up: rising; square: steady; triangle down: easing; diamond: "
        "too few answers to say. Nine comparisons stand side "
        "by side: were the regions independent and nothing changing, about one month in three would still "
        "show a region moving by chance. A change between two months is not evidence of a cause."
    )
    return Reading(
        RowsPlot(
            plot,
            "Change in people with discomfort, percentage points",
            "Body region",
            mark=0.0,
            mark_label=f"as in {before}",
            symmetric=True,
        ),
        sentence,
        foot,
        rows,
        TREND_COLUMNS,
    )


def _extremes(rows: pd.DataFrame, before: str) -> str:
    known = rows[rows["word"] != "too few answers"]
    if known.empty:
        return "Too few answers in either month to compare any region."
    top = known.loc[known["points"].astype(float).idxmax()]
    end = known.loc[known["points"].astype(float).idxmin()]
    return (
        f"Furthest up since {before}: {region_label(top['region']).lower()}, {number(top['points'])} points "
        f"({interval(top['low'], top['high'])}). Furthest down: {region_label(end['region']).lower()}, "
        f"{number(end['points'])} points ({interval(end['low'], end['high'])})."
    )


def region_series(frames: ReleaseFrames, unit: Unit, region: str, month: str) -> pd.DataFrame:
    """Return one region's published periods of a unit, in the columns of a time figure.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    unit : Unit
        Whose health.
    region : str
        Region code, or ``ALL`` for the average.
    month : str
        Last month wanted.

    Returns
    -------
    pandas.DataFrame
        Release rows with ``x``, ``value``, ``text``, ``name`` and ``series`` added.
    """
    where = {"level": unit.level, "unit": unit.code, "period_kind": health_kind(unit)}
    if region == AVERAGE[0]:
        rows = frames.frame("health_average", **where).assign(region=region, n_band="")
    else:
        rows = frames.frame("health", region=region, **where)
    rows = until(rows, month)
    rows = rows.assign(
        series="own",
        name=unit.name,
        value=rows["percent"].astype(float),
        low=rows["low"].astype(float),
        high=rows["high"].astype(float),
    )
    rows["text"] = [
        f"{month_label(p)}: {why}" if why else f"{month_label(p)}: {number(v)} % ({interval(a, b, 0, '%')})"
        for p, why, v, a, b in zip(
            rows["period"], rows["reason"], rows["value"], rows["low"], rows["high"], strict=True
        )
    ]
    return rows


def region(frames: ReleaseFrames, chosen: Chosen, code: str, top: float) -> Reading:
    """Return one small multiple: a region over the months, the organisation beside a cluster or team.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    code : str
        Region code.
    top : float
        Common top of the axes, %.

    Returns
    -------
    Reading
        The reading; ``title`` carries region and latest value.
    """
    unit = frames.unit(chosen.unit)
    rows = region_series(frames, unit, code, chosen.period)
    parts = [rows]
    if unit.level != "organisation":
        parts.append(region_series(frames, frames.organisation(), code, chosen.period).assign(series="other"))
    if rows.empty or rows["value"].isna().all():
        words = "; ".join(sorted(set(rows["reason"]) - {""})) or "not in this edition"
        return Reading(None, "", "", rows, HEALTH_COLUMNS, notice=words, title=region_label(code))
    last = rows[rows["value"].notna()].iloc[-1]
    sentence = f"{number(last['value'])} % ({interval(last['low'], last['high'], 0, '%')}), {month_label(last['period'])}"
    words = f"{region_label(code)}, {len(rows)} {health_kind(unit)}s, the newest {sentence}."
    plot = SmallPlot(pd.concat(parts, ignore_index=True), top, f"{words} {hidden_words(rows)}".strip())
    return Reading(plot, sentence, hidden_words(rows), rows, HEALTH_COLUMNS, title=region_label(code))


def common_top(frames: ReleaseFrames, chosen: Chosen) -> float:
    """Return one axis top for all nine small multiples, so that heights can be compared."""
    unit = frames.unit(chosen.unit)
    rows = frames.frame("health", level=unit.level, unit=unit.code, period_kind=health_kind(unit))
    top = float(rows["high"].max()) if rows["high"].notna().any() else 50.0
    return min(100.0, 10.0 * (int(top) // 10 + 1)) * 1.03


def regions_foot(frames: ReleaseFrames, chosen: Chosen) -> str:
    """Return who was counted in the small multiples."""
    unit = frames.unit(chosen.unit)
    period = health_period(frames, chosen, unit)
    rows = frames.frame("health", period=period, level=unit.level, unit=unit.code)
    bands = sorted(set(rows["n_band"].dropna()))
    step = "5-point steps" if unit.level == "team" else "steps that grow coarser below 100 answers"
    other = "" if unit.level == "organisation" else " Grey: the organisation by month."
    zero = f" {ZERO}" if (rows["percent"] == 0).any() else ""
    return (
        f"Answers: {listed(bands) or 'none shown'} people. {INTERVAL} Percentages are rounded before they are "
        f"published, in {step}; the interval is widened for it. One scale for all; its axis is the share of people, in %, by {health_kind(unit)}.{other}{zero}"
    )


def where(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the average over the regions of the organisation and each cluster this month."""
    rows = frames.frame("health_average", period=chosen.period, period_kind="month")
    names = {u.key: u for u in frames.units("organisation", "cluster")}
    rows = rows.assign(key=rows["level"] + "." + rows["unit"])
    rows = rows[rows["key"].isin(names)]
    rows = rows.assign(label=[names[k].name for k in rows["key"]])
    rows = rows.sort_values("percent", ascending=False, na_position="last").reset_index(drop=True)
    columns = (
        Column("label", "Who"),
        Column("percent", "Average over regions, %", "0"),
        Column("low", "95 % interval, %", "interval"),
        Column("regions_shown", "Regions shown", "0"),
    )
    if rows.empty:
        return Reading(None, "", "", rows, columns, notice="No average is published for this month.")
    plot = pd.DataFrame(
        {
            "label": rows["label"],
            "value": rows["percent"].astype(float),
            "low": rows["low"].astype(float),
            "high": rows["high"].astype(float),
            "kind": ["own" if k == chosen.unit else "plain" for k in rows["key"]],
        }
    )
    plot["printed"] = [
        why or f"{number(v)} % ({interval(a, b)})"
        for why, v, a, b in zip(rows["reason"], rows["percent"], rows["low"], rows["high"], strict=True)
    ]
    plot["text"] = plot["label"] + ": " + plot["printed"]
    known = rows[rows["percent"].notna()]
    sentence = "No average is shown this month."
    if len(known):
        top = known.iloc[0]
        sentence = (
            f"Highest: {top['label']}, {number(top['percent'])} % "
            f"({interval(top['low'], top['high'], 0, '%')}). Where intervals overlap, no order is shown."
        )
    return Reading(
        RowsPlot(plot, "Average over the body regions, %", "Who"),
        sentence,
        f"Average of the published percentages of people with {CASE}. {INTERVAL}",
        rows,
        columns,
    )


CASE_COLUMNS = (
    Column("year", "Year", "year"),
    Column("kind_word", "Kind"),
    Column("count_rounded", "Cases, rounded", "0"),
    Column("rate", "Rate per 200\u2009000 h", "1"),
    Column("low", "95 % interval", "interval"),
)


def cases(frames: ReleaseFrames, _chosen: Chosen) -> Reading:
    """Return the recorded cases of the organisation by year, in relation to hours worked."""
    whole = frames.organisation()
    rows = frames.frame("case_rate", level=whole.level, unit=whole.code)
    rows = rows.assign(kind_word=[str(kind).replace("_", " ") for kind in rows["kind"]])
    rows = rows.sort_values(["year", "kind"], ascending=[False, True]).reset_index(drop=True)
    foot = (
        "Recorded cases of the whole organisation, counts rounded before publication. Few cases make wide "
        "intervals: a year's change is seldom more than chance, and a low count can also mean low reporting."
    )
    if rows.empty:
        return Reading(
            None, "", "", rows, CASE_COLUMNS, notice="No full year of recorded cases is published yet."
        )
    first = rows.iloc[0]
    sentence = f"{first['year']}, {first['kind_word']}: {first['reason']}."
    if not first["reason"]:
        sentence = (
            f"{first['year']}, {first['kind_word']}: {number(first['rate'], 1)} per 200\u2009000 hours worked "
            f"({interval(first['low'], first['high'], 1)})."
        )
    return Reading(None, sentence, foot, rows, CASE_COLUMNS)
