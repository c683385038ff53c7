"""Can anybody's answer be worked out from everything published? The exact auditor over a release ledger.

For every person and region (and month) the question is whether all worlds that reproduce the published
numbers agree on the value. Regions never share a cell, so each is audited alone. Anything not shown to be
open by two re-checked worlds, including a solve that ran out of time, is a finding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

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
    months_of,
)
from models.auditor_model import build_unknowns, known_answers
from models.auditor_part import Effort, audit_part, find_start
from models.auditor_solve import Outcome
from models.auditor_walk import Walker

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

    Returns
    -------
    AuditVerdict
        Verdict with witnesses.
    """
    effort = effort or Effort()
    fresh = None if new_cells is None else set(new_cells)
    parts: list[PartVerdict] = []
    regions = ledger.regions if fresh is None else tuple(sorted({c.region for c in fresh}))
    for done, region in enumerate(regions):
        if progress is not None:
            progress(region, done, len(regions))
        auditor = RegionAuditor(ledger, region, attacker, rng, (truth or {}).get(region), effort)
        parts += auditor.run(fresh)
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
        self.hidden = tuple(h for h in ledger.hidden if h.region == region)
        self.answered = ledger.answered[region]
        self.known = known_answers(attacker, truth)
        self.hint = dict(truth or {})
        for (token, _), value in (truth or {}).items():
            # A person's commonest answer is the natural guess for one that never changes.
            self.hint[token, STABLE] = self.hint.get((token, STABLE), 0) + (1 if value else -1)
        self.hint = {key: int(value > 0) for key, value in self.hint.items()}

    def run(self, fresh: set[PublishedCell] | None) -> list[PartVerdict]:
        """Audit all, or what some new cells can reach.

        Parameters
        ----------
        fresh : set of PublishedCell or None
            New cells; None for all.

        Returns
        -------
        list of PartVerdict
            One part, or for an attacker who takes answers to be stable one for each longest run of months
            over which the published numbers do not contradict that.
        """
        if not self.attacker.stable:
            return [self._months_unrelated(self._reached(fresh))]
        whole = self._try(self.cells, self.hint)
        if whole[0] is not Outcome.IMPOSSIBLE:
            return [self._finish(self.cells, whole)]
        return self._stable_runs(only_last=fresh is not None)

    def _months_unrelated(self, cells: Sequence[PublishedCell]) -> PartVerdict:
        return self._finish(cells, self._try(cells, self.hint))

    def _try(self, cells: Sequence[PublishedCell], hint: Mapping[Key, int]) -> tuple[Outcome, Walker | None]:
        unknowns = build_unknowns(cells, self.answered, self.attacker, self.known)
        return find_start(unknowns, hint, self.rng, self.effort)

    def _finish(self, cells: Sequence[PublishedCell], start: tuple[Outcome, Walker | None]) -> PartVerdict:
        if start[1] is None or start[0] is not Outcome.FOUND:
            months = sorted({m for c in cells for m in c.months})
            finding = Finding(self.region, "", "", None, "no world")
            return PartVerdict(self.region, (months[0], months[-1]), 0, (finding,), ())
        inside = {m for c in cells for m in c.months}
        hidden = [h for h in self.hidden if inside.issuperset(months_of(h.period))]
        return audit_part(start[1], cells, self.answered, self.attacker, self.known, hidden, self.effort)

    def _reached(self, fresh: set[PublishedCell] | None) -> Sequence[PublishedCell]:
        """Cells linked to the new ones through an answer or through a shared draw."""
        if fresh is None:
            return self.cells
        months: set[str] = set()
        draws: set[object] = set()
        reached = [c for c in self.cells if c in fresh]
        while True:
            before = len(reached)
            months.update(m for c in reached for m in c.months)
            draws.update(c.draw for c in reached if self.attacker.shared_draw)
            reached = [c for c in self.cells if c.draw in draws or not months.isdisjoint(c.months)]
            if len(reached) == before:
                return reached

    def _stable_runs(self, *, only_last: bool) -> list[PartVerdict]:
        """Longest runs of months on which 'answers never change' is not refuted; others lie inside them."""
        months = sorted({m for c in self.cells for m in c.months})
        parts, start, hint = [], 0, dict(self.hint)
        last: tuple[Sequence[PublishedCell], tuple[Outcome, Walker | None]] | None = None
        if only_last:
            start = self._earliest_start(months)
        for end in range(len(months) - 1 if only_last else 0, len(months)):
            while True:
                cells = self._within(months[start : end + 1])
                tried = self._try(cells, hint) if cells else None
                if tried is None or tried[0] is not Outcome.IMPOSSIBLE:
                    break
                if last is not None:
                    parts.append(self._finish(*last))
                    last = None
                start += 1
            if tried is not None:
                last = (cells, tried)
                if tried[1] is not None:
                    hint |= dict(zip(tried[1].u.keys, tried[1].x.tolist(), strict=True))
        if last is not None:
            parts.append(self._finish(*last))
        return parts

    def _earliest_start(self, months: Sequence[str]) -> int:
        """Earliest first month of a run that ends now and is not refuted; runs inside it are not either."""
        low, high = 0, len(months) - 1
        while low < high:
            middle = (low + high) // 2
            outcome, _ = self._try(self._within(months[middle:]), self.hint)
            low, high = (middle + 1, high) if outcome is Outcome.IMPOSSIBLE else (low, middle)
        return low

    def _within(self, months: Sequence[str]) -> tuple[PublishedCell, ...]:
        inside = set(months)
        return tuple(c for c in self.cells if inside.issuperset(c.months))


def choose_colluders(
    ledger: Ledger, units: Iterable[str], rng: np.random.Generator, per_unit: int = 3
) -> frozenset[str]:
    """Choose people who tell, at random and as many as fit.

    Parameters
    ----------
    ledger : Ledger
        Cells that show who is in a unit.
    units : iterable of str
        Teams.
    rng : numpy.random.Generator
        Source of chance.
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
    for i in rng.permutation(len(tokens)):
        if all(room[g] for g in groups_of[tokens[i]]):
            chosen.add(tokens[i])
            for g in groups_of[tokens[i]]:
                room[g] -= 1
    return frozenset(chosen)
