"""Spells of work without a rest, and how well a day keeps to micro-breaks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import LONG_SPELL, SPELL
from models.sourced import Status


@dataclass(frozen=True)
class MicroBreakRule:
    """A rest of 3-5 min every 20-30 min.

    Attributes
    ----------
    least_rest, micro_up_to : float
        Shortest gap that counts as a rest, and longest that counts as a micro-break, min.
    early, late : float
        A rest is due between these times since the last one, min.
    source : str
        What the rule rests on.
    status : Status
        How sure the rule is.
    """

    least_rest: float = 3.0
    micro_up_to: float = 5.0
    early: float = 20.0
    late: float = 30.0
    source: str = "university safety guides for laboratory work; no trial supports the times"
    status: Status = "common practice, no source"


MICRO_BREAKS = MicroBreakRule()


@dataclass(frozen=True)
class Spells:
    """Runs of work without a rest.

    Attributes
    ----------
    elapsed : ndarray, shape (n,)
        First start to last end of each spell, min.
    working : ndarray, shape (n,)
        Working time in each spell, min.
    """

    elapsed: NDArray[np.float64]
    working: NDArray[np.float64]


@dataclass(frozen=True)
class MicroBreakAdherence:
    """How well a day's work was broken up.

    Attributes
    ----------
    share_within_early, share_within_late : float
        Share of working time that comes at most 20 (30) min after the last rest; NaN without work.
    missed : int
        Rests that fell due at the late mark and were not taken.
    micro_rests, long_rests : int
        Rests of 3-5 min and longer ones, between bouts.
    spells_over_guide, spells_over_an_hour : int
        Spells longer than 20 min (common practice, no source) and than 60 min (David & Buckle 1997).
    """

    share_within_early: float
    share_within_late: float
    missed: int
    micro_rests: int
    long_rests: int
    spells_over_guide: int
    spells_over_an_hour: int


def spells(starts: ArrayLike, ends: ArrayLike, *, rule: MicroBreakRule = MICRO_BREAKS) -> Spells:
    """Return the spells of one person's bouts: work without a gap of at least the shortest rest.

    A spell is measured whole, shorter gaps included. Hold it against 20 min (common practice, no source) or
    60 min: David & Buckle 1997, Appl Ergon 28(4):257-262, doi:10.1016/s0003-6870(97)00002-1 (published, a
    mark, not a safe limit). Status: own construct.

    Parameters
    ----------
    starts, ends : array_like, shape (n,)
        Bouts in minutes from any origin, in order and not overlapping.
    rule : MicroBreakRule
        Holds the shortest rest.

    Returns
    -------
    Spells
        One entry a spell, in order; empty without bouts.

    Raises
    ------
    ValueError
        If a time is missing, a bout does not last, or bouts overlap or are out of order.
    """
    start, end = _bouts(starts, ends)
    if not start.size:
        return Spells(np.empty(0), np.empty(0))
    first = _first_of_spell(start, end, rule)
    last = np.append(first[1:] - 1, start.size - 1)
    return Spells(end[last] - start[first], np.add.reduceat(end - start, first))


def micro_break_adherence(
    starts: ArrayLike, ends: ArrayLike, *, rule: MicroBreakRule = MICRO_BREAKS
) -> MicroBreakAdherence:
    """Return how well one person's day keeps to rests of 3-5 min every 20-30 min.

    Shares are of time, so many short bouts with early rests cannot pay for one long spell. Report adherence
    and change of discomfort, never that breaks prevent disorders: trials show little or no clear effect
    (Luger et al. 2019, Cochrane CD012886, doi:10.1002/14651858.CD012886.pub2; conclusion from memory).
    Status: rule common practice, no source; measure own construct.

    Parameters
    ----------
    starts, ends : array_like, shape (n,)
        One person's bouts of one day in minutes, in order and not overlapping.
    rule : MicroBreakRule
        The rule.

    Returns
    -------
    MicroBreakAdherence
        Shares are NaN without work.

    Raises
    ------
    ValueError
        If a time is missing, a bout does not last, or bouts overlap or are out of order.
    """
    start, end = _bouts(starts, ends)
    found = spells(start, end, rule=rule)
    gaps = start[1:] - end[:-1]
    micro = (gaps >= rule.least_rest) & (gaps <= rule.micro_up_to)
    return MicroBreakAdherence(
        share_within_early=_share_within(start, end, rule, rule.early),
        share_within_late=_share_within(start, end, rule, rule.late),
        missed=int(np.maximum(np.ceil(found.elapsed / rule.late) - 1, 0).sum()),
        micro_rests=int(micro.sum()),
        long_rests=int((gaps > rule.micro_up_to).sum()),
        spells_over_guide=int((found.elapsed > SPELL.value).sum()),
        spells_over_an_hour=int((found.elapsed > LONG_SPELL.value).sum()),
    )


def _bouts(starts: ArrayLike, ends: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    start, end = np.atleast_1d(np.asarray(starts, float)), np.atleast_1d(np.asarray(ends, float))
    if start.ndim != 1 or start.shape != end.shape:
        raise ValueError(f"starts {start.shape} and ends {end.shape} differ. Give one end for each start.")
    for wrong, what in (
        (~(np.isfinite(start) & np.isfinite(end)), "has no start or no end. Leave it out"),
        (end <= start, "does not last. Give its end after its start"),
        (np.append(False, start[1:] < end[:-1]), "starts before the one before it ends. Sort and clip first"),
    ):
        if wrong.any():
            raise ValueError(f"bout {int(np.argmax(wrong))} {what}.")
    return start, end


def _first_of_spell(start: NDArray, end: NDArray, rule: MicroBreakRule) -> NDArray[np.intp]:
    return np.flatnonzero(np.append(True, start[1:] - end[:-1] >= rule.least_rest))


def _share_within(start: NDArray, end: NDArray, rule: MicroBreakRule, minutes: float) -> float:
    if not start.size:
        return float("nan")
    first = _first_of_spell(start, end, rule)
    limit = np.repeat(start[first] + minutes, np.diff(np.append(first, start.size)))
    within = np.clip(limit - start, 0.0, end - start)
    return float(within.sum() / (end - start).sum())
