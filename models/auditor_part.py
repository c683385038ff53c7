"""Audit one programme: gather worlds until every value has been seen both ways, prove or give up on the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from models.audit_check import witnesses_holding, world_reproduces
from models.audit_records import (
    STABLE,
    Attacker,
    Finding,
    HiddenGroup,
    Key,
    PartVerdict,
    PublishedCell,
    Witness,
    World,
)
from models.auditor_model import Unknowns
from models.auditor_solve import Outcome, Programme
from models.auditor_walk import Walker, wanted_flips


@dataclass(frozen=True)
class Effort:
    """How hard to try before a value counts as leaked.

    Parameters
    ----------
    time_limit : float
        Seconds for one integer programme.
    idle_rounds : int
        Rounds of the walk without anything new before the integer programme takes over.
    enough : int
        Findings after which a part stops: the verdict is then settled.
    """

    time_limit: float = 20.0
    idle_rounds: int = 4
    enough: int = 25


class Gallery:
    """Worlds found so far and, for each value, a world showing it as 0 and one showing it as 1."""

    def __init__(self, unknowns: Unknowns) -> None:
        self.u = unknowns
        self.worlds: list[bytes] = []
        self.seen = np.full((2, len(unknowns.targets)), -1, dtype=np.int64)
        sizes = [len(v) for v in unknowns.target_variables]
        self._flat = np.array([v for vs in unknowns.target_variables for v in vs], dtype=np.int64)
        self._starts = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64)

    def show(self, x: np.ndarray) -> bool:
        """Keep a world if it shows something new.

        Parameters
        ----------
        x : ndarray of int8, shape (V,)
            A world.

        Returns
        -------
        bool
            Whether it did.
        """
        if not len(self._flat):
            return False
        values = np.maximum.reduceat(x[self._flat], self._starts).astype(np.int64)
        new = self.seen[values, np.arange(len(values))] < 0
        if not new.any():
            return False
        self.seen[values[new], np.flatnonzero(new)] = len(self.worlds)
        self.worlds.append(x.astype(np.uint8).tobytes())
        return True

    def missing(self) -> list[tuple[int, int]]:
        """Values not yet seen.

        Returns
        -------
        list of (int, int)
            (target, value).
        """
        return [(int(t), int(v)) for v, t in np.argwhere(self.seen < 0)]


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
        return (Outcome.FOUND if _fits(walker) and walker.draw_classes() else Outcome.IMPOSSIBLE), walker
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


def audit_part(
    walker: Walker,
    cells: Sequence[PublishedCell],
    answered: Mapping[str, tuple[str, ...]],
    attacker: Attacker,
    known: Mapping[Key, int],
    hidden: Sequence[HiddenGroup],
    effort: Effort,
) -> PartVerdict:
    """Decide every value of one programme.

    Parameters
    ----------
    walker : Walker
        Standing on a world, see `find_start`.
    cells : sequence of PublishedCell
        The cells behind the programme, all of one region.
    answered : mapping of str to tuple of str
        Months each person answered.
    attacker : Attacker
        The attacker.
    known : mapping of (str, str) to int
        What colluders told.
    hidden : sequence of HiddenGroup
        Withheld groups whose count must stay open.
    effort : Effort
        Limits.

    Returns
    -------
    PartVerdict
        Findings and re-checked witnesses.
    """
    u = walker.u
    gallery = Gallery(u)
    gallery.show(walker.x)
    _walk(walker, gallery, effort)
    prover = Prover(walker, gallery, effort)
    findings = prover.settle(cells[0].region)
    worlds = tuple(World(u.keys, w) for w in gallery.worlds)
    sound = [world_reproduces(w, cells, answered, known, shared_draw=attacker.shared_draw) for w in worlds]
    settled = {(f.token, f.period) for f in findings}
    pairs = [
        Witness(token, period, int(gallery.seen[0, t]), int(gallery.seen[1, t]))
        for t, (token, period) in enumerate(u.targets)
        if (token, period) not in settled and (gallery.seen[:, t] >= 0).all()
    ]
    holding = witnesses_holding(pairs, worlds, sound, answered)
    for witness, holds in zip(pairs, holding, strict=True):
        if not holds:
            findings.append(Finding(cells[0].region, witness.token, witness.period, None))
    findings += _hidden_findings(hidden, worlds, sound, answered, known)
    months = sorted({m for c in cells for m in c.months})
    return PartVerdict(
        region=cells[0].region,
        months=(months[0], months[-1]),
        values=len(u.targets),
        findings=tuple(findings),
        witnesses=tuple(w for w, holds in zip(pairs, holding, strict=True) if holds),
        worlds=worlds,
        solves=prover.solves,
    )


def _walk(walker: Walker, gallery: Gallery, effort: Effort) -> None:
    """Rounds of flips; within a round what has been reached is held, so one world shows many values."""
    u, idle = walker.u, 0
    while idle < effort.idle_rounds:
        todo = gallery.missing()
        if not todo:
            return
        if not walker.draw_classes():
            raise RuntimeError("the walk left the published numbers; the programme and the walk disagree")
        locked = np.zeros(len(u.people), dtype=bool)
        held: dict[int, set[int]] = {}
        for i in walker.rng.permutation(len(todo)):
            target, value = todo[i]
            variables = u.target_variables[target]
            person = int(u.person[variables[0]])
            block = int(walker.block_of[variables[0]])
            flips = wanted_flips(u, walker.x, variables, value)
            in_block = held.setdefault(block, set())
            if flips and (person in in_block or not _reach(walker, flips, in_block, locked)):
                continue
            in_block.add(person)
        idle = 0 if gallery.show(walker.x) else idle + 1


def _reach(walker: Walker, flips: list[int], held: set[int], locked: np.ndarray) -> bool:
    locked[:] = False
    locked[list(held)] = True
    return walker.reach(flips, locked)


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
        u, findings = self.gallery.u, []
        for target, value in self.gallery.missing():
            if self.gallery.seen[value, target] >= 0:
                continue
            if len(findings) >= self.effort.enough:
                break
            outcome = self._reach(u.target_variables[target], value)
            if outcome is not Outcome.FOUND or self.gallery.seen[value, target] < 0:
                token, period = u.targets[target]
                only = 1 - value if outcome is Outcome.IMPOSSIBLE else None
                findings.append(Finding(region, token, period, only))
        return findings

    def _reach(self, variables: tuple[int, ...], value: int) -> Outcome:
        """First only the value's own block with the draws as they stand, then all blocks that share draws."""
        walker, u = self.walker, self.gallery.u
        block = int(walker.block_of[variables[0]])
        coupled = self._coupled(block)
        groups = {int(g) for b in coupled for g in u.group[walker.rows[b]] if g >= 0}
        if groups and len(coupled) > 1:
            walker.draw_classes()
            classes = {g: int(walker.classes[g]) for g in groups}
            outcome = self._solve((block,), classes, variables, value)
            if outcome is Outcome.FOUND:
                return outcome
        return self._solve(tuple(coupled), {}, variables, value)

    def _solve(
        self, blocks: tuple[int, ...], classes: dict[int, int], variables: tuple[int, ...], value: int
    ) -> Outcome:
        u, walker = self.gallery.u, self.walker
        key = (blocks, tuple(sorted(classes.items())))
        if key not in self._programmes:
            self._programmes[key] = Programme(u, blocks, classes, self.effort.time_limit)
        self.solves += 1
        outcome, x = self._programmes[key].solve((variables, value), walker.rng)
        if x is not None:
            members = self._programmes[key].variables
            fresh = walker.x.copy()
            fresh[members] = x[members]
            self.gallery.show(fresh)
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


