"""Data: can the numbers be trusted; edition, response, coverage, rows set aside, audit, methods."""

import pandas as pd

from dashboards.data import Edition, ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.figures.series import SeriesPlot
from dashboards.kinds import Frame
from dashboards.labels import month_label, number
from dashboards.readings.base import Answer, Fact, Reading, hidden_words, until
from dashboards.readings.health import health_kind
from dashboards.state import Chosen
from dashboards.tables import Column

RESPONSE_COLUMNS = (
    Column("period", "Period", "period"),
    Column("percent", "Answered, %", "0"),
    Column("answered_band", "Answered"),
    Column("invited_band", "Invited"),
)
COVERAGE_COLUMNS = (
    Column("name", "Who"),
    Column("logged_percent", "People with logged work, %", "0"),
    Column("force_known_percent", "Work with measured force, %", "0"),
    Column("people_band", "People"),
)
QUALITY_COLUMNS = (
    Column("contract", "Source"),
    Column("files", "Files", "0"),
    Column("rows_in", "Rows read", "0"),
    Column("rows_accepted", "Accepted", "0"),
    Column("rows_set_aside", "Set aside", "0"),
)
ASIDE_COLUMNS = (
    Column("reason", "Code"),
    Column("contract", "Source"),
    Column("rows", "Rows", "0"),
    Column("meaning", "What it means"),
    Column("remedy", "What to do"),
)
METHOD_COLUMNS = (
    Column("title", "Method"),
    Column("text", "How"),
    Column("source", "Source"),
    Column("status", "Standing of the source"),
)
PROMISED = (
    "No health number from fewer than 10 people; none by month from fewer than 20.",
    "A team's discomfort by quarter only; its exposure from 5 people, and not if one or two do most of it.",
    "Counts are rounded with a key the rooms do not have; a shown 0 stands for 0 to 4 people.",
    "An edition is frozen: later answers, corrections and withdrawals touch later periods only.",
    "Before it is published, an auditor searches all editions together for answers that could be worked out; "
    "what it finds withholds teams, then clusters, then all discomfort of the edition. See its report above.",
    "A result of a model rests on 20 people a group or more, is no finer than what one person can move, "
    "and is stated once for a question and period.",
    "These rooms read the release and nothing else; the person store is out of their reach.",
)
NOT_PROMISED = (
    "That nobody can ever be recognised: a group known to be mostly affected tells of each member.",
    "Protection if the key leaks, if many colleagues pool what they know, or if exports meet other data.",
    "Anything about e-mails, free text or knowledge of sick leave outside this tool.",
    "Fitness for a decision about one person. This is no medical device.",
    "The law's part: whoever runs this is the controller, and owes the impact assessment and the "
    "consultation of workers before it begins.",
)


def age_words(edition: Edition, today: pd.Timestamp) -> str:
    """Return how old an edition is, in days or weeks.

    Parameters
    ----------
    edition : Edition
        The newest edition.
    today : pandas.Timestamp
        The day of reading.

    Returns
    -------
    str
        For instance ``3 weeks old``.
    """
    days = max(int((today.normalize() - edition.created_at.normalize()).days), 0)
    if days < 1:
        return "made today"
    if days < 14:
        return f"{days} day{'s' if days != 1 else ''} old"
    return f"{days // 7} weeks old"


def audit_words(frames: ReleaseFrames) -> tuple[str, Frame]:
    """Return the state of the re-identification audit in a sentence, and its rows.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    tuple of (str, pandas.DataFrame)
        The sentence and the rows of ``audit_report``.
    """
    rows = frames.frame("audit_report")
    if rows.empty:
        return "This edition has no audit report.", rows
    failed = rows[rows["passed"].map(lambda p: p is False or p == False)]  # noqa: E712
    unknown = rows[rows["passed"].isna()]
    if len(failed):
        return f"{len(failed)} of {len(rows)} checks failed: {failed['sentence'].iloc[0]}", rows
    if len(unknown):
        return str(unknown["sentence"].iloc[0]), rows
    own = rows.loc[rows["check_name"] == "auditor", "sentence"]
    return " ".join([f"All {len(rows)} checks of this edition passed.", *own]), rows


def audit_counts(rows: Frame) -> str:
    """Return how many checks passed, failed and were not done."""
    known = rows["passed"].dropna().astype(bool)
    passed, failed, undone = int(known.sum()), int((~known).sum()), len(rows) - len(known)
    return f"{passed} of {len(rows)} checks passed, {failed} failed, {undone} not done."


