"""Exact re-check of the auditor's worlds in whole numbers.

Deliberately shares no code with the solver: it rounds forwards (from a world's counts to the numbers that
could have been published) where the solver works backwards with intervals. A mistake in one does not
excuse itself in the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from models.audit_periods import months_of
from models.audit_records import STABLE, HiddenGroup, Key, PublishedCell, Witness, World


def published_for(count: int, n: int, base: int, threshold: int) -> int:
    """Number the rounding rule publishes for a count.

    Parameters
    ----------
    count : int
        True count, 0 <= count <= n.
    n : int
        Contributors.
    base : int
        Rounding base b.
    threshold : int
        Whole-number class of the secret draw u: u lies in [threshold/b, (threshold+1)/b).

    Returns
    -------
    int
        b * floor(count/b), plus b when u < (count mod b)/b, that is when count mod b > threshold, unless that
        would exceed n.
    """
    below, remainder = count - count % base, count % base
    return below + base if remainder > threshold and below + base <= n else below


def world_reproduces(
    world: World,
    cells: Sequence[PublishedCell],
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
    *,
    shared_draw: bool,
) -> bool:
    """Tell whether a world reproduces every published number.

    Parameters
    ----------
    world : World
        Values by (token, month), or by (token, `STABLE`).
    cells : sequence of PublishedCell
        Published counts of one region.
    answered : mapping of str to tuple of str
        Months each person answered.
    known : mapping of (str, str) to int
        Answers told by colluders, by (token, month); they are not in the world.
    shared_draw : bool
        Require one draw per contributor set instead of any draw per cell.

    Returns
    -------
    bool
        True when some draw of every contributor set yields all its published numbers.
    """
    value = dict(zip(world.keys, world.values, strict=True))
    if any(v not in (0, 1) for v in value.values()):
        return False
    draws: dict[object, set[int]] = {}
    for number, cell in enumerate(cells):
        count = 0
        for token in cell.contributors:
            count += _answer(token, cell, value, answered, known)
        group: object = cell.draw if shared_draw else number
        possible = {k for k in range(cell.base) if published_for(count, cell.n, cell.base, k) == cell.value}
        draws[group] = draws.get(group, possible) & possible
        if not draws[group]:
            return False
    return True


def witnesses_holding(
    witnesses: Sequence[Witness],
    worlds: Sequence[World],
    sound: Sequence[bool],
    answered: Mapping[str, tuple[str, ...]],
) -> list[bool]:
    """Tell which witnesses really show an open value.

    Parameters
    ----------
    witnesses : sequence of Witness
        Values and the positions of their two worlds.
    worlds : sequence of World
        The list the positions point into; all have the same keys.
    sound : sequence of bool
        Whether each world reproduces the published numbers.
    answered : mapping of str to tuple of str
        Months each person answered.

    Returns
    -------
    list of bool
        True where the value is 0 in the first world and 1 in the second, and both worlds are sound.
    """
    if any(world.keys != worlds[0].keys for world in worlds):
        return [False] * len(witnesses)
    position = {key: i for i, key in enumerate(worlds[0].keys)} if worlds else {}
    holding = []
    for witness in witnesses:
        months = months_of(witness.period) if witness.period != STABLE else (STABLE,)
        places = [position[witness.token, m] for m in months if (witness.token, m) in position]
        if len(months) == 1 and months != (STABLE,) and not set(months) <= set(answered[witness.token]):
            places = []
        seen = [max((worlds[w].values[i] for i in places), default=-1) for w in (witness.zero, witness.one)]
        holding.append(seen == [0, 1] and sound[witness.zero] and sound[witness.one])
    return holding


def hidden_count(
    world: World, group: HiddenGroup, answered: Mapping[str, tuple[str, ...]], known: Mapping[Key, int]
) -> int:
    """Count of a withheld group in a world.

    Parameters
    ----------
    world : World
        The world; must have a value for everybody in the group.
    group : HiddenGroup
        Who and when.
    answered : mapping of str to tuple of str
        Months each person answered.
    known : mapping of (str, str) to int
        What colluders told.

    Returns
    -------
    int
        People with a yes.
    """
    value = dict(zip(world.keys, world.values, strict=True))
    cell = PublishedCell(group.period, group.unit, group.region, group.contributors, 0, 1)
    return sum(_answer(token, cell, value, answered, known) for token in group.contributors)


def _answer(
    token: str,
    cell: PublishedCell,
    value: Mapping[Key, int],
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
) -> int:
    for month in answered[token]:
        if month in cell.months:
            if (token, month) in known:
                said = known[token, month]
            elif (token, STABLE) in value:
                said = value[token, STABLE]
            else:
                said = value[token, month]
            if said:
                return 1
    return 0
