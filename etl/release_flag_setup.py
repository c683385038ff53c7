"""The limits of an institute's flags: found once, when flags on published quarters begin, and kept."""

import json
from dataclasses import asdict, replace

import numpy as np

from etl.case_rules import series_start
from etl.release_flags import BASELINE_QUARTERS
from etl.release_published import QuarterCount
from etl.release_rows import Job
from etl.sqlfiles import sql
from models.answering import Habits
from models.flag_rise import Wander
from models.flag_setup import Limits, Setup, find_setup

SEED = 20261
RULE = '"wander"'
"""What a setup of the rule in use holds; that of an earlier one lacks it."""

PREVALENCE = (0.03, 0.6)
"""Prevalence for which limits are sought; outside it a share says too little to simulate from."""


def flag_setup(job: Job, series: dict[tuple[str, str], list[QuarterCount]]) -> Setup | None:
    """Return the limits of the series in force, found now if flags begin with this edition.

    Parameters
    ----------
    job : Job
        Edition in the making, its ledger written, in its transaction.
    series : dict
        See :func:`etl.release_published.published_quarters`.

    Returns
    -------
    Setup or None
        None as long as no team has five published quarters.
    """
    start = series_start(job.settings.symptoms, job.month)
    known = job.con.execute(
        "select setup from release_private.flag_setup where series = ? order by edition desc limit 1", [start]
    ).fetchall()
    # Limits found for an earlier rule are none for this one; flags published with them stand.
    if known and RULE in known[0][0]:
        return _read(known[0][0])
    if not any(len(quarters) > BASELINE_QUARTERS for quarters in series.values()):
        return None
    found = find_setup(np.random.default_rng(SEED), *_own(job, series))
    # Six digits: what is kept is also what is printed, and the machine's last bits are no part of it.
    kept = json.dumps({name: _short(value) for name, value in asdict(found).items()}, sort_keys=True)
    job.con.execute("insert into release_private.flag_setup values (?, ?, ?)", [job.edition, start, kept])
    return _read(kept)


def limits_in_force(job: Job, setup: Setup | None) -> Limits | None:
    """Return the limits that flags use: the settings' where given, else those found at set-up.

    Parameters
    ----------
    job : Job
        Edition in the making.
    setup : Setup or None
        What was found.

    Returns
    -------
    Limits or None
        None where there are none yet.
    """
    symptoms = job.settings.symptoms
    if setup is None:
        return None
    found, asked = setup.limits, symptoms.flag_limit_together
    return Limits(symptoms.flag_limit or found.region, asked or found.first, asked or found.later)


def _own(job: Job, series: dict[tuple[str, str], list[QuarterCount]]) -> tuple[Habits, np.ndarray]:
    """Return prevalence, answering, regions and team sizes: published counts and head-counts only."""
    sizes = np.array([q.n for quarters in series.values() for q in quarters])
    first = min(q.quarter for quarters in series.values() for q in quarters)
    cases, answers = job.con.execute(
        sql("release/305_published_months"), {"first": first, "month": str(job.month)}
    ).fetchall()[0]
    asked = job.con.execute(sql("release/060_response_month"), {"month": job.month.first_day}).fetchall()
    invited, answered = next(((n, yes) for level, _, _, n, yes in asked if level == "organisation"), (0, 0))
    usual = Habits()
    prevalence = float(np.clip(cases / answers, *PREVALENCE)) if answers else usual.prevalence
    answering = float(np.clip(answered / invited, 0.3, 1.0)) if invited else usual.answering
    habits = replace(
        usual, prevalence=prevalence, answering=answering, regions=len({region for region, _ in series})
    )
    return habits, sizes


def _short(value: object) -> object:
    if isinstance(value, dict):
        return {name: _short(one) for name, one in value.items()}
    return round(value, 6) if isinstance(value, float) else value


def _read(text: str) -> Setup:
    kept = json.loads(text)
    parts = {
        "limits": Limits(**kept["limits"]),
        "wander": Wander(**kept["wander"]),
        "habits": Habits(**kept["habits"]),
    }
    return Setup(**{**kept, **parts})
