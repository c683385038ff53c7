"""Revised Strain Index of one task, of a task of several kinds of effort, and of a day of several tasks.

Never summarise a day by its hardest task or by an average: over 10,920 jobs the time-weighted average, the
peak task and the cumulative index called 36.5 %, 78.1 % and 66.6 % hazardous (Garg, Moore & Kapellusch 2017,
Ergonomics 60(8):1033-1041, doi:10.1080/00140139.2016.1246675).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import Guide
from models.sourced import measured
from models.strain_multipliers import (
    WRIST_POSTURE,
    WristPosture,
    duration_multiplier,
    efforts_multiplier,
    hours_multiplier,
    intensity_multiplier,
    posture_multiplier,
)

RSI_LIMIT = Guide(
    "strain_index",
    10.0,
    "index",
    "higher is more load",
    "Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922, doi:10.1080/00140139.2016.1237678",
    "from memory",
)
"""Index above which work counts as hazardous; the same limit is held against COSI and CUSI."""

Order = Literal["index", "free"]
"""How parts are ranked before they are added.

``index``: by the index of the part on its own, as the authors do. ``free``: by the part's index free of
frequency (COSI) or of hours (CUSI); own construct. Under ``index`` the algebra has two quirks that this
project found: cutting a part in two can change the ranks and with them the sum, and a long easy task added
to a day of short hard ones can lower CUSI. Under ``free`` neither can happen, so it serves as a check of
sensitivity.
"""


@dataclass(frozen=True)
class SummedStrain:
    """A composite or cumulative index and what each part adds to it.

    Attributes
    ----------
    value : ndarray, shape (...,)
        The index, without unit.
    parts : ndarray, shape (..., n)
        What each part adds, in the order given; they sum to `value`.
    """

    value: NDArray[np.float64]
    parts: NDArray[np.float64]


def strain_index(
    force_fraction: ArrayLike,
    efforts_per_minute: ArrayLike,
    seconds_per_exertion: ArrayLike,
    wrist_angle: ArrayLike,
    hours: ArrayLike,
    *,
    posture: WristPosture = WRIST_POSTURE,
) -> NDArray[np.float64]:
    """Return the Revised Strain Index, ``RSI = IM * EM * DM * PM * HM``.

    Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922, doi:10.1080/00140139.2016.1237678. Status:
    product form published, multipliers cross-checked, posture from memory. Compare with `RSI_LIMIT` (from
    memory).

    Parameters
    ----------
    force_fraction, efforts_per_minute, seconds_per_exertion, wrist_angle, hours : array_like
        Inputs of the five multipliers, broadcast together; NaN where unknown.
    posture : WristPosture
        Coefficients of the posture multiplier.

    Returns
    -------
    ndarray
        Index without unit, broadcast shape; NaN where any input is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    return (
        intensity_multiplier(force_fraction)
        * efforts_multiplier(efforts_per_minute)
        * duration_multiplier(seconds_per_exertion)
        * posture_multiplier(wrist_angle, posture=posture)
        * hours_multiplier(hours)
    )


def composite_strain_index(
    force_fraction: ArrayLike,
    efforts_per_minute: ArrayLike,
    seconds_per_exertion: ArrayLike,
    wrist_angle: ArrayLike,
    hours: ArrayLike,
    *,
    present: ArrayLike | None = None,
    order: Order = "index",
    posture: WristPosture = WRIST_POSTURE,
) -> SummedStrain:
    """Return the Composite Strain Index of tasks made of several subtasks.

    With subtasks ranked by RSI and ``FIRSI = IM * DM * PM * HM(H)``:
    ``COSI = RSI_1 + sum_{i>=2} FIRSI_i * (EM(E_1+...+E_i) - EM(E_1+...+E_{i-1}))``. Garg, Moore & Kapellusch
    2017, Ergonomics 60(8):1033-1041, doi:10.1080/00140139.2016.1246675. Status: outline published (quoted),
    algebra from memory; no published worked value exists to check it against.

    Parameters
    ----------
    force_fraction, efforts_per_minute, seconds_per_exertion, wrist_angle : array_like, shape (..., n)
        Inputs of `strain_index`, the subtasks along the last axis; NaN where unknown.
    hours : array_like, shape (...,)
        Hours of the whole task per day, in (0, 24].
    present : array_like of bool, shape (..., n), optional
        False where a row has fewer than n subtasks; all present by default.
    order : {"index", "free"}
        How subtasks are ranked, see `Order`.
    posture : WristPosture
        Coefficients of the posture multiplier.

    Returns
    -------
    SummedStrain
        Index and what each subtask adds; NaN where an input of a present subtask is unknown, 0 without
        subtasks.

    Raises
    ------
    ValueError
        If an input is out of bounds or the order is unknown.
    """
    shape = np.broadcast_shapes(
        *(np.shape(x) for x in (force_fraction, efforts_per_minute, seconds_per_exertion, wrist_angle)),
        () if present is None else np.shape(present),
    )
    there = np.broadcast_to(True if present is None else np.asarray(present, dtype=bool), shape)
    # What an absent subtask holds is padding: it must neither fail the bounds nor count.
    force, efforts, seconds, angle = (
        np.where(there, np.asarray(x, dtype=np.float64), np.nan)
        for x in (force_fraction, efforts_per_minute, seconds_per_exertion, wrist_angle)
    )
    free = (
        intensity_multiplier(force)
        * duration_multiplier(seconds)
        * posture_multiplier(angle, posture=posture)
        * hours_multiplier(hours)[..., None]
    )
    ranked_by = {"index": free * efforts_multiplier(efforts), "free": free}
    return _add_up(free, efforts, efforts_multiplier, _chosen(ranked_by, order), there)


