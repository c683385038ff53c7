"""Refusals before an edition is made: units that cannot carry it, data that are not there, audits."""

import duckdb

from etl.audits import run_audits
from etl.case_rules import rule_of, scale_mixed
from etl.errors import ReleaseRefused
from etl.release_calendar import Month
from etl.release_checks import CheckRow
from etl.settings import PrivacySettings, SymptomSettings
from etl.sqlfiles import sql


def refuse_empty(con: duckdb.DuckDBPyConnection, month: Month) -> None:
    """Refuse a month without any logged work and without any answer.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, facts built.
    month : Month
        Month to release.

    Raises
    ------
    ReleaseRefused
        If there is nothing to publish.
    """
    days = {"first_day": month.first_day, "last_day": month.last_day}
    found = con.execute(sql("release/200_has_data"), days).fetchall()
    if not found[0][0]:
        raise ReleaseRefused(
            f"No logged work and no answers in {month}", "person store", "Load that month's files first."
        )


def refuse_mixed(con: duckdb.DuckDBPyConnection, month: Month, symptoms: SymptomSettings) -> None:
    """Refuse a month of which all ratings are on another scale than its series.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    month : Month
        Month to release.
    symptoms : SymptomSettings
        Case definitions in force.

    Raises
    ------
    ReleaseRefused
        If none of the month's ratings can be counted.
    """
    found = con.execute(sql("release/205_scales"), {"month": month.first_day}).fetchall()
    if (said := scale_mixed(found, rule_of(symptoms, month))) is not None:
        raise ReleaseRefused(
            f"{month}: {said}",
            "symptoms in the settings",
            "Begin a new series there: [[symptoms.series]] with since and scale, bridged or not.",
        )


def refuse_units(con: duckdb.DuckDBPyConnection, month: Month, privacy: PrivacySettings) -> None:
    """Refuse units that do not form a fixed, nested and large enough lattice.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, facts built.
    month : Month
        Month to release.
    privacy : PrivacySettings
        Floors in force.

    Raises
    ------
    ReleaseRefused
        If a team changed cluster within the calendar year, or a cluster has too few people. Teams that are
        unknown or lie in two clusters are found by the audits of the store.
    """
    year_start = f"{month.year:04d}-01"
    moved = con.execute(sql("release/230_moved_team"), {"year_start": year_start}).fetchall()
    if moved:
        team, before, now = moved[0]
        raise ReleaseRefused(
            f"Team {team} moved from cluster {before} to {now} within {month.year}",
            f"teams, {month}",
            f"Clusters are fixed for a calendar year: keep {before} until January, then load the new teams.",
        )
    small = con.execute(
        sql("release/240_small_cluster"), {"month": month.first_day, "floor": privacy.cluster_floor}
    ).fetchall()
    if small:
        raise ReleaseRefused(
            f"Cluster {small[0][0]} has {small[0][1]} people, fewer than {privacy.cluster_floor}",
            f"teams, {month}",
            "Join it with another cluster in the teams file, from the start of a calendar year.",
        )


def refuse_audits(con: duckdb.DuckDBPyConnection) -> list[CheckRow]:
    """Run the audits of the store, and refuse where one says stop.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, facts built.

    Returns
    -------
    list of CheckRow
        One row an audit with findings that do not stop a release, or one saying there are none.

    Raises
    ------
    ReleaseRefused
        If a finding stops the release.
    """
    findings = [finding for finding in run_audits(con) if finding.offenders]
    for finding in findings:
        if finding.stops:
            raise ReleaseRefused(
                f"{finding.offenders} {finding.meaning}", f"audit {finding.name}", finding.remedy
            )
    informs = [
        CheckRow("store", True, f"{finding.offenders} {finding.meaning}.", finding.name)
        for finding in findings
    ]
    return informs or [CheckRow("store", True, "The audits of the store found nothing.")]
