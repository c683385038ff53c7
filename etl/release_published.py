"""What readers have already: published counts and exposure values, the only things that flags are made of."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from etl.case_rules import series_start
from etl.release_calendar import parse_month
from etl.release_chain import open_release_file
from etl.release_rows import Job, Row
from etl.settings import SymptomSettings
from etl.sqlfiles import sql

WATCHED_MEASURES = ("hours_per_week", "beyond_guide_share")
"""Exposure that a manager can even out; each is a series of its own for the flags."""

Past = Mapping[tuple[str, str, str], Mapping[str, float]]
"""(level, unit, measure) to the published value of each month."""


@dataclass(frozen=True)
class QuarterCount:
    """A published count of a team's quarter.

    Attributes
    ----------
    quarter : str
        Such as ``2026-Q3``.
    published, n : int
        Rounded count, and people counted over.
    """

    quarter: str
    published: int
    n: int


def published_quarters(job: Job) -> dict[tuple[str, str], list[QuarterCount]]:
    """Return every team's published quarters of the series in force, this edition's included.

    Quarters before a change of the case definition are another series.

    Parameters
    ----------
    job : Job
        Edition in the making, its ledger written.

    Returns
    -------
    dict
        (region, team) to its quarters, oldest first.
    """
    found: dict[tuple[str, str], list[QuarterCount]] = {}
    query = sql("release/300_published_quarters")
    start = series_start(job.settings.symptoms, job.month)
    begin = parse_month(start).quarter if start else ""
    for unit, region, period, published, n in job.con.execute(
        query, {"period": job.month.quarter}
    ).fetchall():
        if period >= begin:
            found.setdefault((region, unit), []).append(QuarterCount(period, published, n))
    return found


def published_exposure(file: Path | None) -> Past:
    """Return the monthly exposure of teams and clusters in the editions so far.

    Parameters
    ----------
    file : Path or None
        Newest published edition.

    Returns
    -------
    mapping
        Values; hidden months are absent.
    """
    if file is None:
        return {}
    with open_release_file(file) as con:
        rows = con.execute(
            "select level, unit, measure, period, value from exposure where period_kind = 'month' "
            "and level in ('cluster', 'team') and value is not null and list_contains(?, measure) "
            "order by edition",
            [list(WATCHED_MEASURES)],
        ).fetchall()
    past: dict[tuple[str, str, str], dict[str, float]] = {}
    for level, unit, measure, period, value in rows:
        past.setdefault((level, unit, measure), {})[period] = value
    return past


def with_this_month(past: Past, rows: Iterable[Row]) -> dict[tuple[str, str, str], dict[str, float]]:
    """Return the exposure series with this edition's month added.

    Parameters
    ----------
    past : mapping
        See :func:`published_exposure`.
    rows : iterable of tuple
        Rows of table ``exposure`` of this edition.

    Returns
    -------
    dict
        A new mapping; units shown now only or earlier only are both in it.
    """
    series = {key: dict(values) for key, values in past.items()}
    for row in rows:
        period, kind, level, unit, measure, value = row[:6]
        if kind == "month" and level != "organisation" and measure in WATCHED_MEASURES:
            own = series.setdefault((str(level), str(unit), str(measure)), {})
            if value is not None:
                own[str(period)] = float(str(value))
    return series


def published_rules(file: Path | None) -> dict[str, SymptomSettings]:
    """Return the symptom settings that each published month was made with.

    Parameters
    ----------
    file : Path or None
        Newest published edition.

    Returns
    -------
    dict of str to SymptomSettings
        By month; empty where nothing is published.
    """
    if file is None:
        return {}
    with open_release_file(file) as con:
        rows = con.execute("select period, rules from edition order by edition").fetchall()
    return {
        period: SymptomSettings.model_validate(json.loads(rules).get("symptoms", {}))
        for period, rules in rows
    }
