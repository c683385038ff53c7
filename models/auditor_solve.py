"""Integer programme of the auditor (HiGHS): find a world with a wanted value, or show there is none.

Exchangeable people are merged, see `models.auditor_atoms`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from models.auditor_atoms import Wanted, merge, seat, spread_out
from models.auditor_model import Unknowns


class Outcome(Enum):
    """How a solve ended."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    UNDECIDED = "undecided"


class Programme:
    """Integer programme over some blocks of a region.

    Parameters
    ----------
    unknowns : Unknowns
        The region.
    blocks : sequence of int
        Blocks to solve together.
    classes : mapping of int to int, optional
        Shared draws held at a class; the others are unknown.
    time_limit : float
        Seconds for one solve.
    """

    def __init__(
        self,
        unknowns: Unknowns,
        blocks: Sequence[int],
        classes: Mapping[int, int] | None = None,
        time_limit: float = 20.0,
    ) -> None:
        self.u = unknowns
        self.time_limit = time_limit
        self.variables = np.concatenate([unknowns.blocks[b] for b in blocks])
        inside = np.zeros(len(unknowns.keys), dtype=bool)
        inside[self.variables] = True
        self.cells = [c for c in range(len(unknowns.lo)) if self._touches(c, inside)]
        self.atoms = merge(unknowns, self.cells, inside)
        self._lay_out(dict(classes or {}))

    def _touches(self, c: int, inside: np.ndarray) -> bool:
        u = self.u
        first = u.linear[c][:1] or [u.windows[w].variables[0] for w in u.ors[c][:1]]
        return bool(first) and bool(inside[first[0]])

    def _lay_out(self, classes: dict[int, int]) -> None:
        """Number the columns (slots and windows of atoms, then classes of draws) and write the rows."""
        u = self.u
        self.slot_column: dict[int, int] = {}
        self.window_column: dict[tuple[int, tuple[int, ...]], int] = {}
        upper: list[int] = []
        entries: list[list[tuple[int, float]]] = []
        low: list[float] = []
        high: list[float] = []
        self.atom_columns: list[tuple[list[int], list[int]]] = []
        for a, atom in enumerate(self.atoms):
            s = len(atom.people)
            slots = list(range(len(upper), len(upper) + len(atom.slots)))
            upper += [s] * len(atom.slots)
            for column, slot in zip(slots, atom.slots, strict=True):
                self.slot_column.update(dict.fromkeys(slot, column))
            windows = []
            for w in atom.windows:
                column = len(upper)
                upper.append(s)
                windows.append(column)
                self.window_column[a, w] = column
                for i in w:
                    entries.append([(column, 1.0), (slots[i], -1.0)])
                    low.append(0.0)
                    high.append(np.inf)
                entries.append([(column, 1.0), *((slots[i], -1.0) for i in w)])
                low.append(-np.inf)
                high.append(0.0)
            self.atom_columns.append((slots, windows))
        self.atom_of = {p: a for a, atom in enumerate(self.atoms) for p in atom.people}
        class_column: dict[int, int] = {}
        for c in self.cells:
            terms = self._terms(c)
            entries.append(list(terms.items()))
            low.append(float(u.lo[c]))
            high.append(float(u.hi[c]))
            g = int(u.group[c])
            if g < 0:
                continue
            start, stop = float(u.shift[c] - u.base[c] + 1), np.inf if u.top[c] else float(u.shift[c])
            if g in classes:
                entries.append(list(terms.items()))
                low.append(start + classes[g])
                high.append(stop + classes[g])
            else:
                if g not in class_column:
                    class_column[g] = len(upper)
                    upper.append(int(u.base[c]) - 1)
                entries.append([*terms.items(), (class_column[g], -1.0)])
                low.append(start)
                high.append(stop)
        self.upper = np.array(upper, dtype=float)
        rows = [r for r, e in enumerate(entries) for _ in e]
        columns = [c for e in entries for c, _ in e]
        data = [d for e in entries for _, d in e]
        matrix = csr_array((data, (rows, columns)), shape=(len(entries), len(upper)))
        self.constraint = _rows(matrix, np.array(low), np.array(high))

    def _terms(self, c: int) -> dict[int, float]:
        u = self.u
        terms: dict[int, float] = {}
        for v in u.linear[c]:
            terms[self.slot_column[v]] = 1.0
        for w in u.ors[c]:
            atom = self.atom_of[u.windows[w].person]
            terms[self._window(atom, u.windows[w].variables)] = 1.0
        return terms

    def _window(self, atom: int, variables: tuple[int, ...]) -> int:
        slots = self.atoms[atom].slots
        places = tuple(sorted(i for i, slot in enumerate(slots) for v in variables if v in slot))
        return self.window_column[atom, places]

    def solve(self, wanted: Wanted | None, rng: np.random.Generator) -> tuple[Outcome, np.ndarray | None]:
        """Look for a world of these blocks.

        Parameters
        ----------
        wanted : Wanted or None
            What it must show; None for any world.
        rng : numpy.random.Generator
            Random weights, so that repeated solves give different worlds.

        Returns
        -------
        tuple of Outcome and ndarray or None
            The outcome and, when found, 0/1 for every unknown of the region (zeros outside the blocks).
        """
        lower, upper = np.zeros(len(self.upper)), self.upper.copy()
        constraints = [self.constraint]
        if wanted is not None and wanted.value is not None:
            column = self._column(wanted.variables)
            if wanted.value:
                lower[column] = 1.0
            else:
                upper[column] -= 1.0
        if wanted is not None and wanted.row is not None:
            row = np.zeros((1, len(upper)))
            for column, weight in self._terms(wanted.row).items():
                row[0, column] = weight
            constraints.append(_rows(row, np.array([wanted.low]), np.array([wanted.high])))
        result = milp(
            rng.normal(size=len(upper)),
            integrality=np.ones(len(upper)),
            bounds=_bounds(lower, upper),
            constraints=constraints,
            options={"time_limit": self.time_limit, "mip_rel_gap": 1e6},
        )
        if result.x is not None:
            return Outcome.FOUND, self._expand(np.rint(result.x).astype(np.int64), wanted)
        return (Outcome.IMPOSSIBLE if result.status == 2 else Outcome.UNDECIDED), None

    def relaxation_impossible(self) -> bool:
        """Tell whether even fractions cannot satisfy the numbers.

        Returns
        -------
        bool
            True when the linear relaxation is infeasible, so that no world exists.
        """
        result = milp(
            np.zeros(len(self.upper)),
            bounds=_bounds(np.zeros(len(self.upper)), self.upper),
            constraints=self.constraint,
            options={"time_limit": self.time_limit},
        )
        return result.status == 2

    def _column(self, variables: tuple[int, ...]) -> int:
        if len(variables) == 1:
            return self.slot_column[variables[0]]
        return self._window(self.atom_of[int(self.u.person[variables[0]])], variables)

    def _expand(self, y: np.ndarray, wanted: Wanted | None) -> np.ndarray:
        x = np.zeros(len(self.u.keys), dtype=np.int8)
        for atom, (slots, windows) in zip(self.atoms, self.atom_columns, strict=True):
            sizes = [int(y[c]) for c in slots]
            chosen = [set(range(size)) for size in sizes]
            for w, column in zip(atom.windows, windows, strict=True):
                for i, positions in zip(w, spread_out([sizes[i] for i in w], int(y[column])), strict=True):
                    chosen[i] = positions
            order = list(range(len(atom.people)))
            if wanted is not None and wanted.value is not None:
                seat(atom, chosen, order, wanted)
            for slot, positions in zip(atom.slots, chosen, strict=True):
                for position in positions:
                    x[slot[order[position]]] = 1
        return x


def _rows(matrix: object, low: np.ndarray, high: np.ndarray) -> LinearConstraint:
    # The stubs of scipy know single numbers only; arrays are what its documentation asks for.
    return LinearConstraint(matrix, low, high)  # pyright: ignore[reportArgumentType]


def _bounds(low: np.ndarray, high: np.ndarray) -> Bounds:
    return Bounds(low, high)  # pyright: ignore[reportArgumentType]
