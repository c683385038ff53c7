"""What an auditor is handed: the whole ledger with the candidate in it, as records without a person."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import duckdb

from etl.release_rows import Job, name_of
from etl.sqlfiles import sql
from models.audit_records import HiddenGroup, Ledger, PublishedCell, Truth
from models.auditor_gate import Known


@dataclass(frozen=True)
class AuditCase:
    """One edition before an auditor.

    Attributes
    ----------
    edition : int
        Number of the edition.
    period : str
        Month released.
    since : int
        First edition that no auditor has passed; this one, unless editions before it waited.
    ledger : Ledger
        Everything published so far and this edition.
    new_cells : tuple of PublishedCell
        Those of the editions from `since` to this one, also in the ledger.
    truth : mapping
        Region to (token, month) to 0 or 1: what colluders would tell. In memory only.
    teams : mapping of str to tuple of str
        Team, named with its level, to the tokens on its roster of the month.
    last : bool
        Whether to count what guesses are worth as well.
    known : frozenset of tuple
        What earlier numbers alone give away, see `models.auditor_gate.Known`.
    all : bool
        Whether every finding is wanted, not the first that settles the verdict.
    """

    edition: int
    period: str
    since: int
    ledger: Ledger
    new_cells: tuple[PublishedCell, ...]
    truth: Truth
    teams: Mapping[str, tuple[str, ...]]
    last: bool = True
    known: frozenset[Known] = frozenset()
    all: bool = False


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
    found : frozenset of tuple
        The findings, for comparing two outcomes; never stored.
    """

    passed: bool
    sentence: str
    detail: str | None = None
    found: frozenset[Known] = frozenset()


Auditor = Callable[[AuditCase], AuditOutcome]
"""Judges an edition against everything published before it."""


def audit_case(job: Job, since: int, last: bool = True) -> AuditCase:
    """Gather what an auditor needs.

    Parameters
    ----------
    job : Job
        Edition in the making, its ledger written.
    since : int
        First edition that no auditor has passed.
    last : bool
        Whether it is the last edition made in a row.

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
    fresh = job.con.execute(
        "select distinct kind, level, unit, period, region from release_private.ledger where edition >= ?",
        [since],
    ).fetchall()
    new = {(kind, name_of(level, unit), period, region) for kind, level, unit, period, region in fresh}
    return AuditCase(
        job.edition,
        str(job.month),
        since,
        ledger,
        tuple(c for c in ledger.cells if (c.table, c.unit, c.period, c.region) in new),
        truth,
        {name_of("team", team): tuple(tokens) for team, _, tokens in teams},
        last,
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
        Published and hidden health cells with their contributors, and who answered when. A unit is named with
        its level, see `etl.release_rows.name_of`.
    """
    sets = {
        name: tuple(tokens)
        for name, tokens in con.execute(
            "select set_id, tokens from release_private.contributor_set"
        ).fetchall()
    }
    rows = con.execute(
        "select kind, level, unit, period, region, set_id, base, published from release_private.ledger "
        "order by edition, kind, region, unit"
    ).fetchall()
    shown = tuple(
        PublishedCell(period, name_of(level, unit), region, sets[name], published, base, kind)
        for kind, level, unit, period, region, name, base, published in rows
        if published is not None
    )
    hidden = tuple(
        HiddenGroup(period, name_of(level, unit), region, sets[name])
        for _, level, unit, period, region, name, _, published in rows
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
