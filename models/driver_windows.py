"""Time in driver data: exposure of earlier months, new discomfort among those free of it, calendar terms."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.driver_data import DriverData
from models.driver_records import Refusal, Refused
from models.incidence import LONGEST_GAP

_SEASON_FROM = 24


@dataclass(frozen=True)
class ExposureHistory:
    """Exposure of every month worked, answered or not; arrays of shape (person-months,).

    Attributes
    ----------
    person, month : numpy.ndarray of int
        Codes as in the answers.
    hours, force : numpy.ndarray of float
        As in `DriverData`.
    """

    person: np.ndarray
    month: np.ndarray
    hours: np.ndarray
    force: np.ndarray

    @classmethod
    def of(cls, data: DriverData) -> "ExposureHistory":
        """Return the history of the answered months alone.

        Parameters
        ----------
        data : DriverData
            Answers.

        Returns
        -------
        ExposureHistory
            Their exposure.
        """
        return cls(data.person, data.month, data.hours, data.force)


def lag_windows(
    data: DriverData, exposure: str, lags: int, history: ExposureHistory | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Return each answer's exposure of the same and of earlier months, complete windows only.

    Parameters
    ----------
    data : DriverData
        Answers.
    exposure : str
        ``hours`` or ``force``.
    lags : int
        Months back, 0 or more.
    history : ExposureHistory, optional
        Exposure of all months; by default that of answered months, which costs many windows.

    Returns
    -------
    kept : numpy.ndarray of int
        Places of the answers with a complete window.
    window : numpy.ndarray, shape (kept, lags + 1)
        Exposure; column k is k months back.

    Raises
    ------
    Refused
        If no window is complete, or the history has a person and month twice.
    """
    past = history or ExposureHistory.of(data)
    who, when = np.asarray(past.person, np.int64), np.asarray(past.month, np.int64)
    what = np.asarray(getattr(past, exposure), float)
    known = np.isfinite(what)
    who, when, what = who[known], when[known], what[known]
    first = min(int(data.month.min(initial=0)) - lags, int(when.min(initial=0)))
    width = max(int(data.month.max(initial=0)), int(when.max(initial=0))) - first + 1
    key = who * width + when - first
    order = np.argsort(key)
    key, what = key[order], what[order]
    if (key[1:] == key[:-1]).any():
        why = "the exposure history has a person and month twice"
        raise Refused(Refusal("The lag picture", why, "Keep one exposure a person and month"))
    wanted = (data.person * width + data.month - first)[:, None] - np.arange(lags + 1)
    place = np.minimum(np.searchsorted(key, wanted), max(len(key) - 1, 0))
    there = key[place] == wanted if len(key) else np.zeros(wanted.shape, bool)
    kept = np.flatnonzero(there.all(1))
    if not len(kept):
        why = f"no answer has exposure known for the month and the {lags} before it"
        raise Refused(Refusal("The lag picture", why, f"Load {lags + 1} months of work in a row"))
    return kept, what[place[kept]]


def next_onset(data: DriverData, *, longest_gap: int = LONGEST_GAP) -> DriverData:
    """Return answers of people free of discomfort at the previous answered survey.

    The outcome is discomfort now; exposure, team and covariates are those of the previous answer, so that
    discomfort cannot have lowered them. Gaps of more than `longest_gap` months are left out, as in
    `models.incidence.onsets`.

    Parameters
    ----------
    data : DriverData
        All answers.
    longest_gap : int
        Longest gap between two answers, in months.

    Returns
    -------
    DriverData
        One row a person and answer at risk, in the order of person and month; ``month`` is that of the
        outcome, covariate ``gap`` the months in between as a float.

    Raises
    ------
    Refused
        If nobody was at risk.
    """
    order = np.lexsort((data.month, data.person))
    before, now = order[:-1], order[1:]
    gap = data.month[now] - data.month[before]
    risk = (data.person[now] == data.person[before]) & (data.case[before] == 0) & (gap <= longest_gap)
    before, now, gap = before[risk], now[risk], gap[risk]
    if not len(now):
        why = "nobody answered twice in a row with no discomfort the first time"
        raise Refused(Refusal("New onset", why, "Repeat the survey with the same people"))
    at = data.where(before)
    extra = {**at.covariates, "gap": gap.astype(float)}
    return DriverData(at.person, at.team, data.month[now], at.hours, at.force, data.case[now], extra)


def calendar_terms(month: npt.ArrayLike) -> np.ndarray:
    """Return terms for the calendar: a straight trend, and a yearly wave from two years on.

    Parameters
    ----------
    month : array_like of int, shape (answers,)
        Running month.

    Returns
    -------
    numpy.ndarray, shape (answers, 0, 1 or 3)
        Trend per year from the middle, sine and cosine; nothing where all answers are of one month.
    """
    when = np.asarray(month, float)
    span = np.ptp(when) if len(when) else 0.0
    if span == 0:
        return np.empty((len(when), 0))
    trend = ((when - when.mean()) / 12)[:, None]
    if span < _SEASON_FROM - 1:
        return trend
    turn = 2 * np.pi * when[:, None] / 12
    return np.hstack([trend, np.sin(turn), np.cos(turn)])


def patterns(*columns: npt.ArrayLike) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Group rows that are equal in all columns.

    Parameters
    ----------
    *columns : array_like, shape (rows,) or (rows, k)
        What has to be equal.

    Returns
    -------
    first : numpy.ndarray of int, shape (patterns,)
        A row of each pattern.
    code : numpy.ndarray of int, shape (rows,)
        Pattern of each row.
    count : numpy.ndarray of int, shape (patterns,)
        Rows of each pattern.
    """
    table = np.column_stack([np.asarray(column, float) for column in columns])
    order = np.lexsort(table.T[::-1])
    ordered = table[order]
    new = np.r_[True, (ordered[1:] != ordered[:-1]).any(1)] if len(table) else np.zeros(0, bool)
    code = np.empty(len(table), np.int64)
    code[order] = np.cumsum(new) - 1
    return order[new], code, np.bincount(code, minlength=int(new.sum()))
