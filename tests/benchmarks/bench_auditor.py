"""Time the auditor on a full ledger: 12 teams, 24 months, 9 regions, and on the newest month alone.

    python -m tests.benchmarks.bench_auditor [prevalence] [regions] [change]

Prints seconds of the clock and of the processor. The whole ledger should stay under 300 s and a new month
under 60 s on two cores; one process is used.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from models.audit_records import Attacker, Ledger, PublishedCell, Truth
from models.auditor import audit, choose_colluders
from tests.support.ledgers import institute, ledger_of

WHOLE_TARGET = 300.0
NEW_TARGET = 60.0


def main(prevalence: float = 0.25, regions: int = 9, change: float = 0.02) -> None:
    """Run the benchmark.

    Parameters
    ----------
    prevalence : float
        Share of people with discomfort; 0 and 1 take longest, because a world can then show few values.
    regions : int
        Body regions.
    change : float
        Probability that an answer is drawn anew each month.
    """
    rng = np.random.default_rng(20261)
    world = institute(rng, regions=regions, prevalence=prevalence, response=0.85, churn=0.02, change=change)
    ledger = ledger_of(world, rng)
    tellers = choose_colluders(ledger, set(world.cluster_of), rng)
    print(f"{len(world.answered)} people, {len(ledger.cells)} published counts, prevalence {prevalence}")
    last = [c for c in ledger.cells if world.months[-1] in c.months]
    for label, new, target in (("whole ledger", None, WHOLE_TARGET), ("new month", last, NEW_TARGET)):
        total = 0.0
        for who in (frozenset(), tellers):
            for spans in (True, False):
                total += _time(ledger, Attacker(False, who, spans=spans), world.truth, new)
        print(f"{label}: {total:.1f} s for four attackers (target {target:.0f} s)")


def _time(ledger: Ledger, attacker: Attacker, truth: Truth, new: list[PublishedCell] | None) -> float:
    clock, processor = time.perf_counter(), time.process_time()
    verdict = audit(ledger, attacker, np.random.default_rng(1), truth=truth, new_cells=new)
    seconds, busy = time.perf_counter() - clock, time.process_time() - processor
    solves = sum(p.solves for p in verdict.parts)
    print(f"  {seconds:6.1f} s clock, {busy:6.1f} s processor, {solves:4d} solves. {verdict.sentence}")
    return seconds


if __name__ == "__main__":
    main(*(kind(text) for kind, text in zip((float, int, float), sys.argv[1:], strict=False)))
