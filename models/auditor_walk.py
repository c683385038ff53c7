"""Find many worlds fast: from one world, flip a value and let others give way until every number fits again.

This is only a search for witnesses. What it finds is re-checked elsewhere; what it does not find goes to the
integer programme, so no verdict rests on it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from models.auditor_draws import class_range
from models.auditor_model import Unknowns

MAX_CHAIN = 6
"""Most people that give way for one flip; longer chains are left to the integer programme."""


class Walker:
    """A world of one region under way, with the counts it makes and what each flip would change.

    Parameters
    ----------
    unknowns : Unknowns
        The programme.
    world : ndarray of int8, shape (V,)
        A start; need not reproduce the numbers yet (see `repair`).
    rng : numpy.random.Generator
        Source of chance.
    """

    def __init__(self, unknowns: Unknowns, world: np.ndarray, rng: np.random.Generator) -> None:
        self.u = unknowns
        self.rng = rng
        self.x = world.astype(np.int8).copy()
        cells = len(unknowns.lo)
        self.lo, self.hi = unknowns.lo.copy(), unknowns.hi.copy()
        self._window_cells: list[list[int]] = [[] for _ in unknowns.windows]
        for c, joined in enumerate(unknowns.ors):
            for w in joined:
                self._window_cells[w].append(c)
        self._windows_of: list[list[int]] = [[] for _ in unknowns.people]
        for w, window in enumerate(unknowns.windows):
            self._windows_of[window.person].append(w)
        self._variables_of: list[list[int]] = [[] for _ in unknowns.people]
        for v, p in enumerate(unknowns.person):
            self._variables_of[p].append(v)
        self.on = np.array(
            [sum(int(self.x[v]) for v in w.variables) for w in unknowns.windows], dtype=np.int64
        )
        self._cells_of_group = [np.flatnonzero(unknowns.group == g) for g in range(unknowns.groups)]
        self.classes = np.zeros(unknowns.groups, dtype=np.int64)
        self._place(cells)
        self._reduce(cells)

    def _place(self, cells: int) -> None:
        """Cut the incidence into dense blocks: rows are the block's cells, columns its unknowns."""
        self.block_of = np.zeros(len(self.x), dtype=np.int64)
        self.column = np.zeros(len(self.x), dtype=np.int64)
        block_of_cell = np.zeros(cells, dtype=np.int64)
        for b, members in enumerate(self.u.blocks):
            self.block_of[members] = b
            self.column[members] = np.arange(len(members))
        for c in range(cells):
            first = self.u.linear[c][:1] or [self.u.windows[w].variables[0] for w in self.u.ors[c][:1]]
            block_of_cell[c] = self.block_of[first[0]] if first else -1
        self.rows = [np.flatnonzero(block_of_cell == b) for b in range(len(self.u.blocks))]
        self.row = np.zeros(cells, dtype=np.int64)
        for rows in self.rows:
            self.row[rows] = np.arange(len(rows))
        self.incidence = [
            np.zeros((len(r), len(m)), dtype=np.int8, order="F")
            for r, m in zip(self.rows, self.u.blocks, strict=True)
        ]
        for c, direct in enumerate(self.u.linear):
            if direct:
                block = self.incidence[block_of_cell[c]]
                block[self.row[c], self.column[list(direct)]] = 1

    def _reduce(self, cells: int) -> None:
        self.count = np.zeros(cells, dtype=np.int64)
        for c in range(cells):
            self.count[c] = sum(int(self.x[v]) for v in self.u.linear[c])
            self.count[c] += sum(int(self.on[w] > 0) for w in self.u.ors[c])
        self.change = [
            np.asfortranarray(a * (1 - 2 * self.x[m]))
            for a, m in zip(self.incidence, self.u.blocks, strict=True)
        ]
        # Views into the dense blocks, one column each, so that a flip touches nothing else.
        self._columns = [
            (self.change[b][:, c], self.incidence[b][:, c])
            for b, c in zip(self.block_of.tolist(), self.column.tolist(), strict=True)
        ]
        self._window_rows = [self.row[c] for c in self._window_cells]
        for p, windows in enumerate(self._windows_of):
            if windows:
                self._recompute(p)

    def _recompute(self, person: int) -> None:
        """Refresh what each of a person's flips would change, after one of them has happened."""
        for v in self._variables_of[person]:
            change, block = self._columns[v]
            if self.x[v]:
                np.negative(block, out=change)
            else:
                change[:] = block
        for w in self._windows_of[person]:
            on = int(self.on[w])
            if on > 1:
                continue
            rows = self._window_rows[w]
            for v in self.u.windows[w].variables:
                if on == 0:
                    self._columns[v][0][rows] += 1
                elif self.x[v]:
                    self._columns[v][0][rows] -= 1

    def flip(self, variable: int) -> None:
        """Flip one unknown, whatever the numbers say.

        Parameters
        ----------
        variable : int
            Which one.
        """
        b, person = self.block_of[variable], int(self.u.person[variable])
        self.count[self.rows[b]] += self._columns[variable][0]
        self.x[variable] ^= 1
        for w in self._windows_of[person]:
            if variable in self.u.windows[w].variables:
                self.on[w] += 1 if self.x[variable] else -1
        self._recompute(person)

    def excess(self, block: int) -> int:
        """By how much the counts of a block lie outside their intervals, in people.

        Parameters
        ----------
        block : int
            Index into the blocks.

        Returns
        -------
        int
            0 where every number fits.
        """
        r = self.rows[block]
        over = np.maximum(0, self.count[r] - self.hi[r])
        return int((over + np.maximum(0, self.lo[r] - self.count[r])).sum())

    def reach(self, flips: Sequence[int], locked: np.ndarray) -> bool:
        """Flip some of one person's unknowns and let others give way.

        Parameters
        ----------
        flips : sequence of int
            Unknowns of one person.
        locked : ndarray of bool, shape (P,)
            People who must not give way.

        Returns
        -------
        bool
            False when no chain was found; the world is then as before.
        """
        b = int(self.block_of[flips[0]])
        kept = locked.copy()
        kept[self.u.person[flips[0]]] = True
        done = list(flips)
        for v in flips:
            self.flip(v)
        excess, idle = self.excess(b), 0
        for _ in range(MAX_CHAIN):
            helper, left = self._best(b, kept) if excess else (None, excess)
            idle += left >= excess
            if helper is None or left > excess or idle > 1:
                break  # nobody left who would make room
            kept[self.u.person[helper]] = True
            self.flip(helper)
            done.append(helper)
            excess = left
        if not excess:
            return True
        for v in reversed(done):
            self.flip(v)
        return False

    def _best(self, b: int, kept: np.ndarray) -> tuple[int | None, int]:
        """Pick, by chance among equals, the flip that leaves the least excess, and say how much."""
        r, members = self.rows[b], self.u.blocks[b]
        over, under = self.count[r] - self.hi[r], self.lo[r] - self.count[r]
        # Only who is counted where a number does not fit can make room there.
        able = np.flatnonzero((self.change[b][(over > 0) | (under > 0)] != 0).any(0))
        able = able[~kept[self.u.person[members[able]]]]
        if not len(able):
            return None, 1 << 30
        tight = np.flatnonzero((over >= 0) | (under >= 0))
        change = self.change[b][np.ix_(tight, able)].astype(np.int16)
        cost = np.maximum(0, over[tight, None] + change).sum(0)
        cost = cost + np.maximum(0, under[tight, None] - change).sum(0)
        best = int(cost.min())
        equals = able[cost == best]
        return int(members[equals[self.rng.integers(len(equals))]]), best

    def repair(self, block: int, steps: int) -> bool:
        """Try to make a block's numbers fit by greedy flips with some chance in them.

        Parameters
        ----------
        block : int
            Index into the blocks.
        steps : int
            Most flips.

        Returns
        -------
        bool
            Whether they fit at the end.
        """
        recent: list[int] = []
        for _ in range(steps):
            if not self.excess(block):
                return True
            kept = np.zeros(len(self.u.people), dtype=bool)
            kept[recent[-8:]] = True
            helper, _ = self._best(block, kept)
            if helper is None:
                recent = []
                continue
            self.flip(helper)
            recent.append(int(self.u.person[helper]))
        return not self.excess(block)

    def draw_classes(self) -> bool:
        """Choose a possible class of every shared draw at random and narrow the intervals to it.

        Returns
        -------
        bool
            False if the present counts fit no class of some draw.
        """
        u = self.u
        self.lo, self.hi = u.lo.copy(), u.hi.copy()
        for g, cells in enumerate(self._cells_of_group):
            low, high = class_range(u, self.count, cells)
            if low > high:
                return False
            self.fix_class(g, int(self.rng.integers(low, high + 1)))
        return True

    def fix_class(self, group: int, k: int) -> None:
        """Narrow the intervals of one shared draw's cells to a class.

        Parameters
        ----------
        group : int
            Shared draw.
        k : int
            Class, 0 <= k < base.
        """
        u, cells = self.u, self._cells_of_group[group]
        self.classes[group] = k
        self.lo[cells] = np.maximum(u.lo[cells], u.shift[cells] - u.base[cells] + 1 + k)
        self.hi[cells] = np.where(u.top[cells], u.hi[cells], np.minimum(u.hi[cells], u.shift[cells] + k))
