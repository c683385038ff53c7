"""Integer programmes for whatever the walk did not show both ways."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from models.audit_records import Finding, Key
from models.auditor_atoms import Wanted
from models.auditor_gallery import Effort, Gallery
from models.auditor_model import Unknowns
from models.auditor_solve import Outcome, Programme
from models.auditor_walk import Walker


def find_start(
    unknowns: Unknowns, hint: Mapping[Key, int], rng: np.random.Generator, effort: Effort
) -> tuple[Outcome, Walker | None]:
    """Find a first world.

    Parameters
    ----------
    unknowns : Unknowns
        The programme.
    hint : mapping of (str, str) to int
        A guess by (token, month) or (token, `STABLE`); need not be complete or right.
    rng : numpy.random.Generator
        Source of chance.
    effort : Effort
        Time limit.

    Returns
    -------
    tuple of Outcome and Walker or None
        A walker standing on a world, or why there is none.
    """
    guess = np.array([hint.get(key, 0) for key in unknowns.keys], dtype=np.int8)
    walker = Walker(unknowns, guess, rng)
    blocks = range(len(unknowns.blocks))
    if all(walker.repair(b, 200) for b in blocks) and walker.draw_classes() and _fits(walker):
        return Outcome.FOUND, walker
    if not len(unknowns.keys):
        return Outcome.IMPOSSIBLE, None
    programme = Programme(unknowns, list(blocks), time_limit=effort.time_limit)
    if programme.relaxation_impossible():
        return Outcome.IMPOSSIBLE, None
    outcome, x = programme.solve(None, rng)
    if x is None:
        return outcome, None
    walker = Walker(unknowns, x, rng)
    if not walker.draw_classes() or not _fits(walker):
        return Outcome.UNDECIDED, None
    return Outcome.FOUND, walker


def _fits(walker: Walker) -> bool:
    return bool((walker.count <= walker.hi).all() and (walker.count >= walker.lo).all())


class Prover:
    """Integer programmes for the values the walk did not show both ways.

    Parameters
    ----------
    walker : Walker
        Standing on a world.
    gallery : Gallery
        Worlds so far; extended.
    effort : Effort
        Limits.
    """

    def __init__(self, walker: Walker, gallery: Gallery, effort: Effort) -> None:
        self.walker, self.gallery, self.effort = walker, gallery, effort
        self.solves = 0
        self._programmes: dict[object, Programme] = {}

    def settle(self, region: str) -> list[Finding]:
        """Solve for every value not yet seen both ways.

        Parameters
        ----------
        region : str
            For the findings.

        Returns
        -------
        list of Finding
            What is determined or undecided.
        """
        u = self.gallery.u
        findings: list[Finding] = []
        for target, value in self.gallery.missing():
            if self.gallery.seen[value, target] >= 0:
                continue
            if len(findings) >= self.effort.enough:
                break
            outcome = self._reach(Wanted(u.target_variables[target], value))
            if outcome is not Outcome.FOUND or self.gallery.seen[value, target] < 0:
                only = 1 - value if outcome is Outcome.IMPOSSIBLE else None
                findings.append(Finding(region, *u.targets[target], only))
        return findings

    def other_count(self, row: int) -> Outcome:
        """Look for two worlds in which the count of a row differs.

        Parameters
        ----------
        row : int
            Row of the programme, here a withheld group.

        Returns
        -------
        Outcome
            FOUND when the gallery shows two counts of it.
        """
        u = self.gallery.u
        members = [*u.linear[row], *(v for w in u.ors[row] for v in u.windows[w].variables)]
        count = int(self.walker.count[row])
        seen = {self.gallery.count(i, u.linear[row], u.ors[row]) for i in range(self.gallery.size)}
        if count not in seen:
            # The walk's own world showed no new value and was not kept; here it does show something.
            self.gallery.show(self.walker.x, keep=True)
        if len(seen | {count}) > 1:
            return Outcome.FOUND
        outcomes = {
            self._reach(Wanted((members[0],), None, row, low, high))
            for low, high in ((count + 1, len(members)), (0, count - 1))
            if low <= high
        }
        order = (Outcome.FOUND, Outcome.UNDECIDED, Outcome.IMPOSSIBLE)
        return next(o for o in order if o in outcomes)

    def _reach(self, wanted: Wanted) -> Outcome:
        """First only the value's own block with the draws as they stand, then all blocks that share draws."""
        walker, u = self.walker, self.gallery.u
        block = int(walker.block_of[wanted.variables[0]])
        coupled = self._coupled(block)
        groups = {int(g) for b in coupled for g in u.group[walker.rows[b]] if g >= 0}
        if groups and len(coupled) > 1:
            walker.draw_classes()
            classes = {g: int(walker.classes[g]) for g in groups}
            outcome = self._solve((block,), classes, wanted)
            if outcome is Outcome.FOUND:
                return outcome
        return self._solve(tuple(coupled), {}, wanted)

    def _solve(self, blocks: tuple[int, ...], classes: dict[int, int], wanted: Wanted) -> Outcome:
        u, walker = self.gallery.u, self.walker
        key = (blocks, tuple(sorted(classes.items())))
        if key not in self._programmes:
            self._programmes[key] = Programme(u, blocks, classes, self.effort.time_limit)
        self.solves += 1
        outcome, x = self._programmes[key].solve(wanted, walker.rng)
        if x is not None:
            members = self._programmes[key].variables
            fresh = walker.x.copy()
            fresh[members] = x[members]
            self.gallery.show(fresh, keep=wanted.value is None)
            self.walker = Walker(u, fresh, walker.rng)
        return outcome

    def _coupled(self, block: int) -> list[int]:
        u, walker = self.gallery.u, self.walker
        groups_of = [{int(g) for g in u.group[r] if g >= 0} for r in walker.rows]
        reached, frontier = {block}, [block]
        while frontier:
            mine = groups_of[frontier.pop()]
            for b, theirs in enumerate(groups_of):
                if b not in reached and mine & theirs:
                    reached.add(b)
                    frontier.append(b)
        return sorted(reached)