def answer(frames: ReleaseFrames, chosen: Chosen, today: pd.Timestamp) -> Answer:
    """Return how far the numbers can be trusted.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.
    today : pandas.Timestamp
        The day of reading.

    Returns
    -------
    Answer
        Words built from release rows.
    """
    edition = frames.edition()
    quality = frames.frame("data_quality")
    total, aside = int(quality["rows_in"].sum()), int(quality["rows_set_aside"].sum())
    per = f"1 row in {total // aside:,}".replace(",", "\u2009") if aside else "no row"
    sentence, _ = audit_words(frames)
    whole = frames.organisation()
    response = frames.frame("response", period=chosen.period, level=whole.level, unit=whole.code)
    cover = frames.frame("coverage", period=chosen.period, level=whole.level, unit=whole.code)
    facts = [
        Fact(
            "Edition", f"No. {edition.number}", f"{month_label(edition.period)}, {age_words(edition, today)}"
        ),
        _percent_fact(
            "Answered the survey", response, "percent", "answered_band", month_label(chosen.period)
        ),
        _percent_fact(
            "Logged their work", cover, "logged_percent", "people_band", month_label(chosen.period)
        ),
        _percent_fact(
            "Work with measured force", cover, "force_known_percent", "people_band", "rest unknown"
        ),
    ]
    return Answer(
        f"{whole.name} \u00b7 edition {edition.number}",
        f"{per[:1].upper()}{per[1:]} was set aside; every row is accounted for.",
        f"{number(total)} rows were read, {number(total - aside)} accepted, {number(aside)} set aside with a "
        f"reason. {sentence}",
        tuple(facts),
    )


def _percent_fact(name: str, rows: Frame, column: str, band: str, note: str) -> Fact:
    if rows.empty or rows.iloc[0]["reason"] or pd.isna(rows.iloc[0][column]):
        return Fact(name, "\u2013", rows.iloc[0]["reason"] if len(rows) else "not in this edition")
    row = rows.iloc[0]
    return Fact(name, f"{number(row[column])} %", f"{row[band]} people; {note}")


def response(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the response of the chosen unit over its periods, the organisation beside it."""
    unit = frames.unit(chosen.unit)
    parts, own = [], pd.DataFrame()
    for series, who in (("own", unit), ("other", frames.organisation())):
        if series == "other" and unit.level == "organisation":
            continue
        rows = until(
            frames.frame("response", level=who.level, unit=who.code, period_kind=health_kind(who)),
            chosen.period,
        )
        rows = rows.assign(series=series, name=who.name, value=rows["percent"].astype(float))
        rows = rows.assign(low=float("nan"), high=float("nan"))
        rows["text"] = [
            f"{month_label(p)}: {why or number(v) + ' %'}"
            for p, why, v in zip(rows["period"], rows["reason"], rows["value"], strict=True)
        ]
        parts.append(rows)
        own = rows if series == "own" else own
    shown = own[own["reason"] == ""]
    if shown.empty:
        words = "; ".join(sorted(set(own["reason"]) - {""})) or "No response is published for this choice."
        return Reading(None, "", "", own, RESPONSE_COLUMNS, notice=words)
    last = shown.iloc[-1]
    sentence = (
        f"{month_label(last['period'])}: {number(last['percent'])} % answered "
        f"({last['answered_band']} of {last['invited_band']} people)."
    )
    foot = (
        "A count of everyone invited, so there is no sampling interval; who stays silent may differ from who "
        f"answers. {hidden_words(own)}"
    )
    time = "Quarter" if unit.level == "team" else "Month"
    plot = SeriesPlot(pd.concat(parts, ignore_index=True), "Answered, %", time=time, top=104.0, height=240)
    return Reading(plot, sentence[:1].upper() + sentence[1:], foot, own, RESPONSE_COLUMNS)


def coverage(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return for each group the share of people whose work is logged this month."""
    names = {u.key: u.name for u in frames.units()}
    rows = frames.frame("coverage", period=chosen.period)
    rows = rows.assign(key=rows["level"] + "." + rows["unit"])
    rows = rows[rows["key"].isin(names)]
    rows = rows.assign(name=[names[k] for k in rows["key"]])
    rows = rows.sort_values("logged_percent", na_position="last").reset_index(drop=True)
    if rows.empty:
        return Reading(
            None, "", "", rows, COVERAGE_COLUMNS, notice="No coverage is published for this month."
        )
    plot = pd.DataFrame(
        {
            "label": rows["name"],
            "value": rows["logged_percent"].astype(float),
            "low": float("nan"),
            "high": float("nan"),
            "kind": ["own" if k == chosen.unit else "plain" for k in rows["key"]],
            "printed": [
                str(r["reason"]) if r["reason"] else f"{number(r['logged_percent'])} %"
                for _, r in rows.iterrows()
            ],
        }
    )
    plot["text"] = plot["label"] + ": " + plot["printed"]
    known = rows[rows["reason"] == ""]
    sentence = "No coverage is shown."
    if len(known):
        first = known.iloc[0]
        sentence = (
            f"Least covered: {first['name']}, {number(first['logged_percent'])} % of its people logged work."
        )
    if len(known) > 1 and known["logged_percent"].nunique() == 1:
        share = number(known["logged_percent"].iloc[0])
        sentence = f"In every group shown {share} % of the people logged work."
    foot = "A count of everyone on the group's list, so there is no sampling interval. Lowest first."
    return Reading(
        RowsPlot(plot, "People with logged work, %", "Who", row_height=22),
        sentence,
        foot,
        rows,
        COVERAGE_COLUMNS,
    )
