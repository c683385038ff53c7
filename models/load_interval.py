"""Percentiles of a group's load by classes of force, with an interval over people."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.groupmean import ratio_over_people
from models.load_distribution import JONSSON, LoadLimits, levels_from_classes
from models.sourced import measured


@dataclass(frozen=True)
class LoadLevel:
    """A percentile of load.

    Attributes
    ----------
    value, low, high : float
        %MVC, and its 95 % interval over people.
    """

    value: float
    low: float
    high: float


def load_levels_of_people(
    edges: ArrayLike, seconds: ArrayLike, *, limits: LoadLimits = JONSSON
) -> tuple[LoadLevel, LoadLevel, LoadLevel] | None:
    """Return static, median and peak load of a group with intervals over its people.

    The levels are read off the group's distribution of time over classes of force. Their intervals are those
    of Woodruff (1952, J Am Stat Assoc 47:635-646; from memory): the share of time below the level, as a ratio
    over people, has an interval, and the levels at both of its ends are the limits. Levels: Jonsson 1982, J
    Hum Ergol 11:73-88. Status: published (quoted), probabilities from memory.

    Parameters
    ----------
    edges : array_like, shape (classes + 1,)
        Edges of the classes, %MVC, rising.
    seconds : array_like, shape (people, classes)
        Known time of each person in each class, not negative.
    limits : LoadLimits
        Holds the probabilities of the three levels.

    Returns
    -------
    tuple of LoadLevel or None
        None where fewer than two people have any time.

    Raises
    ------
    ValueError
        If the shapes do not fit or a duration is out of bounds.
    """
    time = measured("duration (s)", seconds, low=0.0, high=1e9, remedy="Give seconds, none negative.")
    edge = np.asarray(edges, dtype=np.float64)
    if time.ndim != 2 or edge.shape != (time.shape[1] + 1,):
        raise ValueError(
            f"{edge.size} edges for times of shape {time.shape}. Give one edge more than classes."
        )
    time = time[time.sum(axis=1) > 0]
    if len(time) < 2:
        return None
    whole = time.sum(axis=0)
    levels = levels_from_classes(edge, whole, limits=limits)
    found = []
    for probability, value in zip(
        limits.probabilities, (levels.static, levels.median, levels.peak), strict=True
    ):
        below = ratio_over_people(_time_below(edge, time, value), time.sum(axis=1), most=1.0)
        assert below is not None, "two people have time"
        spread = (below.high - below.low) / 2
        ends = [
            _level(edge, whole, float(np.clip(probability + step, 0.0, 1.0))) for step in (-spread, spread)
        ]
        found.append(LoadLevel(value, min(ends[0], value), max(ends[1], value)))
    return found[0], found[1], found[2]


def _time_below(edge: NDArray[np.float64], time: NDArray[np.float64], value: float) -> NDArray[np.float64]:
    part = np.clip((value - edge[:-1]) / np.diff(edge), 0.0, 1.0)
    return time @ part


def _level(edge: NDArray[np.float64], whole: NDArray[np.float64], probability: float) -> float:
    share = np.concatenate(([0.0], np.cumsum(whole) / whole.sum()))
    place = int(np.clip(np.searchsorted(share[1:], probability - 1e-12), 0, len(whole) - 1))
    step = share[place + 1] - share[place]
    part = (probability - share[place]) / step if step > 0 else 0.0
    return float(edge[place] + np.clip(part, 0.0, 1.0) * (edge[place + 1] - edge[place]))
