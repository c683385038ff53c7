"""How hard an effort may be for how often it is made: acceptable effort and limits of mean load."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import Guide
from models.sourced import measured

_BJORKSTEN_JONSSON = (
    "Bjorksten & Jonsson 1977, Scand J Work Environ Health 3(1):23-27: "
    "mean force that can be kept up for 60 min"
)
_BYSTROM = "Bystrom & Fransson-Hall 1994, Hum Factors 36(1):158-171: acceptable handgrip"
_HIGHER = "higher is more load"
_UNIT = "%MVC, mean"

INTERMITTENT_ENDURANCE = Guide(
    "mean_load_intermittent_60_min", 14.0, _UNIT, _HIGHER, _BJORKSTEN_JONSSON, "published"
)
SUSTAINED_ENDURANCE = Guide(
    "mean_load_sustained_60_min", 7.9, _UNIT, _HIGHER, _BJORKSTEN_JONSSON, "published"
)
INTERMITTENT_HANDGRIP = Guide("mean_handgrip_intermittent", 17.0, _UNIT, _HIGHER, _BYSTROM, "from memory")
CONTINUOUS_HANDGRIP = Guide("mean_handgrip_continuous", 10.0, _UNIT, _HIGHER, _BYSTROM, "from memory")

_ONE_SECOND_OF_EIGHT_HOURS = 1.0 / 28_800.0


def maximum_acceptable_effort(duty_cycle: ArrayLike) -> NDArray[np.float64]:
    """Return the largest acceptable effort at a duty cycle.

    ``MAE = 1 - (DC - 1/28800)^0.24``; 1/28800 is one second in 8 h, the bracket is floored at 0. Potvin
    2012, Hum Factors 54(2):175-188. Status: published (quoted). A thumb task at duty cycles 0.5-0.9 agrees
    (Sonne & Potvin 2015, Ergonomics 58(1):118-127, doi:10.1080/00140139.2014.957734). Compare with %MVC, not
    with newtons.

    Parameters
    ----------
    duty_cycle : array_like
        Time in effort / cycle time, in [0, 1]; NaN where unknown.

    Returns
    -------
    ndarray
        Fraction of maximum voluntary effort, same shape; NaN where unknown.

    Raises
    ------
    ValueError
        If a duty cycle lies outside [0, 1].
    """
    duty = measured(
        "duty cycle",
        duty_cycle,
        low=0.0,
        high=1.0,
        remedy="Give a fraction; divide a percentage by 100.",
    )
    return 1.0 - np.maximum(duty - _ONE_SECOND_OF_EIGHT_HOURS, 0.0) ** 0.24


def mean_load(percent_mvc: ArrayLike, seconds: ArrayLike) -> NDArray[np.float64]:
    """Return the time-weighted mean load of a cycle.

    ``sum(force_i * time_i) / sum(time_i)`` over the last axis, rest included as force 0. Hold it against
    `INTERMITTENT_ENDURANCE` (14 %) or `SUSTAINED_ENDURANCE` (7.9 %), published (Bjorksten & Jonsson 1977,
    Scand J Work Environ Health 3(1):23-27), or `INTERMITTENT_HANDGRIP` (17 %), from memory. Status: a plain
    mean.

    Parameters
    ----------
    percent_mvc : array_like, shape (..., n)
        Force of each part of the cycle as %MVC, in [0, 200]; NaN where unknown.
    seconds : array_like, shape (..., n)
        Duration of each part, not negative; NaN where unknown.

    Returns
    -------
    ndarray, shape (...,)
        %MVC; NaN where a part is unknown or no time has passed.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    force = measured(
        "force (%MVC)",
        percent_mvc,
        low=0.0,
        # A strength at a low percentile can be less than the force a stronger person makes.
        high=200.0,
        remedy="Give a percentage of maximum strength; check the unit of force and strength.",
    )
    time = measured("duration (s)", seconds, low=0.0, high=1e8, remedy="Give seconds, none negative.")
    force, time = np.broadcast_arrays(force, time)
    total = time.sum(axis=-1)
    return (force * time).sum(axis=-1) / np.where(total == 0, np.nan, total)
