"""Static, median and peak load from the amplitude distribution, held against Jonsson's limits.

The amplitude distribution gives, for each load, the share of time spent at or below it; its 10th, 50th and
90th percentiles are the static, median and peak load.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import Standing
from models.sourced import Status, measured

Level = Literal["static", "median", "peak"]
LEVELS: tuple[Level, ...] = ("static", "median", "peak")


@dataclass(frozen=True)
class LoadLimits:
    """Limits of static, median and peak load.

    Attributes
    ----------
    probabilities : tuple of float
        Shares of time that define the three levels.
    should_not_exceed, must_not_exceed : tuple of float
        Limits of the three levels, %MVC.
    least_hours : float
        The limits hold for work longer than this, h.
    source : str
        Author, year, journal.
    status : Status
        How sure the limits are.
    probabilities_status : Status
        How sure the probabilities are.
    """

    probabilities: tuple[float, float, float] = (0.10, 0.50, 0.90)
    should_not_exceed: tuple[float, float, float] = (2.0, 10.0, 50.0)
    must_not_exceed: tuple[float, float, float] = (5.0, 14.0, 70.0)
    least_hours: float = 1.0
    source: str = "Jonsson 1982, J Hum Ergol 11:73-88 (journal from memory)"
    status: Status = "published (quoted)"
    probabilities_status: Status = "from memory"


JONSSON = LoadLimits()


@dataclass(frozen=True)
class LoadLevels:
    """Static, median and peak load.

    Attributes
    ----------
    static, median, peak : float
        %MVC; NaN where the loads are unknown.
    """

    static: float
    median: float
    peak: float


def levels_from_samples(
    percent_mvc: ArrayLike, seconds: ArrayLike | None = None, *, limits: LoadLimits = JONSSON
) -> LoadLevels:
    """Return the load levels of sampled loads.

    The smallest load at or below which at least the given share of time is spent. Jonsson 1982, J Hum Ergol
    11:73-88. Status: levels published (quoted), probabilities .10 and .90 from memory.

    Parameters
    ----------
    percent_mvc : array_like, shape (n,)
        Loads, %MVC, in [0, 200]; NaN where unknown.
    seconds : array_like, shape (n,), optional
        How long each load lasted; equally long by default.
    limits : LoadLimits
        Holds the probabilities of the three levels.

    Returns
    -------
    LoadLevels
        NaN throughout where a load or duration is unknown.

    Raises
    ------
    ValueError
        If there is no time to distribute, the shapes differ or a value is out of bounds.
    """
    load = _loads(percent_mvc)
    time = _durations(np.ones_like(load) if seconds is None else seconds)
    if load.shape != time.shape:
        raise ValueError(
            f"loads have shape {load.shape}, durations {time.shape}. Give one duration for each load."
        )
    if np.isnan(load).any() or np.isnan(time).any():
        return LoadLevels(np.nan, np.nan, np.nan)
    order = np.argsort(load, kind="stable")
    share = _cumulative_share(time[order])
    # Shares are sums of fractions: without the hair's breadth, 10 % of 10 equal samples could miss the first.
    place = np.searchsorted(share, np.asarray(limits.probabilities) - 1e-12)
    return LoadLevels(*(float(x) for x in load[order][np.minimum(place, load.size - 1)]))


def levels_from_classes(edges: ArrayLike, seconds: ArrayLike, *, limits: LoadLimits = JONSSON) -> LoadLevels:
    """Return the load levels of a histogram of time by force class.

    The distribution is taken to rise evenly within a class, so levels are read off by straight lines between
    the edges. Jonsson 1982, J Hum Ergol 11:73-88. Status: levels published (quoted), probabilities .10 and
    .90 from memory; the straight lines are this project's own.

    Parameters
    ----------
    edges : array_like, shape (n + 1,)
        Edges of the classes, %MVC, rising, in [0, 200].
    seconds : array_like, shape (n,)
        Time in each class; NaN where unknown.
    limits : LoadLimits
        Holds the probabilities of the three levels.

    Returns
    -------
    LoadLevels
        NaN throughout where a duration is unknown.

    Raises
    ------
    ValueError
        If edges do not rise, do not fit the durations, there is no time to distribute, or a value is out of
        bounds.
    """
    edge, time = _loads(edges), _durations(seconds)
    if edge.size != time.size + 1 or not (np.diff(edge) > 0).all():
        raise ValueError(
            f"{edge.size} edges for {time.size} classes. Give rising edges, known and one more than classes."
        )
    if np.isnan(time).any():
        return LoadLevels(np.nan, np.nan, np.nan)
    share = np.concatenate(([0.0], _cumulative_share(time)))
    found = []
    for probability in limits.probabilities:
        # The first class in which the share is reached: classes without time are stepped over.
        k = int(np.searchsorted(share[1:], probability - 1e-12))
        part = (probability - share[k]) / (share[k + 1] - share[k])
        found.append(float(edge[k] + min(part, 1.0) * (edge[k + 1] - edge[k])))
    return LoadLevels(*found)


def load_standing(levels: LoadLevels, limits: LoadLimits = JONSSON) -> dict[Level, Standing | None]:
    """Say how static, median and peak load stand to their limits.

    Over what must not be exceeded is over guide; over what should not be exceeded, near guide. Jonsson 1982,
    J Hum Ergol 11:73-88, for work longer than 1 h. Status: published (quoted); the words are this project's
    own.

    Parameters
    ----------
    levels : LoadLevels
        Static, median and peak load, %MVC.
    limits : LoadLimits
        The limits.

    Returns
    -------
    dict
        Word of each level; None where the level is unknown.
    """
    words: dict[Level, Standing | None] = {}
    for name, should, must in zip(LEVELS, limits.should_not_exceed, limits.must_not_exceed, strict=True):
        value = getattr(levels, name)
        if np.isnan(value):
            words[name] = None
        else:
            words[name] = "over guide" if value > must else "near guide" if value > should else "within guide"
    return words


def _loads(values: ArrayLike) -> NDArray[np.float64]:
    remedy = "Give percentages of maximum strength."
    return measured("load (%MVC)", np.atleast_1d(values), low=0.0, high=200.0, remedy=remedy)


def _durations(values: ArrayLike) -> NDArray[np.float64]:
    remedy = "Give seconds, none negative."
    return measured("duration (s)", np.atleast_1d(values), low=0.0, high=1e8, remedy=remedy)


def _cumulative_share(time: NDArray[np.float64]) -> NDArray[np.float64]:
    total = time.sum()
    if not total > 0:
        raise ValueError("no time to distribute: all durations are 0. Give the time spent at each load.")
    return np.cumsum(time) / total
