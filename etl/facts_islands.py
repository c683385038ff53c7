"""Islands of work around what files touched: what an update reckons anew, and which spells it moves."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Stretches:
    """Stretches of work, old ones that stand in the facts and touched ones.

    Attributes
    ----------
    no : array of int
        Number of the person, from 0.
    from_us, to_us : array of int
        Beginning and end, microseconds UTC.
    spell : array of int
        Number of an old spell; 0 for an old bout that was left out or shortened, -1 for a touched stretch.
    """

    no: Whole
    from_us: Whole
    to_us: Whole
    spell: Whole


@dataclass(frozen=True)
class Islands:
    """Islands that hold a touched stretch, by person and time.

    Attributes
    ----------
    no : array of int
        Number of the person.
    from_us, to_us : array of int
        Beginning and end, microseconds UTC.
    before : array of int
        Number of the last old spell before the island, 0 if there is none.
    gone : array of int
        Old spells in the island.
    rest_before_us, rest_after_us : array of int
        Time to the old spells before and after; the largest integer where there is none.
    met, left_out : bool
        Whether any island holds old work, and old bouts that were left out or shortened.
    """

    no: Whole
    from_us: Whole
    to_us: Whole
    before: Whole
    gone: Whole
    rest_before_us: Whole
    rest_after_us: Whole
    met: bool
    left_out: bool


@dataclass(frozen=True)
class Moves:
    """Old spells that get other numbers: of a person, those after one number up to another, by a shift.

    Attributes
    ----------
    no, after, upto, shift : array of int
        Number of the person; numbers of old spells; what their numbers grow by.
    """

    no: Whole
    after: Whole
    upto: Whole
    shift: Whole


NEVER = np.iinfo(np.int64).max


def find_islands(work: Stretches, rest_us: int) -> Islands:
    """Join stretches that lie less than a rest apart, and keep what holds a touched one.

    Nothing within one island bears on another: no overlap, no spell, no share of a slice; only the rest
    between them and the numbers of later spells.

    Parameters
    ----------
    work : Stretches
        Old and touched stretches in any order.
    rest_us : int
        Shortest rest, in microseconds.

    Returns
    -------
    Islands
        Islands with a touched stretch.
    """
    order = np.lexsort((work.from_us, work.no))
    no, from_us, to_us, spell = (x[order] for x in (work.no, work.from_us, work.to_us, work.spell))
    rows = np.arange(no.size)
    reached_us = _furthest_so_far(no, to_us)
    opens = np.ones(no.size, dtype=bool)
    opens[1:] = (no[1:] != no[:-1]) | (from_us[1:] - reached_us[:-1] >= rest_us)
    first = np.flatnonzero(opens)
    last = np.append(first[1:], no.size) - 1
    held = np.logical_or.reduceat(spell < 0, first)
    inside = held[np.cumsum(opens) - 1]
    old = spell > 0
    # The old spells next to each row, by row number; a row of another person is none.
    earlier = np.maximum.accumulate(np.where(old, rows, -1))
    later = np.minimum.accumulate(np.where(old, rows, no.size)[::-1])[::-1]
    before = np.where(first > 0, earlier[first - 1], -1)[held]
    after = np.append(later, no.size)[last + 1][held]
    first, last = first[held], last[held]
    has_before = (before >= 0) & (no[before] == no[first])
    has_after = (after < no.size) & (no[np.minimum(after, no.size - 1)] == no[first])
    counted = np.append(0, np.cumsum(old))
    return Islands(
        no=no[first],
        from_us=from_us[first],
        to_us=reached_us[last],
        before=np.where(has_before, spell[before], 0),
        gone=counted[last + 1] - counted[first],
        rest_before_us=np.where(has_before, from_us[first] - to_us[before], NEVER),
        rest_after_us=np.where(
            has_after, from_us[np.minimum(after, no.size - 1)] - reached_us[last], NEVER
        ),
        met=bool((inside & (spell >= 0)).any()),
        left_out=bool((inside & (spell == 0)).any()),
    )  # fmt: skip


def staying(islands: Islands) -> Whole:
    """Count the old spells before each island that stay: where the numbers of its new spells count on from.

    Parameters
    ----------
    islands : Islands
        Islands in order.

    Returns
    -------
    array of int
        One number an island.
    """
    return islands.before - _within_person(islands.no, islands.gone) + islands.gone


def moves(islands: Islands, new: Whole) -> Moves:
    """Tell which old spells move, given how many new ones each island has.

    Parameters
    ----------
    islands : Islands
        Islands in order.
    new : array of int
        New spells of each island.

    Returns
    -------
    Moves
        One row an island whose followers move.
    """
    shift = _within_person(islands.no, new - islands.gone)
    same = np.append(islands.no[1:] == islands.no[:-1], False)
    upto = np.where(same, np.append(islands.before[1:], 0), NEVER)
    after = islands.before + islands.gone
    moving = (shift != 0) & (upto > after) & (islands.rest_after_us < NEVER)
    return Moves(*(x[moving] for x in (islands.no, after, upto, shift)))


def _furthest_so_far(no: Whole, to_us: Whole) -> Whole:
    """Return the latest end up to each row of a person; by ranks, so that persons stay apart."""
    in_order = np.argsort(to_us, kind="stable")
    rank = np.empty_like(in_order)
    rank[in_order] = np.arange(no.size)
    above = no * no.size
    return to_us[in_order[np.maximum.accumulate(rank + above) - above]]


def _within_person(no: Whole, values: Whole) -> Whole:
    """Running sum that begins anew with each person."""
    total = np.cumsum(values)
    opens = np.flatnonzero(np.append(True, no[1:] != no[:-1]))
    before = np.append(0, total)[opens]
    return total - np.repeat(before, np.diff(np.append(opens, no.size)))
