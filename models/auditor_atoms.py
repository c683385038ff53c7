"""People with the same membership in every cell, merged into bounded whole numbers and laid out again.

For s exchangeable people with month sums y_m, the number with a yes in any month of a window can be anything
from max(y_m) to min(s, sum y_m), and each such choice can be laid out over the people.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.auditor_model import Unknowns


@dataclass(frozen=True)
class Wanted:
    """What a world must show.

    Parameters
    ----------
    variables : tuple of int
        A value, as the OR of one person's unknowns.
    value : int or None
        0 or 1; None where only a count is wanted.
    row : int or None
        Row of the programme whose count must lie in [low, high].
    low, high : int
        Bounds.
    """

    variables: tuple[int, ...]
    value: int | None
    row: int | None = None
    low: int = 0
    high: int = 0


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


def merge(unknowns: Unknowns, cells: Sequence[int], inside: np.ndarray) -> list[Atom]:
    """Merge people who are counted in the same cells, month for month.

    Parameters
    ----------
    unknowns : Unknowns
        The region.
    cells : sequence of int
        Cells that matter.
    inside : ndarray of bool, shape (V,)
        Unknowns that matter.

    Returns
    -------
    list of Atom
        The atoms.
    """
    u = unknowns
    counted: dict[int, list[int]] = {}
    joined: dict[int, list[int]] = {}
    for c in cells:
        for v in u.linear[c]:
            counted.setdefault(v, []).append(c)
        for w in u.ors[c]:
            joined.setdefault(w, []).append(c)
    own: dict[int, list[int]] = {}
    for v in np.flatnonzero(inside).tolist():
        own.setdefault(int(u.person[v]), []).append(v)
    ors: dict[int, list[int]] = {}
    for w in joined:
        ors.setdefault(u.windows[w].person, []).append(w)
    merged: dict[object, list[tuple[int, list[int], list[tuple[int, ...]]]]] = {}
    for person, variables in own.items():
        variables.sort(key=lambda v: u.keys[v][1])
        place = {v: i for i, v in enumerate(variables)}
        windows = sorted(
            (tuple(sorted(place[v] for v in u.windows[w].variables)), tuple(joined[w]))
            for w in ors.get(person, ())
        )
        signature: object = (
            tuple((u.keys[v][1], tuple(counted.get(v, ()))) for v in variables),
            tuple(windows),
        )
        spread = [i for places, _ in windows for i in places]
        if len(spread) != len(set(spread)):
            # Overlapping windows: sums no longer tell which layouts exist, so the person stays alone.
            signature = person
        merged.setdefault(signature, []).append((person, variables, [places for places, _ in windows]))
    return [
        Atom(
            people=tuple(member[0] for member in group),
            slots=tuple(tuple(member[1][i] for member in group) for i in range(len(group[0][1]))),
            windows=tuple(group[0][2]),
        )
        for group in merged.values()
    ]


def seat(atom: Atom, chosen: Sequence[set[int]], order: list[int], wanted: Wanted) -> None:
    """Put the wanted person on a position of an atom's layout where the value comes out as wanted.

    Parameters
    ----------
    atom : Atom
        Exchangeable people; nothing is done if the person is not among them.
    chosen : sequence of set of int
        For each slot the positions with a yes.
    order : list of int
        Person (by rank in the atom) on each position; changed in place.
    wanted : Wanted
        Value of one person.
    """
    slots = [i for i, slot in enumerate(atom.slots) for v in wanted.variables if v in slot]
    if not slots:
        return
    person = next(slot.index(v) for slot in atom.slots for v in wanted.variables if v in slot)
    for position in range(len(order)):
        if any(position in chosen[i] for i in slots) == bool(wanted.value):
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