def cumulative_strain_index(
    composite: ArrayLike,
    hours: ArrayLike,
    *,
    present: ArrayLike | None = None,
    order: Order = "index",
) -> SummedStrain:
    """Return the Cumulative Strain Index of days made of several tasks.

    With tasks ranked by COSI and ``HICOSI = COSI / HM(H)``:
    ``CUSI = COSI_1 + sum_{j>=2} HICOSI_j * (HM(H_1+...+H_j) - HM(H_1+...+H_{j-1}))``. Garg, Moore &
    Kapellusch 2017, Ergonomics 60(8):1033-1041, doi:10.1080/00140139.2016.1246675. Status: outline published
    (quoted), algebra from memory; no published worked value exists to check it against.

    Parameters
    ----------
    composite : array_like, shape (..., m)
        COSI of each task, computed with its own hours, in [0, inf); NaN where unknown.
    hours : array_like, shape (..., m)
        Hours of each task on the day, above 0; a day has at most 24.
    present : array_like of bool, shape (..., m), optional
        False where a day has fewer than m tasks; all present by default.
    order : {"index", "free"}
        How tasks are ranked, see `Order`.

    Returns
    -------
    SummedStrain
        Index and what each task adds; NaN where an input of a present task is unknown, 0 without tasks.

    Raises
    ------
    ValueError
        If an input is out of bounds, the hours of a day exceed 24 or the order is unknown.
    """
    shape = np.broadcast_shapes(
        np.shape(composite), np.shape(hours), () if present is None else np.shape(present)
    )
    there = np.broadcast_to(True if present is None else np.asarray(present, dtype=bool), shape)
    index = measured(
        "composite index",
        np.where(there, np.asarray(composite, dtype=np.float64), np.nan),
        low=0.0,
        high=1e6,
        remedy="Give the COSI of each task.",
    )
    spent = np.where(there, np.asarray(hours, dtype=np.float64), np.nan)
    free = index / hours_multiplier(spent)
    measured(
        "sum of task hours of a day",
        np.nansum(spent, axis=-1),
        low=0.0,
        high=24.0 + 1e-9,
        remedy="Give the hours of one day; tasks done at the same time count once.",
    )
    return _add_up(free, spent, _hours_of_a_day, _chosen({"index": index, "free": free}, order), there)


def _chosen(ranked_by: dict[str, NDArray[np.float64]], order: str) -> NDArray[np.float64]:
    if order not in ranked_by:
        raise ValueError(f"order is {order!r}. Choose 'index' (as published) or 'free' (own construct).")
    return ranked_by[order]


def _hours_of_a_day(hours: NDArray[np.float64]) -> NDArray[np.float64]:
    # Cumulative sums of hours that add to 24 may exceed it by a rounding error.
    return hours_multiplier(np.minimum(hours, 24.0))


def _add_up(
    free: NDArray[np.float64],
    amount: NDArray[np.float64],
    multiplier: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    rank_by: NDArray[np.float64],
    there: NDArray[np.bool_],
) -> SummedStrain:
    """Add parts along the last axis, each weighted by the step its amount adds to the multiplier."""
    ranks = np.argsort(np.where(there, -rank_by, np.inf), axis=-1, kind="stable")
    running = np.cumsum(np.take_along_axis(np.where(there, amount, 0.0), ranks, axis=-1), axis=-1)
    # Nothing done multiplies by nothing: the formulas start above zero.
    reached = np.where(running == 0, 0.0, multiplier(np.where(running == 0, 1.0, running)))
    steps = np.diff(reached, axis=-1, prepend=0.0)
    ranked = np.take_along_axis(np.where(there, free, 0.0), ranks, axis=-1) * steps
    parts = np.take_along_axis(ranked, np.argsort(ranks, axis=-1), axis=-1)
    value = parts.sum(axis=-1)
    # With one part unknown the ranks are unknown, so no part's share is known either.
    return SummedStrain(value, np.where(np.isnan(value)[..., None], np.nan, parts))
