"""Exposure and symptom facts of persons, built from the person store's core tables in SQL layers."""

from dataclasses import dataclass

import duckdb

from etl.case_rules import write_rules
from etl.errors import EvenhandError
from etl.facts_layers import (
    ALONG_TIME,
    DAY,
    EVENT_DAY,
    LEDGER,
    LOG,
    MONTH,
    WEEK,
    Progress,
    drop_work,
    read_sources,
    run,
)
from etl.settings import Settings
from etl.sqlfiles import sql

# In order: each layer reads only core tables and what layers above it in this list made.
LAYERS = (
    "facts/010_setting",
    "facts/015_bucket",
    "facts/025_extent",
    "facts/030_team_day",
    "facts/040_event_bucket",
    *ALONG_TIME,
    *LOG,
    *DAY,
    *EVENT_DAY,
    *WEEK,
    "facts/190_publish",
    *MONTH,
)
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
    con: duckdb.DuckDBPyConnection, settings: Settings, progress: Progress | None = None
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
    number = 0

    def tell(layer: str) -> None:
        nonlocal number
        number += 1
        if progress is not None:
            progress(layer, number, len(LAYERS))

    con.execute("begin transaction")
    try:
        tell("010_setting")
        bucket_us = set_rules(con, settings)
        tell("015_bucket")
        read_sources(con, bucket_us, "true")
        con.execute(sql("facts/019_keep_source").format(ledger=LEDGER))
        con.execute("create or replace temp view work_recorded as from core.bouts")
        con.execute("create or replace temp view work_event_part as from facts.event_bucket")
        run(con, LAYERS[2:], tell)
        drop_work(con)
        summary = summarise(con)
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    return summary


def set_rules(con: duckdb.DuckDBPyConnection, settings: Settings) -> int:
    """Write the working rules into the store and return the width of a bucket, in microseconds.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, in a transaction.
    settings : Settings
        The institute's settings.

    Returns
    -------
    int
        Width of a bucket.

    Raises
    ------
    EvenhandError
        If stroke logs were reduced to buckets that do not fit the rules.
    """
    con.execute("create schema if not exists facts")
    con.execute(sql("facts/010_setting"), setting_values(settings))
    write_rules(con, settings.symptoms)
    con.execute("create or replace temp table work_setting as from facts.setting")
    return refuse_other_width(con)


def refuse_other_width(con: duckdb.DuckDBPyConnection) -> int:
    """Return the width of a bucket, in microseconds, if all logs read in place fit it.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with the working rules.

    Returns
    -------
    int
        Width of a bucket.

    Raises
    ------
    EvenhandError
        If stroke logs were reduced to buckets that do not fit the rules.
    """
    width, other = con.execute(
        "select bucket_us, exists (from core.event_log where bucket_us % width_us <> 0) from facts.setting"
    ).fetchall()[0]
    if other:
        raise EvenhandError(
            "Stroke logs were read in place for another shortest rest", "rest_seconds in the settings",
            "Read them again: evenhand facts --events PATH --zone ZONE.",
        )  # fmt: skip
    return width


def summarise(con: duckdb.DuckDBPyConnection) -> FactsSummary:
    """Count the rows of the facts.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts.

    Returns
    -------
    FactsSummary
        The counts.
    """
    return FactsSummary(**dict(con.execute(sql("facts/900_summary")).fetchall()))
