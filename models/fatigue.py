"""Relative cumulative fatigue damage: an index for comparing jobs, without a limit and without a probability.

How rated force turns into percent of ultimate strength could not be read, so published scores cannot be
reproduced: compare values of this index with each other only.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.sourced import Status, measured


@dataclass(frozen=True)
class StressLifeLine:
    """Cycles to failure by stress: ``S = intercept - slope * log10 N``.

    Attributes
    ----------
    intercept, slope : float
        Percent of ultimate strength, and its fall per tenfold of cycles.
    source : str
        Author and year.
    status : Status
        How sure the line is.
    """

    intercept: float = 101.25
    slope: float = 14.83
    source: str = "Schechtman & Bader 1997, human tendon"
    status: Status = "from memory"


TENDON = StressLifeLine()


def cycles_to_failure(percent_ultimate: ArrayLike, line: StressLifeLine = TENDON) -> NDArray[np.float64]:
    """Return how many cycles of a stress lead to failure.

    ``N = 10^((intercept - S) / slope)``, by default 101.25 and 14.83 (Schechtman & Bader 1997). Status: from
    memory.

    Parameters
    ----------
    percent_ultimate : array_like
        Stress S as a percentage of ultimate strength, in (0, 100]; NaN where unknown.
    line : StressLifeLine
        The line; replace it once it is checked.

    Returns
    -------
    ndarray
        Cycles, same shape; NaN where unknown.

    Raises
    ------
    ValueError
        If a stress lies outside (0, 100] or the line does not fall.
    """
    stress = measured(
        "stress (% of ultimate strength)",
        percent_ultimate,
        low=0.0,
        high=100.0,
        low_allowed=False,
        remedy="Give a percentage above 0 and leave out work without effort.",
    )
    if not line.slope > 0:
        raise ValueError(f"slope of the stress-life line is {line.slope:g}. Give a slope above 0.")
    return 10.0 ** ((line.intercept - stress) / line.slope)


def relative_fatigue_damage(
    percent_ultimate: ArrayLike, repetitions: ArrayLike, line: StressLifeLine = TENDON
) -> NDArray[np.float64]:
    """Return the relative index of cumulative fatigue damage.

    ``sum n_i / N_i`` over the last axis (Palmgren-Miner). Concept published: Gallagher & Schall 2017,
    Ergonomics 60(2):255-269; Gallagher et al. 2018, Hum Factors 60(8):1146-1162. Status: from memory (the
    line). A relative index: it has no limit and says nothing about anybody's chance of harm.

    Parameters
    ----------
    percent_ultimate : array_like, shape (..., n)
        Stress of each kind of effort, percent of ultimate strength, in (0, 100]; NaN where unknown.
    repetitions : array_like, shape (..., n)
        How often each is made, not negative; NaN where unknown.
    line : StressLifeLine
        Cycles to failure by stress.

    Returns
    -------
    ndarray, shape (...,)
        Index without unit; NaN where a part is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    times = measured("repetitions", repetitions, low=0.0, high=1e9, remedy="Give a count, not negative.")
    return np.sum(times / cycles_to_failure(percent_ultimate, line), axis=-1)
