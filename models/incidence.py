"""New discomfort among those free of it: onset, person-time at risk, and its rate."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.counts import TOO_FEW, count_limits

LONGEST_GAP = 3
"""Months between two answers over which nothing is said about what came and went in between."""

LEAST_MONTHS = 60.0
"""Person-months at risk below which no rate is given. Own convention."""


@dataclass(frozen=True)
class Onsets:
    """Onsets and time at risk of one region.

    Attributes
    ----------
    person : numpy.ndarray of int
        Code of each person with any time at risk.
    events : numpy.ndarray of int
        Onsets of each.
    months : numpy.ndarray
        Person-months at risk of each.
    """

    person: np.ndarray
    events: np.ndarray
    months: np.ndarray


@dataclass(frozen=True)
class Incidence:
    """Rate of new discomfort per 100 person-months at risk.

    Attributes
    ----------
    rate, low, high : float or None
        Rate and interval; None where `reason` says why.
    events : int
        Onsets.
    months : float
        Person-months at risk.
    people : int
        People at risk at any time.
    dispersion : float
        Spread of onsets between people over Poisson's, at least 1; the interval is widened by it.
    reason : str or None
        ``too few answers`` where no rate is given.
    """

    rate: float | None
    low: float | None
    high: float | None
    events: int
    months: float
    people: int
    dispersion: float
    reason: str | None = None


def onsets(
    person: npt.ArrayLike,
    month: npt.ArrayLike,
    case: npt.ArrayLike,
    *,
    longest_gap: int = LONGEST_GAP,
    first_only: bool = False,
) -> Onsets:
    """Return who was at risk for how long, and who became a case.

    At risk is whoever was free of discomfort at the *previous answered* survey, until the next answer. An
    onset is discomfort then. Its time at risk is half the gap, as nobody knows when in the gap it began;
    without onset the whole gap. A gap of more than `longest_gap` months counts neither time nor onset.
    Discomfort that comes back after an answer without it is a new onset. Conventions of our own.

    Parameters
    ----------
    person : array_like of int, shape (answers,)
        Code of the person.
    month : array_like of int, shape (answers,)
        Month as a running number.
    case : array_like of bool, shape (answers,)
        Discomfort.
    longest_gap : int
        Longest gap counted, in months.
    first_only : bool
        Count each person's first onset only, and no time after it.

    Returns
    -------
    Onsets
        One element a person with time at risk.

    Raises
    ------
    ValueError
        If a person answered twice in a month.
    """
    who, when, hit = np.asarray(person, int), np.asarray(month, int), np.asarray(case, bool)
    order = np.lexsort((when, who))
    who, when, hit = who[order], when[order], hit[order]
    same, gap = who[1:] == who[:-1], np.diff(when)
    if (same & (gap == 0)).any():
        raise ValueError("a person has two answers in one month: keep one before counting onsets")
    risk = same & ~hit[:-1] & (gap <= longest_gap)
    onset = risk & hit[1:]
    if first_only:
        before = np.cumsum(onset) - onset
        begin = np.maximum.accumulate(np.where(same, 0, np.arange(len(same)) + 1))
        # Onsets of the same person before this gap: those so far less those before the person's first gap.
        risk &= before == np.where(begin > 0, np.concatenate([[0], np.cumsum(onset)])[begin], 0)
        onset &= risk
    people, code = np.unique(who[1:][risk], return_inverse=True)
    months = np.bincount(code, weights=np.where(onset, gap / 2, gap)[risk], minlength=len(people))
    return Onsets(people, np.bincount(code, weights=onset[risk], minlength=len(people)).astype(int), months)


def incidence(found: Onsets, *, least_months: float = LEAST_MONTHS, level: float = 0.95) -> Incidence:
    """Return the rate of onset with its interval.

    Exact limits below ten onsets, Byar's above, on the count divided by the dispersion between people
    ``max(1, m/(m-1) sum (d - r t)**2 / sum d)`` and scaled back: the variance of a ratio over people
    against Poisson's.

    Parameters
    ----------
    found : Onsets
        Onsets and time at risk.
    least_months : float
        Person-months below which no rate is given.
    level : float
        Confidence level.

    Returns
    -------
    Incidence
        Per 100 person-months.
    """
    events, months, people = int(found.events.sum()), float(found.months.sum()), len(found.person)
    if people < 2 or months < least_months:
        return Incidence(None, None, None, events, months, people, 1.0, TOO_FEW)
    rate = events / months
    # Weighted by the time at risk: somebody seen for one month says little about spread.
    spread = float(((found.events - rate * found.months) ** 2).sum() / max(events, 1))
    dispersion = max(1.0, spread * people / (people - 1)) if events else 1.0
    if dispersion == 1.0:
        low, high = count_limits(events, level)
    else:
        small = max(1, round(events / dispersion))
        low, high = (limit * events / small for limit in count_limits(small, level))
    per = 100 / months
    return Incidence(events * per, low * per, high * per, events, months, people, dispersion)
