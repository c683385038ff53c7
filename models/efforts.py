"""Exertions of the thumb in logged work: how many, how long and how hard, from measured instruments."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.sourced import measured

KINDS = ("plunger", "blow-out", "ejection")
_FASTEST_PER_SECOND = 10.0
_DAY_SECONDS = 86_400.0


@dataclass(frozen=True)
class Work:
    """Bouts of work on days of persons; all arrays of shape (bouts,).

    Attributes
    ----------
    day : ndarray of int
        Number of the person-day, 0 to `days` - 1.
    days : int
        How many person-days there are.
    seconds : ndarray
        Length of the bout on that day, not negative.
    strokes : ndarray
        Stroke cycles; each presses twice, to the first stop and through to the second.
    tips : ndarray
        Tips ejected; NaN where unknown.
    plunger_n, blow_out_n, ejection_n : ndarray
        Measured forces of the instrument, N; NaN where not measured.
    press_s, eject_s : ndarray
        Measured durations of a press and an ejection, s; NaN where not measured.
    """

    day: NDArray[np.int64]
    days: int
    seconds: NDArray[np.float64]
    strokes: NDArray[np.float64]
    tips: NDArray[np.float64]
    plunger_n: NDArray[np.float64]
    blow_out_n: NDArray[np.float64]
    ejection_n: NDArray[np.float64]
    press_s: NDArray[np.float64]
    eject_s: NDArray[np.float64]


@dataclass(frozen=True)
class Efforts:
    """Exertions of bouts by kind (`KINDS` along the second axis).

    Attributes
    ----------
    count : ndarray, shape (bouts, 3)
        Exertions; 0 where nothing is pressed or the press needs no force.
    seconds : ndarray, shape (bouts, 3)
        Duration of one exertion, s.
    percent : ndarray, shape (bouts, 3)
        Force, percent of maximum strength; over 100 where it is beyond that strength.
    known : ndarray of bool, shape (bouts,)
        False where a count, force or duration that is needed is missing, or the exertions do not fit into the
        time of the bout.
    too_many : ndarray of bool, shape (bouts,)
        True where the exertions do not fit into the time of the bout.
    """

    count: NDArray[np.float64]
    seconds: NDArray[np.float64]
    percent: NDArray[np.float64]
    known: NDArray[np.bool_]
    too_many: NDArray[np.bool_]

    @property
    def time(self) -> NDArray[np.float64]:
        """Time in each kind of exertion, s, shape (bouts, 3); 0 for bouts that are not known."""
        return np.where(self.known[:, None], self.count * self.seconds, 0.0)


def efforts_of(work: Work, strength_n: float) -> Efforts:
    """Return the exertions of bouts.

    Exertions: plunger presses (one a stroke), blow-out presses (one a stroke) and tip ejections. Mounting a
    tip is a push of the arm and setting the volume has no measured duration, so neither is here. Status: own
    construct.

    Parameters
    ----------
    work : Work
        Bouts with the measurements of their instruments.
    strength_n : float
        Maximum strength that forces are held against, N, above 0.

    Returns
    -------
    Efforts
        Unknown, never replaced, where a measurement is missing.

    Raises
    ------
    ValueError
        If a value is out of bounds.
    """
    bound = {"low": 0.0, "high": 1e9, "remedy": "Give values that are not negative."}
    strength = float(
        measured("strength (N)", strength_n, low=0.0, high=2000.0, low_allowed=False, remedy="Give newtons.")
    )
    count = np.column_stack([measured("strokes", work.strokes, **bound)] * 2 + [_counts(work.tips, bound)])
    force = np.column_stack([work.plunger_n, work.blow_out_n, work.ejection_n]).astype(np.float64)
    seconds = np.column_stack([work.press_s, work.press_s, work.eject_s]).astype(np.float64)
    measured("force (N)", force, **bound)
    measured("duration of an exertion (s)", seconds, **bound)
    # Nothing pressed needs no measurement; a press without force or length is no exertion.
    idle = (count == 0) | (force == 0) | (seconds == 0)
    missing = ~idle & (np.isnan(count) | np.isnan(force) | np.isnan(seconds))
    count, force, seconds = (np.where(idle, 0.0, x) for x in (count, force, seconds))
    long = np.asarray(measured("seconds of a bout", work.seconds, **bound))
    pressing = np.where(missing, 0.0, count * seconds).sum(axis=1)
    many = np.where(missing, 0.0, count).sum(axis=1)
    too_many = (long > 0) & ((pressing > long) | (many > _FASTEST_PER_SECOND * long))
    return Efforts(count, seconds, 100.0 * force / strength, ~missing.any(axis=1) & ~too_many, too_many)


def days_known(work: Work, efforts: Efforts) -> NDArray[np.bool_]:
    """Say which person-days are known throughout.

    Parameters
    ----------
    work : Work
        Bouts.
    efforts : Efforts
        Their exertions.

    Returns
    -------
    ndarray of bool, shape (days,)
        False where one bout is unknown, or the bouts of the day add up to more than 24 h.
    """
    unknown = sum_by_day(work, ~efforts.known)
    return (unknown == 0) & (sum_by_day(work, work.seconds) <= _DAY_SECONDS)


def sum_by_day(work: Work, values: ArrayLike) -> NDArray[np.float64]:
    """Add values of bouts up by person-day.

    Parameters
    ----------
    work : Work
        Bouts.
    values : array_like, shape (bouts,)
        What to add up.

    Returns
    -------
    ndarray, shape (days,)
        Sums.
    """
    summed = np.bincount(work.day, weights=np.asarray(values, dtype=np.float64), minlength=work.days)
    return summed.astype(np.float64, copy=False)


def _counts(tips: NDArray[np.float64], bound: dict) -> NDArray[np.float64]:
    return measured("tips", tips, **bound)
