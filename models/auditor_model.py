"""Turn published cells of one region into unknowns, intervals and blocks for the auditor's solvers.

A published v to base b from n contributors, with the unknown whole-number class k of the secret draw
(u in [k/b, (k+1)/b), 0 <= k < b), says exactly

    v - (b-1) + k <= count <= v + k        (no upper bound but n where v is the largest multiple <= n)

because v is published for the remainders at most k above v, and for those above k below v. With k free and
not shared this is the interval [max(0, v-b+1), min(n, v+b-1)]. Cells with the same contributors share k.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from models.audit_periods import months_of
from models.audit_records import STABLE, Attacker, HiddenGroup, Key, PublishedCell


@dataclass(frozen=True)
class Window:
    """Yes in at least one of several months, for one person.

    Parameters
    ----------
    person : int
        Index into `Unknowns.people`.
    variables : tuple of int
        The person's answers it is made of (two or more).
    """

    person: int
    variables: tuple[int, ...]


@dataclass(frozen=True)
class Unknowns:
    """The integer programme of one region, before any solver.

    Parameters
    ----------
    keys : tuple of (str, str)
        (token, month) of each 0/1 unknown.
    person : ndarray of int, shape (V,)
        Person index of each unknown.
    people : tuple of str
        Tokens.
    windows : tuple of Window
        OR terms.
    linear : tuple of tuple of int
        For each cell (and then each withheld group) the unknowns that count directly.
    ors : tuple of tuple of int
        For each cell the windows that count.
    lo, hi : ndarray of int, shape (C,)
        Interval of the unknown part of each count, whatever the draw.
    shift : ndarray of int, shape (C,)
        Published value less what colluders told: the count c satisfies c - k in [shift - b + 1, shift].
    base : ndarray of int, shape (C,)
        Rounding base of each cell.
    top : ndarray of bool, shape (C,)
        Whether the published value is the largest possible.
    group : ndarray of int, shape (C,)
        Shared draw of each cell, -1 where the draw is used once.
    blocks : tuple of ndarray
        Unknowns that hang together through cells, month blocks apart where the model allows.
    targets : tuple of (str, str)
        The values to protect, by (token, period).
    target_variables : tuple of tuple of int
        Unknowns each target is the OR of.
    """

    keys: tuple[Key, ...]
    person: np.ndarray
    people: tuple[str, ...]
    windows: tuple[Window, ...]
    linear: tuple[tuple[int, ...], ...]
    ors: tuple[tuple[int, ...], ...]
    lo: np.ndarray
    hi: np.ndarray
    shift: np.ndarray
    base: np.ndarray
    top: np.ndarray
    group: np.ndarray
    blocks: tuple[np.ndarray, ...]
    targets: tuple[Key, ...]
    target_variables: tuple[tuple[int, ...], ...]

    @property
    def groups(self) -> int:
        """Number of shared draws."""
        return int(self.group.max(initial=-1)) + 1


def known_answers(attacker: Attacker, truth: Mapping[Key, int] | None) -> dict[Key, int]:
    """Pick out what colluders tell.

    Parameters
    ----------
    attacker : Attacker
        Who tells.
    truth : mapping of (str, str) to int, or None
        Answers of one region by (token, month).

    Returns
    -------
    dict
        Answers of the colluders.
    """
    return {key: value for key, value in (truth or {}).items() if key[0] in attacker.colluders}


def build_unknowns(
    cells: Sequence[PublishedCell],
    answered: Mapping[str, tuple[str, ...]],
    attacker: Attacker,
    known: Mapping[Key, int],
    hidden: Sequence[HiddenGroup] = (),
    spans: Mapping[Key, str] | None = None,
    only: frozenset[str] | None = None,
) -> Unknowns:
    """Set up the unknowns and intervals of one region.

    Parameters
    ----------
    cells : sequence of PublishedCell
        Published counts of one region.
    answered : mapping of str to tuple of str
        Months each person answered.
    attacker : Attacker
        Model of the answers over time, and whether shared draws are used.
    known : mapping of (str, str) to int
        What colluders told.
    hidden : sequence of HiddenGroup
        Withheld groups; they follow the cells as rows without bounds, so that their counts can be asked for.
    spans : mapping of (str, str) to str, optional
        (token, month) to the label of a run of equal answers; each month is its own if left out.
    only : frozenset of str, optional
        People whose values are targets; everybody if left out.

    Returns
    -------
    Unknowns
        The programme.

    Raises
    ------
    ValueError
        If a cell counts somebody who gave no answer in its period.
    """
    index: dict[Key, int] = {}
    windows: dict[tuple[int, ...], int] = {}
    targets: dict[Key, tuple[int, ...]] = {}
    linear, ors, told = [], [], []
    runs = spans or {}
    for cell in (*cells, *hidden):
        direct, joined, yes = [], [], 0
        covered = months_of(cell.period)
        for token in cell.contributors:
            months = [m for m in answered.get(token, ()) if m in covered]
            if not months:
                raise ValueError(
                    f"{cell.unit} {cell.period} {cell.region}: a contributor gave no answer then"
                )
            said = [known[token, m] for m in months if (token, m) in known]
            if any(said):
                yes += 1
                continue
            labels = sorted(
                {
                    STABLE if attacker.stable else runs.get((token, m), m)
                    for m in months
                    if (token, m) not in known
                }
            )
            variables = tuple(index.setdefault((token, label), len(index)) for label in labels)
            for variable, label in zip(variables, labels, strict=True):
                targets.setdefault((token, label), (variable,))
            if not variables:
                continue
            if len(variables) == 1:
                direct.append(variables[0])
            else:
                targets.setdefault((token, cell.period), variables)
                joined.append(windows.setdefault(variables, len(windows)))
        linear.append(tuple(direct))
        ors.append(tuple(joined))
        told.append(yes)
    if only is not None:
        targets = {key: variables for key, variables in targets.items() if key[0] in only}
    keys = tuple(index)
    people: dict[str, int] = {}
    person = np.array([people.setdefault(token, len(people)) for token, _ in keys], dtype=np.int64)
    lo, hi, shift, base, top = _intervals(cells, hidden, linear, ors, told)
    return Unknowns(
        keys=keys,
        person=person,
        people=tuple(people),
        windows=tuple(Window(int(person[v[0]]), v) for v in windows),
        linear=tuple(linear),
        ors=tuple(ors),
        lo=lo,
        hi=hi,
        shift=shift,
        base=base,
        top=top,
        group=_shared_draws(cells, len(hidden), attacker.shared_draw),
        blocks=_blocks(len(keys), linear, ors, list(windows)),
        targets=tuple(targets),
        target_variables=tuple(targets.values()),
    )


def _intervals(
    cells: Sequence[PublishedCell],
    hidden: Sequence[HiddenGroup],
    linear: Sequence[tuple[int, ...]],
    ors: Sequence[tuple[int, ...]],
    told: Sequence[int],
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    # A withheld group is a cell that says nothing: value 0 to a base above its size.
    n = np.array([len(c.contributors) for c in (*cells, *hidden)], dtype=np.int64)
    value = np.array([*(c.value for c in cells), *(0 for _ in hidden)], dtype=np.int64)
    base = np.array([*(c.base for c in cells), *(len(h.contributors) + 1 for h in hidden)], dtype=np.int64)
    yes = np.array(told, dtype=np.int64)
    open_n = np.array([len(a) + len(b) for a, b in zip(linear, ors, strict=True)], dtype=np.int64)
    top = value + base > n
    lo = np.maximum(0, value - base + 1 - yes)
    hi = np.minimum(open_n, np.where(top, n, value + base - 1) - yes)
    return lo, hi, value - yes, base, top


def _shared_draws(cells: Sequence[PublishedCell], hidden: int, use: bool) -> np.ndarray:
    """Number the draws used more than once; a draw used once leaves nothing but its interval."""
    uses = Counter(cell.draw for cell in cells)
    numbers: dict[object, int] = {}
    group = [
        numbers.setdefault(c.draw, len(numbers)) if use and uses[c.draw] > 1 and c.base > 1 else -1
        for c in cells
    ]
    return np.array(group + [-1] * hidden, dtype=np.int64)


def _blocks(
    size: int,
    linear: Sequence[tuple[int, ...]],
    ors: Sequence[tuple[int, ...]],
    windows: Sequence[tuple[int, ...]],
) -> tuple[np.ndarray, ...]:
    parent = list(range(size))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for direct, joined in zip(linear, ors, strict=True):
        members = [*direct, *(v for w in joined for v in windows[w])]
        for v in members[1:]:
            parent[root(v)] = root(members[0])
    blocks: dict[int, list[int]] = {}
    for v in range(size):
        blocks.setdefault(root(v), []).append(v)
    return tuple(np.array(b, dtype=np.int64) for b in blocks.values())
