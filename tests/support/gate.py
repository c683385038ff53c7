"""Publish a ledger quarter by quarter through the auditor, as a release does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from models.audit_periods import months_of
from models.audit_records import Attacker, HiddenGroup, Ledger, PublishedCell, Truth
from models.auditor import audit


def publish_through_gate(
    ledger: Ledger, attackers: Sequence[Attacker], truth: Truth, rng: np.random.Generator
) -> tuple[Ledger, tuple[str, ...]]:
    """Withhold a quarter's numbers level by level, from teams up, until nothing follows with what is left.

    Parameters
    ----------
    ledger : Ledger
        What would be published without a gate.
    attackers : sequence of Attacker
        Attackers to withstand.
    truth : mapping
        Answers.
    rng : numpy.random.Generator
        Source of chance of the search.

    Returns
    -------
    tuple of Ledger and tuple of str
        What was published, and the quarters of which numbers were withheld.
    """
    quarters = sorted({c.period for c in ledger.cells if "Q" in c.period})
    so_far, withheld = Ledger((), ledger.answered), []
    for quarter in quarters:
        months = set(months_of(quarter))
        new = [c for c in ledger.cells if months.issuperset(c.months)]
        hidden = tuple(h for h in ledger.hidden if months.issuperset(months_of(h.period)))
        candidate = replace(so_far, cells=(*so_far.cells, *new), hidden=(*so_far.hidden, *hidden))
        kept = new
        for gone in (_team, _team_or_cluster, _any):
            if all(audit(candidate, a, rng, truth=truth, new_cells=kept).passed for a in attackers):
                break
            kept = [c for c in new if not gone(c)]
            groups = tuple(
                HiddenGroup(c.period, c.unit, c.region, c.contributors) for c in new if c not in kept
            )
            candidate = replace(
                so_far, cells=(*so_far.cells, *kept), hidden=(*so_far.hidden, *hidden, *groups)
            )
        if len(kept) < len(new):
            withheld.append(quarter)
        so_far = candidate
    return so_far, tuple(withheld)


def _team(cell: PublishedCell) -> bool:
    return "Q" in cell.period


def _team_or_cluster(cell: PublishedCell) -> bool:
    return cell.unit != "ORG"


def _any(cell: PublishedCell) -> bool:
    return True
