"""Publish a ledger quarter by quarter through the auditor, as a release does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from models.audit_periods import months_of
from models.audit_records import Attacker, HiddenGroup, Ledger, Truth
from models.auditor import audit


def publish_through_gate(
    ledger: Ledger, attackers: Sequence[Attacker], truth: Truth, rng: np.random.Generator
) -> tuple[Ledger, tuple[str, ...]]:
    """Keep a quarter's team numbers only if nothing follows from all that is published with them.

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
        What was published, and the quarters whose team numbers were withheld.
    """
    quarters = sorted({c.period for c in ledger.cells if "Q" in c.period})
    so_far, withheld = Ledger((), ledger.answered), []
    for quarter in quarters:
        months = set(months_of(quarter))
        new = [c for c in ledger.cells if months.issuperset(c.months)]
        hidden = tuple(h for h in ledger.hidden if months.issuperset(months_of(h.period)))
        candidate = replace(so_far, cells=(*so_far.cells, *new), hidden=(*so_far.hidden, *hidden))
        if not all(audit(candidate, a, rng, truth=truth, new_cells=new).passed for a in attackers):
            withheld.append(quarter)
            teams = tuple(
                HiddenGroup(c.period, c.unit, c.region, c.contributors) for c in new if c.period == quarter
            )
            kept = [c for c in new if c.period != quarter]
            candidate = replace(so_far, cells=(*so_far.cells, *kept), hidden=(*candidate.hidden, *teams))
        so_far = candidate
    return so_far, tuple(withheld)
