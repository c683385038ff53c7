"""Exact re-check of the auditor's worlds in whole numbers.

Deliberately shares no code with the solver: it rounds forwards (from a world's counts to the numbers that
could have been published) where the solver works backwards with intervals. A mistake in one does not
excuse itself in the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True)
class _Group:
    """Where the answers of a cell's contributors stand in a world."""

    told: int
    single: tuple[int, ...]
    several: tuple[tuple[int, ...], ...]

    def count(self, values: bytes) -> int:
        """Contributors with a yes in any month."""
        yes = self.told + sum([values[i] for i in self.single])
        return yes + sum([1 in [values[i] for i in places] for places in self.several])


def worlds_reproduce(
    worlds: Sequence[World],
    cells: Sequence[PublishedCell],
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
    *,
    shared_draw: bool,
    spans: Mapping[Key, str] | None = None,
) -> list[bool]:
    """Tell which worlds reproduce every published number.

    Parameters
    ----------
    worlds : sequence of World
        Values by (token, month), or by (token, `STABLE`); all with the same keys.
    cells : sequence of PublishedCell
        Published counts of one region.
    answered : mapping of str to tuple of str
        Months each person answered.
    known : mapping of (str, str) to int
        Answers told by colluders, by (token, month); they are not in the worlds.
    shared_draw : bool
        Require one draw per contributor set instead of any draw per cell.
    spans : mapping of (str, str) to str, optional
        (token, month) to the month under which a run of equal answers stands in the worlds.

    Returns
    -------
    list of bool
        True where some draw of every contributor set yields all its published numbers. False for a world
        with other values than 0 and 1, or with other keys than the first.
    """
    if not worlds:
        return []
    position = {key: i for i, key in enumerate(worlds[0].keys)}
    groups = [_group(c.contributors, c.months, position, answered, known, spans or {}) for c in cells]
    return [
        world.keys == worlds[0].keys and _reproduces(world.values, cells, groups, shared_draw)
        for world in worlds
    ]


def _reproduces(
    values: bytes, cells: Sequence[PublishedCell], groups: Sequence[_Group], shared_draw: bool
) -> bool:
    if any(v > 1 for v in values):
        return False
    draws: dict[object, set[int]] = {}
    for number, (cell, group) in enumerate(zip(cells, groups, strict=True)):
        count = group.count(values)
        identity: object = cell.draw if shared_draw else number
        possible = {k for k in range(cell.base) if published_for(count, cell.n, cell.base, k) == cell.value}
        draws[identity] = draws.get(identity, possible) & possible
        if not draws[identity]:
            return False
    return True


def _group(
    contributors: Sequence[str],
    covered: Sequence[str],
    position: Mapping[Key, int],
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
    spans: Mapping[Key, str],
) -> _Group:
    told, single, several = 0, [], []
    for token in contributors:
        months = [m for m in answered[token] if m in covered]
        open_months = [m for m in months if (token, m) not in known]
        if any(known[token, m] for m in months if (token, m) in known):
            told += 1
        elif (token, STABLE) in position and open_months:
            single.append(position[token, STABLE])
        elif open_months:
            # Months of one run share their place, and count once.
            places = {position[token, spans.get((token, m), m)] for m in open_months}
            several.append(tuple(sorted(places)))
    return _Group(told, tuple(single), tuple(several))


def witnesses_holding(
    witnesses: Sequence[Witness],
    worlds: Sequence[World],
    sound: Sequence[bool],
    answered: Mapping[str, tuple[str, ...]],
    spans: Mapping[Key, str] | None = None,
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
    spans : mapping of (str, str) to str, optional
        (token, month) to the month under which a run of equal answers stands in the worlds.

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
        names = {(spans or {}).get((witness.token, m), m) for m in months}
        places = [position[witness.token, m] for m in names if (witness.token, m) in position]
        if len(months) == 1 and months != (STABLE,) and not set(months) <= set(answered[witness.token]):
            places = []
        seen = [max((worlds[w].values[i] for i in places), default=-1) for w in (witness.zero, witness.one)]
        holding.append(seen == [0, 1] and sound[witness.zero] and sound[witness.one])
    return holding


def hidden_counts(
    worlds: Sequence[World],
    group: HiddenGroup,
    answered: Mapping[str, tuple[str, ...]],
    known: Mapping[Key, int],
    spans: Mapping[Key, str] | None = None,
) -> list[int]:
    """Count of a withheld group in each of some worlds.

    Parameters
    ----------
    worlds : sequence of World
        Worlds with the same keys, which have a value for everybody in the group.
    group : HiddenGroup
        Who and when.
    answered : mapping of str to tuple of str
        Months each person answered.
    known : mapping of (str, str) to int
        What colluders told.
    spans : mapping of (str, str) to str, optional
        (token, month) to the month under which a run of equal answers stands in the worlds.

    Returns
    -------
    list of int
        People with a yes.
    """
    position = {key: i for i, key in enumerate(worlds[0].keys)} if worlds else {}
    places = _group(group.contributors, months_of(group.period), position, answered, known, spans or {})
    return [places.count(world.values) for world in worlds]
