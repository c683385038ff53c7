"""Can anybody's answer be worked out from everything published? The exact auditor over a release ledger.

For every person and region (and month) the question is whether all worlds that reproduce the published
numbers agree on the value. Regions never share a cell, so each is audited alone. Anything not shown to be
open by two re-checked worlds, including a solve that ran out of time, is a finding.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from models.audit_periods import months_of
from models.audit_records import (
    STABLE,
    Attacker,
    AuditVerdict,
    Finding,
    Key,
    Ledger,
    PartVerdict,
    PublishedCell,
    Truth,
)
from models.auditor_gallery import Effort
from models.auditor_model import build_unknowns, known_answers
from models.auditor_part import audit_part
from models.auditor_prover import find_start
from models.auditor_solve import Outcome
from models.auditor_spans import Spans, doubted_answers, true_spans

Progress = Callable[[str, int, int], None]


def audit(
    ledger: Ledger,
    attacker: Attacker,
    rng: np.random.Generator,
    *,
    truth: Truth | None = None,
    new_cells: Iterable[PublishedCell] | None = None,
    effort: Effort | None = None,
    progress: Progress | None = None,
    only: frozenset[str] | None = None,
) -> AuditVerdict:
    """Audit a ledger against one attacker.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    attacker : Attacker
        What the attacker takes for granted.
    rng : numpy.random.Generator
        Source of chance of the search; the verdict does not depend on it except through time limits.
    truth : mapping, optional
        Answers by region and (token, month): what colluders tell, and a first world that saves time. May lack
        people whose data are gone.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells, also in the ledger. Only what they can reach is audited: the rest was audited
        when it was published. All cells if left out.
    effort : Effort, optional
        Limits.
    progress : callable, optional
        Called with (region, done, total).
    only : frozenset of str, optional
        People whose values are looked for; the others count as `PartVerdict.carried`.

    Returns
    -------
    AuditVerdict
        Verdict with witnesses.
    """
    effort = effort or Effort()
    fresh = None if new_cells is None else set(new_cells)
    parts: list[PartVerdict] = []
    regions = tuple(sorted({c.region for c in fresh})) if fresh else ledger.regions
    for done, region in enumerate(regions):
        if progress is not None:
            progress(region, done, len(regions))
        auditor = RegionAuditor(ledger, region, attacker, rng, (truth or {}).get(region), effort)
        parts.append(auditor.run(fresh, only))
    if progress is not None:
        progress("", len(regions), len(regions))
    return AuditVerdict(attacker, tuple(parts))


class RegionAuditor:
    """Audit of one region.

    Parameters
    ----------
    ledger : Ledger
        Everything published.
    region : str
        Region.
    attacker : Attacker
        The attacker.
    rng : numpy.random.Generator
        Source of chance.
    truth : mapping or None
        Answers of this region by (token, month).
    effort : Effort
        Limits.
    """

    def __init__(
        self,
        ledger: Ledger,
        region: str,
        attacker: Attacker,
        rng: np.random.Generator,
        truth: Mapping[Key, int] | None,
        effort: Effort,
    ) -> None:
        self.region, self.attacker, self.rng, self.effort = region, attacker, rng, effort
        self.cells = tuple(c for c in ledger.cells if c.region == region)
        self.hidden = tuple(h for h in ledger.hidden if h.region == region and h.contributors)
        self.answered = ledger.answered[region]
        self.truth = dict(truth or {})

    def run(self, fresh: set[PublishedCell] | None, only: frozenset[str] | None = None) -> PartVerdict:
        """Audit all, or what some new cells can reach.

        Parameters
        ----------
        fresh : set of PublishedCell or None
            New cells; None for all.
        only : frozenset of str, optional
            People whose values are looked for; the others count as carried.

        Returns
        -------
        PartVerdict
            Verdict; refuted when the numbers contradict what the attacker takes for granted.
        """
        if not self.attacker.spans:
            return self._run(fresh, {}, only)
        doubted = doubted_answers(self.cells, self.answered, self.truth)
        for join in (True, False):
            spans = true_spans(self.answered, self.truth, doubted, join_unknown=join)
            verdict = self._run(fresh, spans, only)
            if not verdict.refuted:
                return verdict
        return replace(self._run(fresh, {}, only), refuted=True)

    def _run(
        self, fresh: set[PublishedCell] | None, spans: Spans, only: frozenset[str] | None
    ) -> PartVerdict:
        everything = fresh is None or self.attacker.stable or bool(spans)
        cells = self.cells if everything else self._reached(fresh or set())
        if not cells:
            return PartVerdict(self.region, 0)
        inside = {m for c in cells for m in c.months}
        hidden = [h for h in self.hidden if everything or not inside.isdisjoint(months_of(h.period))]
        known = known_answers(self.attacker, self.truth)
        unknowns = build_unknowns(cells, self.answered, self.attacker, known, hidden, spans, only)
        outcome, walker = find_start(unknowns, self._hint(spans), self.rng, self.effort)
        if walker is None:
            if outcome is Outcome.IMPOSSIBLE and (self.attacker.stable or spans):
                return PartVerdict(self.region, 0, refuted=True)
            return PartVerdict(self.region, 0, (Finding(self.region, "", "", None, "no world"),))
        part = audit_part(walker, cells, self.answered, self.attacker, self.truth, hidden, self.effort, spans)
        if only is None:
            return part
        whole = build_unknowns(cells, self.answered, self.attacker, known, hidden, spans)
        carried = len(whole.targets) - len(unknowns.targets)
        return replace(part, values=part.values + carried, carried=carried)

    def _hint(self, spans: Spans) -> Mapping[Key, int]:
        """A first guess: the answers as given, or for answers that never change the commonest one."""
        if not self.attacker.stable:
            return {(key[0], spans.get(key, key[1])): value for key, value in self.truth.items()}
        balance: dict[Key, int] = {}
        for (token, _), value in self.truth.items():
            balance[token, STABLE] = balance.get((token, STABLE), 0) + (1 if value else -1)
        return {key: int(value > 0) for key, value in balance.items()}

    def _reached(self, fresh: set[PublishedCell]) -> Sequence[PublishedCell]:
        """Cells linked to the new ones through an answer or through a shared draw."""
        months: set[str] = set()
        draws: set[object] = set()
        withheld = [months_of(h.period) for h in self.hidden]
        reached = [c for c in self.cells if c in fresh]
        while True:
            before = len(reached)
            months.update(m for c in reached for m in c.months)
            for covered in withheld:
                if not months.isdisjoint(covered):
                    months.update(covered)
            draws.update(c.draw for c in reached if self.attacker.shared_draw)
            reached = [c for c in self.cells if c.draw in draws or not months.isdisjoint(c.months)]
            if len(reached) == before:
                return reached


def choose_colluders(
    ledger: Ledger, units: Iterable[str], rng: np.random.Generator | None = None, per_unit: int = 3
) -> frozenset[str]:
    """Choose people who tell, as many as fit.

    Parameters
    ----------
    ledger : Ledger
        Cells that show who is in a unit.
    units : iterable of str
        Teams.
    rng : numpy.random.Generator, optional
        Source of chance. If left out the choice follows from the tokens, those counted first coming first, so
        that a ledger that grows keeps its tellers and no new choice finds fault with old numbers.
    per_unit : int
        Most people who tell among the contributors of one cell of a team.

    Returns
    -------
    frozenset of str
        Tokens. When people come and go, each team has `per_unit` of them in most periods, not over its life.
    """
    wanted = set(units)
    groups = {c.contributors for c in ledger.cells if c.unit in wanted}
    groups_of: dict[str, list[int]] = {}
    for number, group in enumerate(sorted(groups)):
        for token in group:
            groups_of.setdefault(token, []).append(number)
    room = [per_unit] * len(groups)
    chosen: set[str] = set()
    tokens = sorted(groups_of)
    if rng is None:
        first: dict[str, tuple[str, ...]] = {}
        for cell in sorted((c for c in ledger.cells if c.unit in wanted), key=lambda c: c.months):
            for token in cell.contributors:
                first.setdefault(token, cell.months)
        tokens.sort(key=lambda token: (first[token], hashlib.sha256(token.encode()).digest()))
    else:
        tokens = [tokens[i] for i in rng.permutation(len(tokens))]
    for token in tokens:
        if all(room[g] for g in groups_of[token]):
            chosen.add(token)
            for g in groups_of[token]:
                room[g] -= 1
    return frozenset(chosen)
