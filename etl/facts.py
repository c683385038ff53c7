"""Exposure and symptom facts of persons, built from the person store's core tables in SQL layers."""

from collections.abc import Callable
from dataclasses import dataclass

import duckdb

from etl.settings import Settings
from etl.sqlfiles import sql

# In order: each layer reads only core tables and layers above it in this list.
LAYERS = (
    "010_setting",
    "020_local_day",
    "030_team_day",
    "040_event_bucket",
    "050_event_bout",
    "060_log",
    "070_verdict",
    "080_overlap",
    "090_bout",
    "100_spell",
    "110_instrument",
    "120_bout_day",
    "130_bout_piece",
    "140_rest",
    "150_person_day",
    "160_person_week",
    "170_roster",
    "180_symptom",
)
# A layer's working table goes as soon as the last layer that reads it is done, to keep memory moderate.
_DONE_WITH = {
    "050_event_bout": ("work_event_bucket",),
    "060_log": ("work_event_bout",),
    "090_bout": ("work_log", "work_verdict"),
    "120_bout_day": ("work_bout", "work_local_day"),
    "130_bout_piece": ("work_bout_day", "work_instrument"),
    "150_person_day": ("work_rest",),
    "170_roster": ("work_team_day",),
}
_SECOND_US = 1_000_000


@dataclass(frozen=True)
class FactsSummary:
    """Numbers of rows in the facts that were built.

    Attributes
    ----------
    bout_pieces : int
        Bouts cut at local midnight.
    spells : int
        Stretches of work without a rest.
    person_days : int
        Days of a person with logged work.
    person_weeks : int
        ISO weeks of a person with logged work.
    symptoms : int
        Answers by person, month and body region.
    roster_rows : int
        Persons by month and team.
    clipped : int
        Bouts whose start was moved to the end of an earlier one.
    left_out : int
        Bouts left out because an earlier one covers their time.
    """

    bout_pieces: int
    spells: int
    person_days: int
    person_weeks: int
    symptoms: int
    roster_rows: int
    clipped: int
    left_out: int

    def __str__(self) -> str:
        return (
            f"{self.bout_pieces:,} pieces of bouts in {self.spells:,} spells on {self.person_days:,} days of "
            f"persons; overlap clipped {self.clipped:,} bouts and left out {self.left_out:,}; "
            f"{self.symptoms:,} symptom answers; {self.roster_rows:,} months on a team"
        )


def setting_values(settings: Settings) -> dict[str, int]:
    """Working rules of the facts as whole numbers.

    Parameters
    ----------
    settings : Settings
        The institute's settings.

    Returns
    -------
    dict of str to int
        Durations in microseconds and the case score, by the names the SQL layers use.
    """
    exposure = settings.exposure
    return {
        "rest_us": exposure.rest_seconds * _SECOND_US,
        "long_rest_us": exposure.long_rest_seconds * _SECOND_US,
        "guide_us": round(exposure.spell_guide_minutes * 60 * _SECOND_US),
        "clip_us": exposure.overlap_clip_seconds * _SECOND_US,
        "case_score": settings.symptoms.case_score,
    }


def build_facts(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    progress: Callable[[str, int, int], None] | None = None,
) -> FactsSummary:
    """Build every table of schema ``facts`` anew, in one transaction.

    All sums are of whole microseconds, strokes and millinewton-milliseconds, so the facts do not depend
    on the number of threads or on the order in which files were loaded.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing, with no transaction under way.
    settings : Settings
        The institute's settings.
    progress : callable, optional
        Called with the layer's name, its number from 1, and the number of layers, before each layer.

    Returns
    -------
    FactsSummary
        Rows built, and bouts clipped or left out because of overlap.

    Raises
    ------
    duckdb.Error
        If a layer fails; the facts stay as they were.
    """
    con.execute("begin transaction")
    try:
        con.execute("create schema if not exists facts")
        for number, layer in enumerate(LAYERS, start=1):
            if progress is not None:
                progress(layer, number, len(LAYERS))
            con.execute(sql(f"facts/{layer}"), setting_values(settings) if number == 1 else None)
            for table in _DONE_WITH.get(layer, ()):
                con.execute(f"drop table {table}")
        summary = _summary(con)
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    return summary


def _summary(con: duckdb.DuckDBPyConnection) -> FactsSummary:
    row = con.execute(sql("facts/900_summary")).fetchone()
    assert row is not None, "a select of counts always gives a row"
    return FactsSummary(*row)
