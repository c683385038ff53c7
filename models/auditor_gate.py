"""The question a release asks before it commits: does any attacker learn anybody's answer?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from models.audit_records import Attacker, AuditVerdict, Ledger, PublishedCell, Truth
from models.auditor import Progress, audit, choose_colluders
from models.auditor_gallery import Effort
from models.auditor_local import audit_teams


@dataclass(frozen=True)
class GateVerdict:
    """All attackers' verdicts on one candidate.

    Parameters
    ----------
    verdicts : tuple of AuditVerdict
        Months unrelated and answers stable, each without and with colluders; then answers stable in one team,
        for the regions whose numbers refute that all answers are.
    """

    verdicts: tuple[AuditVerdict, ...]

    @property
    def passed(self) -> bool:
        """True when every attacker is left with two worlds for every value."""
        return all(v.passed for v in self.verdicts)

    @property
    def values(self) -> int:
        """Values shown to be open, over all attackers."""
        return sum(len(p.witnesses) for v in self.verdicts for p in v.parts)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The verdicts in plain words."""
        return tuple(v.sentence for v in self.verdicts)


@dataclass(frozen=True)
class Question:
    """One attacker before the numbers of one region: a piece of work that a process of its own can do.

    Parameters
    ----------
    ledger : Ledger
        Everything published about the region.
    attacker : Attacker
        The attacker.
    alone : frozenset of str
        Units whose series are looked at alone where the numbers refute stable answers.
    rng : numpy.random.Generator
        Source of chance of this piece.
    truth : mapping
        Answers of the region.
    new_cells : tuple of PublishedCell or None
        The candidate's cells of the region; None for all.
    effort : Effort or None
        Limits.
    """

    ledger: Ledger
    attacker: Attacker
    alone: frozenset[str]
    rng: np.random.Generator
    truth: Truth
    new_cells: tuple[PublishedCell, ...] | None
    effort: Effort | None


Answer = tuple[AuditVerdict, AuditVerdict | None]
"""The verdict on the whole, and the one on units alone where the whole refuted stable answers."""

Mapper = Callable[[Callable[[Question], Answer], Iterable[Question]], Iterable[Answer]]
"""Works the questions off in order: `map`, or the map of a pool of processes."""


def ask(question: Question) -> Answer:
    """Audit one region against one attacker.

    Parameters
    ----------
    question : Question
        What is asked.

    Returns
    -------
    tuple of (AuditVerdict, AuditVerdict or None)
        The verdicts.
    """
    q = question
    rest = {"truth": q.truth, "new_cells": q.new_cells, "effort": q.effort}
    verdict = audit(q.ledger, q.attacker, q.rng, **rest)
    if not verdict.refuted:
        return verdict, None
    return verdict, audit_teams(q.ledger, q.attacker, q.alone, verdict.refuted, q.rng, **rest)


def judge(
    ledger: Ledger,
    units: Iterable[str],
    rng: np.random.Generator,
    *,
    truth: Truth,
    new_cells: Iterable[PublishedCell] | None = None,
    alone: Iterable[str] | None = None,
    effort: Effort | None = None,
    progress: Progress | None = None,
    mapper: Mapper = map,
) -> GateVerdict:
    """Audit a candidate against every attacker.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    units : iterable of str
        Teams: three colluders are chosen in each.
    rng : numpy.random.Generator
        Source of chance of the search and of the choice of colluders.
    truth : mapping
        Answers by region and (token, month); may lack people whose data are gone.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells; the whole ledger is audited if left out.
    alone : iterable of str, optional
        Units whose series are looked at alone; the teams if left out.
    effort : Effort, optional
        Limits.
    progress : callable, optional
        Called with (attacker and region in words, done, total).
    mapper : callable, optional
        Works the pieces off; by default one after the other in this process.

    Returns
    -------
    GateVerdict
        The verdicts.
    """
    teams = frozenset(units)
    tellers = choose_colluders(ledger, teams, rng)
    fresh = None if new_cells is None else tuple(new_cells)
    attackers = [Attacker(stable, who) for who in (frozenset(), tellers) for stable in (False, True)]
    regions = ledger.regions if fresh is None else tuple(sorted({c.region for c in fresh}))
    single = teams if alone is None else frozenset(alone)
    pairs = [(attacker, region) for attacker in attackers for region in regions]
    questions = [
        Question(
            _of_region(ledger, region),
            attacker,
            single,
            source,
            {region: truth.get(region, {})},
            None if fresh is None else tuple(c for c in fresh if c.region == region),
            effort,
        )
        for (attacker, region), source in zip(pairs, rng.spawn(len(pairs)), strict=True)
    ]
    tell = progress or (lambda words, done, total: None)
    answers: list[Answer] = []
    for answer in mapper(ask, questions):
        attacker, region = pairs[len(answers)]
        answers.append(answer)
        tell(f"{attacker.words} {region}", len(answers), len(pairs))
    whole, local = [], []
    for number, attacker in enumerate(attackers):
        own = answers[number * len(regions) : (number + 1) * len(regions)]
        whole.append(AuditVerdict(attacker, tuple(part for verdict, _ in own for part in verdict.parts)))
        closer = [verdict for _, verdict in own if verdict is not None]
        if closer:
            parts = tuple(part for verdict in closer for part in verdict.parts)
            local.append(AuditVerdict(closer[0].attacker, parts))
    return GateVerdict((*whole, *local))


def _of_region(ledger: Ledger, region: str) -> Ledger:
    return Ledger(
        tuple(c for c in ledger.cells if c.region == region),
        {region: ledger.answered[region]},
        tuple(h for h in ledger.hidden if h.region == region),
    )
