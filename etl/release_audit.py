"""The exact auditor in its seat: every edition is judged against all attackers before it is published."""

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from etl.release_audit_case import AuditCase, Auditor, AuditOutcome
from models.audit_records import AuditVerdict
from models.auditor_gallery import Effort
from models.auditor_gate import GateVerdict, Mapper, judge

Progress = Callable[[str, int, int], None]

ALL = 10**6
"""More findings than there can be."""


@contextmanager
def exact_auditor(
    progress: Progress | None = None, workers: int = 2, effort: Effort | None = None
) -> Iterator[Auditor]:
    """Open the exact auditor; its processes end with the block.

    Parameters
    ----------
    progress : callable, optional
        Told the attacker and region at work, how many are done, and of how many.
    workers : int
        Processes; 1 works in this one. Never more than the machine has processors.
    effort : Effort, optional
        Limits of the search.

    Yields
    ------
    callable
        Takes an `AuditCase`, gives an `AuditOutcome`. The same case gives the same outcome: the search is
        seeded from the number of the edition.
    """
    count = min(workers, os.cpu_count() or 1)
    # Started afresh, not forked: a fork would take the open person store and its threads along.
    pool = ProcessPoolExecutor(count, multiprocessing.get_context("spawn")) if count > 1 else None
    try:
        yield lambda case: _outcome(case, pool, progress, effort)
    finally:
        if pool is not None:
            pool.shutdown(cancel_futures=True)


def _outcome(
    case: AuditCase, pool: ProcessPoolExecutor | None, progress: Progress | None, effort: Effort | None
) -> AuditOutcome:
    if not case.ledger.cells:
        return AuditOutcome(True, "Nothing about discomfort was published that an auditor could search.")

    def run(mapper: Mapper) -> GateVerdict:
        return judge(
            case.ledger,
            case.teams,
            np.random.default_rng(case.edition),
            truth=case.truth,
            new_cells=case.new_cells,
            effort=replace(effort or Effort(), enough=ALL) if case.all else effort,
            progress=progress,
            mapper=mapper,
            thorough=case.all,
            guesses=case.last,
            known=case.known,
        )

    try:
        verdict = run(pool.map if pool is not None else map)
    except BrokenProcessPool:
        # Where the calling program has no file to start again from, such as a shell, no process starts.
        verdict = run(map)
    return AuditOutcome(verdict.passed, _sentence(verdict), _detail(case, verdict), verdict.found)


def _sentence(verdict: GateVerdict) -> str:
    if verdict.passed and verdict.found:
        return (
            f"Audited: this edition adds nothing to the {len(verdict.found)} answers or hidden numbers that "
            "can be worked out from earlier editions alone, published before an audit had passed them."
        )
    if verdict.passed:
        return (
            "Audited: from all editions together, no person's answer and no hidden number can be worked out "
            "by any of the attackers searched for."
        )
    findings = [f for v in verdict.verdicts for f in v.findings]
    undecided = sum(f.value is None for f in findings)
    late = f", and {undecided} could not be decided in time" if undecided else ""
    return (
        f"Audited: at least {len(findings) - undecided} answers or hidden numbers could be worked out from "
        f"all editions together{late}."
    )


def _detail(case: AuditCase, verdict: GateVerdict) -> str:
    span = f"edition {case.edition}"
    if case.since < case.edition:
        span = f"editions {case.since} to {case.edition}"
    regions = len({c.region for c in case.new_cells})
    return (
        f"Searched: the {len(case.new_cells)} discomfort numbers of {span}, with every earlier edition, in "
        f"{regions} body regions. Two different sets of answers that give exactly the published numbers were "
        f"found and recomputed for {_about(verdict.values)} values. Attackers know who is on which team and "
        f"who answered: {'; '.join(_words(v) for v in verdict.verdicts)}."
        + (f" {verdict.guesses.sentence}" if verdict.guesses else "")
    )


def _words(verdict: AuditVerdict) -> str:
    text = f"{verdict.attacker.words} \u2013 {_about(verdict.open_values)} values open"
    if verdict.findings:
        text += f", {len(verdict.findings)} not"
    if verdict.refuted:
        text += f" (contradicted by the numbers in {len(verdict.refuted)} of {len(verdict.parts)} regions)"
    return text


def _about(count: int) -> str:
    """Say a number of answers in hundreds: exact group sizes are not published anywhere else either."""
    return f"about {round(count, -2):,}".replace(",", "\u2009") if count >= 100 else "fewer than 100"
