"""Worlds gathered by the walk: which values have been seen as 0 and as 1, and where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.auditor_draws import wanted_flips
from models.auditor_model import Unknowns
from models.auditor_walk import Walker


@dataclass(frozen=True)
class Effort:
    """How hard to try before a value counts as leaked.

    Parameters
    ----------
    time_limit : float
        Seconds for one integer programme.
    idle_rounds : int
        Rounds of the walk without anything new before the integer programme takes over.
    patience : int
        Flips in a row that may fail before a round leaves a block.
    enough : int
        Findings after which a part stops: the verdict is then settled.
    """

    time_limit: float = 20.0
    idle_rounds: int = 4
    patience: int = 5
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

    def show(self, x: np.ndarray, *, keep: bool = False) -> bool:
        """Keep a world if it shows something new.

        Parameters
        ----------
        x : ndarray of int8, shape (V,)
            A world.
        keep : bool
            Keep it in any case.

        Returns
        -------
        bool
            Whether it did.
        """
        values = np.zeros(len(self.u.targets), dtype=np.int64)
        if len(values):
            values = np.maximum.reduceat(x[self._flat], self._starts).astype(np.int64)
        new = self.seen[values, np.arange(len(values))] < 0
        if not new.any() and not keep:
            return False
        self.seen[values[new], np.flatnonzero(new)] = len(self.worlds)
        self.worlds.append(x.astype(np.uint8).tobytes())
        return bool(new.any())

    @property
    def size(self) -> int:
        """Number of worlds."""
        return len(self.worlds)

    def count(self, world: int, linear: Sequence[int], ors: Sequence[int]) -> int:
        """Count of a row in a world.

        Parameters
        ----------
        world : int
            Position of the world.
        linear, ors : sequence of int
            The row's unknowns and windows.

        Returns
        -------
        int
            People with a yes.
        """
        x = self.worlds[world]
        yes = sum(x[v] for v in linear)
        return yes + sum(any(x[v] for v in self.u.windows[w].variables) for w in ors)

    def missing(self) -> list[tuple[int, int]]:
        """Values not yet seen.

        Returns
        -------
        list of (int, int)
            (target, value).
        """
        return [(int(t), int(v)) for v, t in np.argwhere(self.seen < 0)]


def gather(walker: Walker, gallery: Gallery, effort: Effort) -> None:
    """Walk from world to world until every value has been seen both ways or nothing new turns up.

    Within a round what has been reached is held, so that one world shows many values.

    Parameters
    ----------
    walker : Walker
        Standing on a world.
    gallery : Gallery
        Worlds so far; extended.
    effort : Effort
        Limits.
    """
    idle = 0
    while idle < effort.idle_rounds:
        pending = gallery.missing()
        if not pending:
            return
        if not walker.draw_classes():
            raise RuntimeError("the walk left the published numbers; the programme and the walk disagree")
        _round(walker, pending, effort)
        idle = 0 if gallery.show(walker.x) else idle + 1


def _round(walker: Walker, pending: list[tuple[int, int]], effort: Effort) -> None:
    u = walker.u
    held: dict[int, np.ndarray] = {}
    failures: dict[int, int] = {}
    for i in walker.rng.permutation(len(pending)):
        target, value = pending[i]
        variables = u.target_variables[target]
        person, block = int(u.person[variables[0]]), int(walker.block_of[variables[0]])
        if failures.get(block, 0) >= effort.patience:
            continue  # the numbers leave no room for more in this round
        if block not in held:
            held[block] = np.zeros(len(u.people), dtype=bool)
        flips = wanted_flips(u, walker.x, variables, value)
        if flips and (held[block][person] or not walker.reach(flips, held[block])):
            failures[block] = failures.get(block, 0) + 1
            continue
        failures[block] = 0
        held[block][person] = True
