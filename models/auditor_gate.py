"""The question a release asks before it commits: does any attacker learn anybody's answer?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from models.audit_records import Attacker, AuditVerdict, Ledger, PartVerdict, PublishedCell, Truth
from models.auditor import Progress, audit, choose_colluders
from models.auditor_blanket import Guesses, guess_region
from models.auditor_gallery import Effort

Known = tuple[bool, bool, str, str, str, str]
"""Whether runs and whether answers are told, then region, token, period and kind of a finding."""


@dataclass(frozen=True)
class GateVerdict:
    """All attackers' verdicts on one candidate.

    Parameters
    ----------
    verdicts : tuple of AuditVerdict
        Months unrelated, and told for how long answers stayed the same; each without and with colluders.
    guesses : Guesses or None
        What follows from a blanket belief in stable answers, if asked for; information, no finding.
    known : frozenset of tuple
        Findings that earlier numbers alone give, see `found`; they are not held against the candidate.
    """

    verdicts: tuple[AuditVerdict, ...]
    guesses: Guesses | None = None
    known: frozenset[Known] = frozenset()

    @property
    def passed(self) -> bool:
        """True when every attacker is left with two worlds for every value not known before."""
        return self.found <= self.known and all(v.complete for v in self.verdicts)

    @property
    def found(self) -> frozenset[Known]:
        """All findings."""
        return frozenset(known for v in self.verdicts for known in _known(v))

    @property
    def values(self) -> int:
        """Values shown to be open, over all attackers."""
        return sum(verdict.open_values for verdict in self.verdicts)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The verdicts in plain words."""
        return tuple(v.sentence for v in self.verdicts)


@dataclass(frozen=True)
class Question:
    """A piece of work that a process of its own can do: the numbers of one region.

    Parameters
    ----------
    ledger : Ledger
        Everything published about the region.
    spans : bool or None
        Months unrelated, or told for how long answers stayed the same; None asks for the guesses.
    tellers : frozenset of str
        People who tell.
    alone : frozenset of str
        Units whose numbers are looked at for the guesses.
    rng : numpy.random.Generator
        Source of chance of this piece.
    truth : mapping
        Answers of the region.
    new_cells : tuple of PublishedCell or None
        The candidate's cells of the region; None for all.
    effort : Effort
        Limits.
    """

    ledger: Ledger
    spans: bool | None
    tellers: frozenset[str]
    alone: frozenset[str]
    rng: np.random.Generator
    truth: Truth
    new_cells: tuple[PublishedCell, ...] | None
    effort: Effort


Answer = tuple[AuditVerdict, AuditVerdict] | Guesses
"""The verdicts without and with people telling, or what is guessed."""

Mapper = Callable[[Callable[[Question], Answer], Iterable[Question]], Iterable[Answer]]
"""Works the questions off in order: `map`, or the map of a pool of processes."""


def ask(question: Question) -> Answer:
    """Work off one piece.

    Whoever is told some answers has fewer worlds left, and each of them is a world for whoever is not. So
    where the first learns nothing, the other is asked about those who told only.

    Parameters
    ----------
    question : Question
        What is asked.

    Returns
    -------
    tuple of AuditVerdict, or Guesses
        The answer.
    """
    q = question
    if q.spans is None:
        (region,) = q.truth
        return guess_region(q.ledger, region, q.alone, q.rng, q.truth[region], q.new_cells)
    rest = {"truth": q.truth, "new_cells": q.new_cells, "effort": q.effort}
    told = audit(q.ledger, Attacker(False, q.tellers, spans=q.spans), q.rng, **rest)
    only = q.tellers if told.passed and not told.refuted else None
    return audit(q.ledger, Attacker(False, spans=q.spans), q.rng, only=only, **rest), told


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
    thorough: bool = True,
    guesses: bool = True,
    known: frozenset[Known] = frozenset(),
) -> GateVerdict:
    """Audit a candidate against every attacker.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    units : iterable of str
        Teams: three colluders are chosen in each.
    rng : numpy.random.Generator
        Source of chance of the search.
    truth : mapping
        Answers by region and (token, month); may lack people whose data are gone.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells; the whole ledger is audited if left out. With none at all, what the ledger
        gives whoever is told of equal answers.
    alone : iterable of str, optional
        Units whose numbers are looked at for `GateVerdict.guesses`; the teams if left out.
    effort : Effort, optional
        Limits.
    progress : callable, optional
        Called with (attacker and region in words, done, total).
    mapper : callable, optional
        Works the pieces off; by default one after the other in this process.
    thorough : bool
        Whether to go on after the first finding. The verdict is the same.
    guesses : bool
        Whether to count what a blanket belief in stable answers concludes.
    known : frozenset of tuple
        Findings of a search without the candidate.

    Returns
    -------
    GateVerdict
        The verdicts.
    """
    teams = frozenset(units)
    tellers = choose_colluders(ledger, teams)
    fresh = None if new_cells is None else tuple(new_cells)
    regions = tuple(sorted({c.region for c in fresh})) if fresh else ledger.regions
    limits = effort or Effort()
    searches = (True, False, None) if guesses else (True, False)
    pairs = [(spans, region) for spans in searches for region in regions]
    questions = [
        Question(
            _of_region(ledger, region),
            spans,
            tellers,
            teams if alone is None else frozenset(alone),
            source,
            {region: truth.get(region, {})},
            None if fresh is None else tuple(c for c in fresh if c.region == region),
            replace(limits, enough=limits.enough + len(known)),
        )
        for (spans, region), source in zip(pairs, rng.spawn(len(pairs)), strict=True)
    ]
    tell = progress or (lambda words, done, total: None)
    found: dict[tuple[bool, bool], list[PartVerdict]] = {}
    counted = Guesses()
    for done, answer in enumerate(mapper(ask, questions)):
        spans, region = pairs[done]
        tell(f"{_SEARCHES[spans]}, {region}", done + 1, len(pairs))
        if isinstance(answer, Guesses):
            counted += answer
            continue
        for told, verdict in enumerate(answer):
            found.setdefault((bool(told), bool(spans)), []).extend(verdict.parts)
        if not thorough and any(not set(_known(verdict)) <= known for verdict in answer):
            break
    return GateVerdict(
        tuple(
            AuditVerdict(Attacker(False, tellers if told else frozenset(), spans=spans), tuple(parts))
            for (told, spans), parts in sorted(found.items(), key=lambda item: item[0])
        ),
        counted if guesses else None,
        known,
    )


_SEARCHES = {True: "equal answers known", False: "months unrelated", None: "guesses"}


def _known(verdict: AuditVerdict) -> list[Known]:
    who = (verdict.attacker.spans, bool(verdict.attacker.colluders))
    return [(*who, f.region, f.token, f.period, f.kind) for f in verdict.findings]


def _of_region(ledger: Ledger, region: str) -> Ledger:
    return Ledger(
        tuple(c for c in ledger.cells if c.region == region),
        {region: ledger.answered[region]},
        tuple(h for h in ledger.hidden if h.region == region),
    )
