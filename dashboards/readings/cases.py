"""Recorded cases of the organisation by year."""

from dashboards.data import ReleaseFrames
from dashboards.labels import interval, number
from dashboards.readings.base import Reading, listed
from dashboards.state import Chosen
from dashboards.tables import Column

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
    shown = rows[rows["reason"] == ""]
    if shown.empty:
        years = listed(sorted({str(int(year)) for year in rows["year"]}))
        words = "; ".join(sorted(set(rows["reason"])))
        return Reading(None, "", foot, rows, CASE_COLUMNS, notice=f"{years} {words}")
    first = shown.iloc[0]
    sentence = (
        f"{first['year']}, {first['kind_word']}: {number(first['rate'], 1)} per 200\u2009000 hours worked "
        f"({interval(first['low'], first['high'], 1)})."
    )
    return Reading(None, sentence, foot, rows, CASE_COLUMNS)
