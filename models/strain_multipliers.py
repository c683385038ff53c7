"""Revised Strain Index: its five multipliers.

Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922, doi:10.1080/00140139.2016.1237678. The product form
is published; the equations of intensity, efforts, duration and hours are cross-checked; those of posture, the
multiplier of very short tasks are from memory, hence records that a caller can replace.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.sourced import Sourced, Status, measured

_GARG = "Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922, doi:10.1080/00140139.2016.1237678"

SHORT_TASK_MULTIPLIER = Sourced(0.20, "multiplier", _GARG, "from memory")
"""Hours multiplier of tasks of at most 0.05 h a day."""

_SHORT_TASK_HOURS = 0.05


@dataclass(frozen=True)
class WristPosture:
    """Coefficients of the posture multiplier.

    Flexion: ``scale * exp(rate * P) - offset``. Extension: 1 up to `free` degrees, then
    ``1 + curvature * (P - free)^2``.

    Attributes
    ----------
    scale, offset : float
        Multipliers without unit.
    rate : float
        Per degree of flexion.
    free : float
        Degrees of extension that cost nothing.
    curvature : float
        Per square degree of extension beyond `free`.
    source : str
        Author, year, journal, DOI.
    status : Status
        How sure the coefficients are.
    """

    scale: float = 1.2
    offset: float = 0.2
    rate: float = 0.009
    free: float = 30.0
    curvature: float = 0.00028
    source: str = _GARG
    status: Status = "from memory"


WRIST_POSTURE = WristPosture()


def intensity_multiplier(force_fraction: ArrayLike) -> NDArray[np.float64]:
    """Return the multiplier of intensity of exertion.

    ``30 I^3 - 15.6 I^2 + 13 I + 0.4`` for I <= 0.4, ``36 I^3 - 33.3 I^2 + 24.77 I - 1.86`` above. Garg,
    Moore & Kapellusch 2017, Ergonomics 60(7):912-922, doi:10.1080/00140139.2016.1237678. Status:
    cross-checked.

    Parameters
    ----------
    force_fraction : array_like
        Force I as a fraction of maximum (%MVC / 100, or CR10 rating / 10), in (0, 1]; NaN where unknown.

    Returns
    -------
    ndarray
        Multiplier, same shape; NaN where the force is unknown.

    Raises
    ------
    ValueError
        If a force lies outside (0, 1].
    """
    i = measured(
        "force as a fraction of maximum",
        force_fraction,
        low=0.0,
        high=1.0,
        low_allowed=False,
        remedy="Divide %MVC by 100 or a CR10 rating by 10, and leave out work without effort.",
    )
    lower = 0.4 + i * (13 + i * (-15.6 + 30 * i))
    upper = -1.86 + i * (24.77 + i * (-33.3 + 36 * i))
    return np.where(i <= 0.4, lower, upper)


def efforts_multiplier(efforts_per_minute: ArrayLike) -> NDArray[np.float64]:
    """Return the multiplier of efforts per minute.

    ``0.10 + 0.25 E`` for E <= 90, ``0.00334 E^1.96`` above. The rounded constants would let the multiplier
    drop by 0.003 where the pieces meet, so it is held at its value at 90 until the upper piece has caught up
    (90.006): more efforts never score lower. Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922,
    doi:10.1080/00140139.2016.1237678. Status: cross-checked.

    Parameters
    ----------
    efforts_per_minute : array_like
        Efforts E per minute, in (0, 600]; NaN where unknown.

    Returns
    -------
    ndarray
        Multiplier, same shape; NaN where the frequency is unknown.

    Raises
    ------
    ValueError
        If a frequency lies outside (0, 600].
    """
    e = measured(
        "efforts per minute",
        efforts_per_minute,
        low=0.0,
        high=600.0,
        low_allowed=False,
        remedy="Give efforts per minute, not per hour or day, and leave out work without effort.",
    )
    return np.where(e <= 90, 0.10 + 0.25 * e, np.maximum(22.6, 0.00334 * e**1.96))


def duration_multiplier(seconds_per_exertion: ArrayLike) -> NDArray[np.float64]:
    """Return the multiplier of duration per exertion.

    ``0.45 + 0.31 D`` for D <= 60, ``19.17 ln D - 59.44`` above, held at its value at 60 where the rounded
    constants would let it drop by 0.002. Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922,
    doi:10.1080/00140139.2016.1237678. Status: cross-checked.

    Parameters
    ----------
    seconds_per_exertion : array_like
        Mean duration D of one exertion in seconds, in (0, 3600]; NaN where unknown.

    Returns
    -------
    ndarray
        Multiplier, same shape; NaN where the duration is unknown.

    Raises
    ------
    ValueError
        If a duration lies outside (0, 3600].
    """
    d = measured(
        "seconds per exertion",
        seconds_per_exertion,
        low=0.0,
        high=3600.0,
        low_allowed=False,
        remedy="Give seconds, not milliseconds, and leave out work without effort.",
    )
    return np.where(d <= 60, 0.45 + 0.31 * d, np.maximum(19.05, 19.17 * np.log(np.maximum(d, 1.0)) - 59.44))


def posture_multiplier(
    wrist_angle: ArrayLike, *, posture: WristPosture = WRIST_POSTURE
) -> NDArray[np.float64]:
    """Return the multiplier of hand and wrist posture.

    Flexion ``1.2 exp(0.009 P) - 0.2``; extension 1 up to 30 degrees, then ``1 + 0.00028 (P - 30)^2``: flexion
    costs from the first degree, extension is free to 30. Garg, Moore & Kapellusch 2017, Ergonomics
    60(7):912-922, doi:10.1080/00140139.2016.1237678. Status: from memory.

    Parameters
    ----------
    wrist_angle : array_like
        Degrees, flexion positive and extension negative, in [-90, 90]; NaN where unknown.
    posture : WristPosture
        Coefficients; replace them once they are checked against the paper.

    Returns
    -------
    ndarray
        Multiplier, same shape; NaN where the angle is unknown.

    Raises
    ------
    ValueError
        If an angle lies outside [-90, 90].
    """
    angle = measured(
        "wrist angle",
        wrist_angle,
        low=-90.0,
        high=90.0,
        remedy="Give degrees, flexion positive and extension negative.",
    )
    beyond = np.maximum(-angle - posture.free, 0.0)
    extended = 1.0 + posture.curvature * beyond**2
    flexed = posture.scale * np.exp(posture.rate * angle) - posture.offset
    return np.where(angle > 0, flexed, extended)


def hours_multiplier(hours: ArrayLike, *, short_task: Sourced = SHORT_TASK_MULTIPLIER) -> NDArray[np.float64]:
    """Return the multiplier of task hours per day.

    0.20 for H <= 0.05 h, ``0.042 H + 0.090 ln H + 0.477`` above: the only multiplier that jumps (to 0.2095
    just above 0.05 h). Garg, Moore & Kapellusch 2017, Ergonomics 60(7):912-922,
    doi:10.1080/00140139.2016.1237678. Status: cross-checked above 0.05 h, from memory at or below.

    Parameters
    ----------
    hours : array_like
        Hours H of the task per day, in (0, 24]; NaN where unknown.
    short_task : Sourced
        Multiplier of tasks of at most 0.05 h.

    Returns
    -------
    ndarray
        Multiplier, same shape; NaN where the hours are unknown.

    Raises
    ------
    ValueError
        If hours lie outside (0, 24].
    """
    h = measured(
        "task hours per day",
        hours,
        low=0.0,
        high=24.0,
        low_allowed=False,
        remedy="Give hours of one day, not minutes or hours a week, and leave out tasks not done.",
    )
    longer = 0.042 * h + 0.090 * np.log(np.maximum(h, _SHORT_TASK_HOURS)) + 0.477
    return np.where(h <= _SHORT_TASK_HOURS, short_task.value, longer)
