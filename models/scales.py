"""Rating scales as data: who they are, and when one may follow another."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import rankdata

LEAST_BOTH = 50
"""People who answered on both scales below which no bridge is built. Own convention."""


@dataclass(frozen=True)
class Scale:
    """A rating scale.

    Attributes
    ----------
    code : str
        Its identity.
    words : str
        What people call it.
    low, high : float
        Ends.
    worst : float
        The end that means worst.
    anchors : tuple of str
        Words at the ends, or along the scale.
    source : str
        Where it comes from.
    step : float
        What two neighbouring marks differ by: 1 or 0.5.
    """

    code: str
    words: str
    low: float
    high: float
    worst: float
    anchors: tuple[str, ...]
    source: str
    step: float = 1.0


SCALES = {
    "NRS_0_10": Scale(
        "NRS_0_10", "the 0 to 10 rating", 0, 10, 10, ("0 no discomfort", "10 worst imaginable"),
        "common practice, no source",
    ),
    "CR10": Scale(
        "CR10", "the category-ratio scale", 0, 10, 10,
        ("0 nothing", "0.5 extremely weak", "1 very weak", "2 weak", "3 moderate", "5 strong",
         "7 very strong", "10 extremely strong"),
        "Borg 1982, Med Sci Sports Exerc 14:377; Borg 1998, Perceived exertion and pain scales; anchors "
        "quoted, from memory",
        step=0.5,
    ),
}  # fmt: skip
"""Known scales. A 0-10 body-part rating is no CR10 unless its anchors match."""


@dataclass(frozen=True)
class Bridge:
    """How ratings of one scale read on another.

    Attributes
    ----------
    old, new : str
        Scale codes.
    at : tuple of float
        Marks on the old scale.
    reads : tuple of float
        The same places on the new scale.
    people : int
        People who answered on both.
    """

    old: str
    new: str
    at: tuple[float, ...]
    reads: tuple[float, ...]
    people: int


def build_bridge(old: str, new: str, on_old: npt.ArrayLike, on_new: npt.ArrayLike) -> Bridge:
    """Link two scales by people who answered on both in the same month.

    Equipercentile linking: equal shares of people below (Kolen and Brennan 2014, Test Equating, from
    memory). Without such people, a change of scale starts a new series.

    Parameters
    ----------
    old, new : str
        Scale codes.
    on_old, on_new : array_like, shape (people,)
        Ratings of the same people.

    Returns
    -------
    Bridge
        The link.

    Raises
    ------
    ValueError
        If fewer than 50 people answered on both, or the ratings do not go together (rank correlation below
        0.7).
    """
    first, second = np.asarray(on_old, dtype=float), np.asarray(on_new, dtype=float)
    if first.shape != second.shape or len(first) < LEAST_BOTH:
        raise ValueError(
            f"{len(first)} people answered on both {old} and {new}; a bridge needs {LEAST_BOTH}. "
            "Start a new series from the change on, or ask both for one month."
        )
    if rank_correlation(first, second) < 0.7:
        raise ValueError(
            f"ratings on {old} and {new} do not go together; start a new series from the change on"
        )
    at = np.unique(first)
    below = np.array([((first < mark).mean() + (first <= mark).mean()) / 2 for mark in at])
    return Bridge(old, new, tuple(map(float, at)), tuple(map(float, np.quantile(second, below))), len(first))


def cross(bridge: Bridge, ratings: npt.ArrayLike) -> np.ndarray:
    """Return ratings of the old scale as they read on the new one.

    Parameters
    ----------
    bridge : Bridge
        The link.
    ratings : array_like
        Ratings on the old scale.

    Returns
    -------
    numpy.ndarray
        Same shape; between marks by straight lines.
    """
    return np.interp(np.asarray(ratings, dtype=float), bridge.at, bridge.reads)


def rank_correlation(one: npt.ArrayLike, other: npt.ArrayLike) -> float:
    """Return Spearman's rank correlation, 0 where one side does not vary.

    Parameters
    ----------
    one, other : array_like, shape (n,)
        Values.

    Returns
    -------
    float
        From -1 to 1.
    """
    a, b = rankdata(one), rankdata(other)
    a, b = a - a.mean(), b - b.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0 else 0.0
