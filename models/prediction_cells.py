"""Groups by quarter as a table to predict from: what they were exposed to, and how many had discomfort."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import logit

HISTORY = ("share_now", "share_before")
"""Columns without exposure: log-odds of discomfort of this quarter and of all so far, drawn to the mean."""

PSEUDO_ANSWERS = 12.0
"""Answers of an average group added to each share, so that small groups do not speak louder than they can."""


@dataclass(frozen=True)
class GroupCells:
    """One row a group and quarter; all arrays of shape (cells,).

    Attributes
    ----------
    group : numpy.ndarray of int
        Group of each cell.
    quarter : numpy.ndarray of int
        Running number of the quarter.
    cases, n : numpy.ndarray of float
        Answers with discomfort, and all answers.
    exposure : Mapping of str to numpy.ndarray
        Means over the group's people; missing values allowed.
    """

    group: np.ndarray
    quarter: np.ndarray
    cases: np.ndarray
    n: np.ndarray
    exposure: Mapping[str, np.ndarray]


@dataclass(frozen=True)
class Ahead:
    """Cells joined with the quarter after them; all arrays of shape (pairs,) in front.

    Attributes
    ----------
    x : numpy.ndarray, shape (pairs, features)
        Features, missing values as nan.
    names : tuple of str
        Name of each feature; those of `HISTORY` first.
    group, quarter : numpy.ndarray of int
        Group, and quarter from which is predicted.
    last : numpy.ndarray
        Share of this quarter, as it was: the baseline.
    cases, n : numpy.ndarray of float
        Of the quarter after.
    """

    x: np.ndarray
    names: tuple[str, ...]
    group: np.ndarray
    quarter: np.ndarray
    last: np.ndarray
    cases: np.ndarray
    n: np.ndarray

    @property
    def share(self) -> np.ndarray:
        """Share of the quarter after."""
        return self.cases / self.n


def one_ahead(cells: GroupCells) -> Ahead:
    """Join each cell with the same group's next quarter.

    Parameters
    ----------
    cells : GroupCells
        Cells, at most one a group and quarter; those without answers are left out.

    Returns
    -------
    Ahead
        Pairs, in order of quarter and group. What is known of a pair ends with its quarter: the mean that
        shares are drawn towards is that of all groups up to then.
    """
    used = np.flatnonzero(cells.n > 0)
    used = used[np.lexsort((cells.group[used], cells.quarter[used]))]
    place = {(int(cells.group[k]), int(cells.quarter[k])): int(k) for k in used}
    rows, targets, history = [], [], []
    for k in used:
        after = place.get((int(cells.group[k]), int(cells.quarter[k]) + 1))
        if after is None:
            continue
        past = used[cells.quarter[used] <= cells.quarter[k]]
        own = past[cells.group[past] == cells.group[k]]
        mean = cells.cases[past].sum() / cells.n[past].sum()
        history.append([_drawn(cells, np.array([k]), mean), _drawn(cells, own, mean)])
        rows.append(k)
        targets.append(after)
    at, then = np.array(rows, dtype=np.int64), np.array(targets, dtype=np.int64)
    known = [np.asarray(values, dtype=float)[at] for values in cells.exposure.values()]
    return Ahead(
        np.column_stack([np.array(history, dtype=float).reshape(len(at), 2), *known]),
        (*HISTORY, *cells.exposure),
        cells.group[at], cells.quarter[at], cells.cases[at] / cells.n[at], cells.cases[then], cells.n[then],
    )  # fmt: skip


def _drawn(cells: GroupCells, which: np.ndarray, mean: float) -> float:
    cases, n = cells.cases[which].sum(), cells.n[which].sum()
    share = (cases + PSEUDO_ANSWERS * mean) / (n + PSEUDO_ANSWERS)
    return float(logit(np.clip(share, 0.005, 0.995)))
