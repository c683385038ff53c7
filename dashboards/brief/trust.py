"""Whether the numbers can be trusted: response, coverage, rows set aside, audit, cautions, sources."""

from dashboards.brief.content import Block, Grid, Points, Section, Words
from dashboards.data import ReleaseFrames
from dashboards.kinds import Frame
from dashboards.labels import month_label, number
from dashboards.readings import quality
from dashboards.readings.base import ZERO
from dashboards.readings.flags import weighted
from dashboards.state import Chosen

CAUTIONS = (
    "Discomfort is what people say of themselves on a questionnaire; it is no diagnosis, and who stays "
    "silent may differ from who answers.",
    "Logged exposure is work that was logged; work elsewhere and at home is not in it.",
    "Numbers that move together do not show that one caused the other.",
    f"Counts are rounded before anything is worked out from them. {ZERO} What is not shown is hidden by size "
    "alone, never by how bad it is.",
)
# Methods that the brief's own numbers rest on.
SOURCES = ("health.case", "health.interval", "health.trend", "exposure.hours_per_week", "change.verdict")


def data_quality(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return response, coverage, rows set aside and the audit in a few lines.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Section
        The section.
    """
    where = {"period": chosen.period, "level": chosen.level, "unit": chosen.code}
    response, cover = frames.frame("response", **where), frames.frame("coverage", **where)
    when = month_label(chosen.period)
    cells = [
        (f"Answered the survey, {when}", *_percent(response, "percent", "answered_band", "invited_band")),
        (f"Logged their work, {when}", *_percent(cover, "logged_percent", "people_band")),
        (f"Work with measured force, {when}", *_percent(cover, "force_known_percent", "people_band")),
    ]
    rows = frames.frame("data_quality")
    if len(rows):
        total, aside = int(rows["rows_in"].sum()), int(rows["rows_set_aside"].sum())
        cells.append(("Rows set aside, all files so far", number(aside), f"of {number(total)} rows read"))
    grid = Grid("Data behind this brief", ("What", "Number", "Of whom"), tuple(cells), (50, 20, 30))
    blocks: list[Block] = [grid]
    audit, _ = quality.audit_words(frames)
    reading = weighted(frames, chosen)
    blocks += [Words(text) for text in (audit, reading.sentence) if text]
    return Section("Data quality and response", tuple(blocks))


def _percent(rows: Frame, column: str, band: str, of: str = "") -> tuple[str, str]:
    if rows.empty:
        return "\u2013", "not in this edition"
    row = rows.iloc[0]
    if row["reason"] or row[column] != row[column] or row[column] is None:
        return "\u2013", str(row["reason"]) or "not known"
    return f"{number(row[column])} %", f"{row[band]}{f' of {row[of]}' if of else ''} people"


def cautions(frames: ReleaseFrames) -> Section:
    """Return the cautions that go with every number.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Section
        The section.
    """
    rows = frames.frame("method")
    own = rows[rows["key"].isin(SOURCES)].sort_values("key")
    named = " ".join(f"{r['title']}: {r['source']} ({r['status']})." for r in own.to_dict("records"))
    sources = (Words(f"Sources. {named} The Data room lists all of them.", "small"),) if named else ()
    return Section("Cautions", (Points(CAUTIONS), *sources))
