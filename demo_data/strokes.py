"""Which single actions an instrument logged: one team's bouts of one month told as stroke events."""

from dataclasses import dataclass

import numpy as np

from demo_data.institute import Plan
from demo_data.work import Bouts

ACTIONS = ("TIP_MOUNT", "ASPIRATE", "DISPENSE", "EJECT")
# A fresh tip on every fourth cycle: mount, three further cycles, eject.
CYCLES_PER_TIP = 4


@dataclass(frozen=True)
class StrokeLog:
    """Events in order of person and time; ``at`` is in milliseconds of the local wall clock."""

    person: np.ndarray
    at: np.ndarray
    instrument: np.ndarray
    action: np.ndarray


def log_month(plan: Plan) -> int:
    """Return the number of the month for which the team logged strokes instead of bouts."""
    return plan.months // 3


def logged(plan: Plan, bouts: Bouts) -> np.ndarray:
    """Return which bouts the stroke log replaces.

    Parameters
    ----------
    plan : Plan
        The institute.
    bouts : Bouts
        All bouts.

    Returns
    -------
    numpy.ndarray of bool
        True for the bouts of the stroke-log team in its month.
    """
    return (bouts.team == plan.of_part("stroke_log")[0]) & (bouts.month == log_month(plan))


def tell_strokes(bouts: Bouts) -> StrokeLog:
    """Tell bouts as events spread evenly over each bout.

    A cycle is one aspiration and one dispense; every fourth cycle mounts a tip before and ejects it after.
    The first event falls on the bout's start, the last one just before its end.

    Parameters
    ----------
    bouts : Bouts
        The bouts to tell.

    Returns
    -------
    StrokeLog
        Events at distinct times.
    """
    row = np.repeat(np.arange(bouts.start.size), bouts.strokes)
    first = np.cumsum(bouts.strokes) - bouts.strokes
    cycle = np.arange(row.size) - first[row]
    fresh = cycle % CYCLES_PER_TIP == 0
    done = (cycle % CYCLES_PER_TIP == CYCLES_PER_TIP - 1) | (cycle == bouts.strokes[row] - 1)
    happens = np.stack([fresh, np.ones_like(fresh), np.ones_like(fresh), done], axis=1)
    which, action = np.nonzero(happens)
    owner = row[which]
    number = np.bincount(owner, minlength=bouts.start.size)
    place = np.arange(owner.size) - (np.cumsum(number) - number)[owner]
    span = (bouts.end - bouts.start)[owner] * 1000
    at = bouts.start[owner] * 1000 + span * place // number[owner]
    return StrokeLog(bouts.person[owner], at, bouts.instrument[owner], action)
