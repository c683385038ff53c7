"""What an auditor is handed: the whole ledger with the candidate in it, as records without a person."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import duckdb

from etl.release_rows import Job
from etl.sqlfiles import sql
from models.audit_records import HiddenGroup, Ledger, PublishedCell, Truth


@dataclass(frozen=True)
class AuditCase:
    """One edition before an auditor.

    Attributes
    ----------
    period : str
        Month released.
    ledger : Ledger
        Everything published so far and this edition.
    new_cells : tuple of PublishedCell
        Those of this edition, also in the ledger.
    truth : mapping
        Region to (token, month) to 0 or 1: what colluders would tell. In memory only.
    teams : mapping of str to tuple of str
        Team to the tokens on its roster of the month.
    """

    period: str
    ledger: Ledger
    new_cells: tuple[PublishedCell, ...]
    truth: Truth
    teams: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class AuditOutcome:
    """What an auditor found.

    Attributes
    ----------
    passed : bool
        Whether no person's value and no hidden number can be worked out.
    sentence : str
        The finding in plain words.
    detail : str or None
        More for whoever wants it; shown to readers, so it names nobody.
    """

    passed: bool
    sentence: str
    detail: str | None = None


Auditor = Callable[[AuditCase], AuditOutcome]
"""Judges an edition against everything published before it."""


def audit_case(job: Job) -> AuditCase:
    """Gather what an auditor needs.

    Parameters
    ----------
    job : Job
        Edition in the making, its ledger written.

    Returns
    -------
    AuditCase
        The case.
    """
    ledger = read_ledger(job.con)
    rows = job.con.execute(sql("release/190_truth"), {"month": job.month.first_day}).fetchall()
    truth: dict[str, dict[tuple[str, str], int]] = {}
    for region, token, month, is_case in rows:
        truth.setdefault(region, {})[token, month] = is_case
    teams = job.con.execute(sql("release/030_roster"), {"month": job.month.first_day}).fetchall()
    periods = (str(job.month), job.month.quarter) if job.month.is_quarter_end else (str(job.month),)
    return AuditCase(
        str(job.month),
        ledger,
        tuple(cell for cell in ledger.cells if cell.period in periods),
        truth,
        {team: tuple(tokens) for team, _, tokens in teams},
    )


def read_ledger(con: duckdb.DuckDBPyConnection) -> Ledger:
    """Read everything published so far the way the auditor takes it.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.

    Returns
    -------
    Ledger
        Published and hidden health cells with their contributors, and who answered when.
    """
    sets = {
        name: tuple(tokens)
        for name, tokens in con.execute(
            "select set_id, tokens from release_private.contributor_set"
        ).fetchall()
    }
    rows = con.execute(
        "select kind, unit, period, region, set_id, base, published from release_private.ledger "
        "order by edition, kind, region, unit"
    ).fetchall()
    shown = tuple(
        PublishedCell(period, unit, region, sets[name], published, base, kind)
        for kind, unit, period, region, name, base, published in rows
        if published is not None
    )
    hidden = tuple(
        HiddenGroup(period, unit, region, sets[name])
        for _, unit, period, region, name, _, published in rows
        if published is None
    )
    months: dict[str, dict[str, set[str]]] = {}
    for period, region, name in con.execute(
        "select period, region, set_id from release_private.answered order by period, region"
    ).fetchall():
        for token in sets[name]:
            months.setdefault(region, {}).setdefault(token, set()).add(period)
    answered = {
        region: {token: tuple(sorted(periods)) for token, periods in people.items()}
        for region, people in months.items()
    }
    return Ledger(shown, answered, hidden)
