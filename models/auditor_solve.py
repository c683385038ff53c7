"""Integer programme of the auditor (HiGHS): find a world with a wanted value, or show there is none.

People with the same membership in every cell are exchangeable, so they are merged into *atoms*: one bounded
whole number per month and one per OR-window. For s people with month sums y_m the OR-sum y_w can be anything
from max(y_m) to min(s, sum y_m), and each such choice can be laid out over the people again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from models.auditor_model import Unknowns


class Outcome(Enum):
    """How a solve ended."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    UNDECIDED = "undecided"


@dataclass(frozen=True)
class Atom:
    """Exchangeable people.

    Parameters
    ----------
    people : tuple of int
        Person indices.
    slots : tuple of tuple of int
        For each month the unknowns of the people, in the same order.
    windows : tuple of tuple of int
        OR-windows as positions into `slots`.
    """

    people: tuple[int, ...]
    slots: tuple[tuple[int, ...], ...]
    windows: tuple[tuple[int, ...], ...]


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
        self.atoms = self._merge(inside)
        self._lay_out(dict(classes or {}))

    def _touches(self, c: int, inside: np.ndarray) -> bool:
        u = self.u
        first = u.linear[c][:1] or [u.windows[w].variables[0] for w in u.ors[c][:1]]
        return bool(first) and bool(inside[first[0]])

    def _merge(self, inside: np.ndarray) -> list[Atom]:
        u = self.u
        member: dict[int, list[int]] = {}
        joined: dict[int, list[int]] = {}
        for c in self.cells:
            for v in u.linear[c]:
                member.setdefault(v, []).append(c)
            for w in u.ors[c]:
                joined.setdefault(w, []).append(c)
        own: dict[int, list[int]] = {}
        for v in self.variables:
            own.setdefault(int(u.person[v]), []).append(int(v))
        their_windows: dict[int, list[int]] = {}
        for w in joined:
            their_windows.setdefault(u.windows[w].person, []).append(w)
        merged: dict[object, list[tuple[int, list[int], list[tuple[int, ...]]]]] = {}
        for p, variables in own.items():
            variables.sort(key=lambda v: u.keys[v][1])
            place = {v: i for i, v in enumerate(variables)}
            windows = [
                tuple(sorted(place[v] for v in u.windows[w].variables)) for w in their_windows.get(p, ())
            ]
            cells_of_windows = [tuple(joined[w]) for w in their_windows.get(p, ())]
            order = sorted(range(len(windows)), key=lambda i: windows[i])
            windows = [windows[i] for i in order]
            signature: object = (
                tuple((u.keys[v][1], tuple(member.get(v, ()))) for v in variables),
                tuple((windows[i], cells_of_windows[order[i]]) for i in range(len(windows))),
            )
            spread = [i for w in windows for i in w]
            if len(spread) != len(set(spread)):
                # Overlapping windows: sums no longer tell which layouts exist, so keep the person alone.
                signature = (p,)
            merged.setdefault(signature, []).append((p, variables, windows))
        return [
            Atom(
                people=tuple(m[0] for m in group),
                slots=tuple(tuple(m[1][i] for m in group) for i in range(len(group[0][1]))),
                windows=tuple(group[0][2]),
            )
            for group in merged.values()
        ]

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
        self.constraint = LinearConstraint(matrix, np.array(low), np.array(high))

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

    def solve(
        self, wanted: tuple[tuple[int, ...], int] | None, rng: np.random.Generator
    ) -> tuple[Outcome, np.ndarray | None]:
        """Look for a world of these blocks.

        Parameters
        ----------
        wanted : tuple (unknowns, value) or None
            A value (the OR of one person's unknowns) that must come out so; None for any world.
        rng : numpy.random.Generator
            Random weights, so that repeated solves give different worlds.

        Returns
        -------
        tuple of Outcome and ndarray or None
            The outcome and, when found, 0/1 for every unknown of the region (zeros outside the blocks).
        """
        lower, upper = np.zeros(len(self.upper)), self.upper.copy()
        if wanted is not None:
            column = self._column(wanted[0])
            if wanted[1]:
                lower[column] = 1.0
            else:
                upper[column] -= 1.0
        result = milp(
            rng.normal(size=len(upper)),
            integrality=np.ones(len(upper)),
            bounds=Bounds(lower, upper),
            constraints=self.constraint,
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
            bounds=Bounds(np.zeros(len(self.upper)), self.upper),
            constraints=self.constraint,
            options={"time_limit": self.time_limit},
        )
        return result.status == 2

    def _column(self, variables: tuple[int, ...]) -> int:
        if len(variables) == 1:
            return self.slot_column[variables[0]]
        return self._window(self.atom_of[int(self.u.person[variables[0]])], variables)

    def _expand(self, y: np.ndarray, wanted: tuple[tuple[int, ...], int] | None) -> np.ndarray:
        x = np.zeros(len(self.u.keys), dtype=np.int8)
        for atom, (slots, windows) in zip(self.atoms, self.atom_columns, strict=True):
            sizes = [int(y[c]) for c in slots]
            chosen = [set(range(size)) for size in sizes]
            for w, column in zip(atom.windows, windows, strict=True):
                for i, positions in zip(w, spread_out([sizes[i] for i in w], int(y[column])), strict=True):
                    chosen[i] = positions
            order = list(range(len(atom.people)))
            if wanted is not None and wanted[0][0] in atom.slots[self._slot(atom, wanted[0][0])]:
                self._seat(atom, chosen, order, wanted)
            for slot, positions in zip(atom.slots, chosen, strict=True):
                for position in positions:
                    x[slot[order[position]]] = 1
        return x

    @staticmethod
    def _slot(atom: Atom, variable: int) -> int:
        return next((i for i, slot in enumerate(atom.slots) if variable in slot), 0)

    def _seat(
        self, atom: Atom, chosen: list[set[int]], order: list[int], wanted: tuple[tuple[int, ...], int]
    ) -> None:
        """Put the wanted person on a position of the layout where the value comes out as wanted."""
        variables, value = wanted
        slots = [self._slot(atom, v) for v in variables]
        person = atom.slots[slots[0]].index(variables[0])
        for position in range(len(order)):
            if any(position in chosen[i] for i in slots) == bool(value):
                order[position], order[person] = order[person], order[position]
                return


def spread_out(sizes: Sequence[int], union: int) -> list[set[int]]:
    """Lay out sets of given sizes so that their union has a given size.

    Parameters
    ----------
    sizes : sequence of int
        Set sizes.
    union : int
        Size of the union, between max(sizes) and sum(sizes).

    Returns
    -------
    list of set of int
        Sets of positions 0 .. union - 1, in the order of `sizes`.
    """
    sets: list[set[int]] = [set() for _ in sizes]
    covered = 0
    for i in sorted(range(len(sizes)), key=lambda j: -sizes[j]):
        fresh = min(sizes[i], union - covered)
        sets[i] = set(range(covered, covered + fresh)) | set(range(sizes[i] - fresh))
        covered += fresh
    return sets