def _hidden_findings(
    hidden: Sequence[HiddenGroup],
    worlds: Sequence[World],
    sound: Sequence[bool],
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
) -> list[Finding]:
    """A withheld count is open when two checked worlds disagree on it."""
    findings = []
    for group in hidden:
        cell = PublishedCell(group.period, group.unit, group.region, group.contributors, 0, 1)
        answers = [yes_in(w, cell, answered, known) for w, good in zip(worlds, sound, strict=True) if good]
        if any(len(a) < cell.n for a in answers):
            continue  # somebody in it was never counted anywhere, so the count is open
        counts = {sum(a) for a in answers}
        if len(counts) == 1:
            findings.append(Finding(group.region, group.unit, group.period, counts.pop(), "hidden count"))
    return findings


def yes_in(
    world: World, cell: PublishedCell, answered: Mapping[str, tuple[str, ...]], known: Mapping[Key, int]
) -> list[int]:
    """Answers of a cell's contributors in a world.

    Parameters
    ----------
    world : World
        The world.
    cell : PublishedCell
        Who and when.
    answered : mapping of str to tuple of str
        Months each person answered.
    known : mapping of (str, str) to int
        What colluders told.

    Returns
    -------
    list of int
        0 or 1 for each contributor; people about whom nothing was published are left out.
    """
    value = dict(zip(world.keys, world.values, strict=True)) | dict(known)
    answers = []
    for token in cell.contributors:
        said = [
            value[key]
            for m in answered.get(token, ())
            if m in cell.months
            for key in ((token, m), (token, STABLE))
            if key in value
        ]
        if said:
            answers.append(max(said))
    return answers
