"""Hand activity level, normalised peak force and the threshold limit value for hand activity.

The level found here comes from frequency and duty cycle. An observer's level agrees with it badly (R2 =
0.04, 30 % agreement; Akkas et al. 2018, IEA proceedings, doi:10.1007/978-3-319-96083-8_71), so levels from
different origins do not belong on one trend line.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.guides import Standing
from models.sourced import Status, measured


@dataclass(frozen=True)
class HandActivityEdition:
    """The two lines of one edition of the limit: normalised peak force = at zero - slope * HAL.

    Attributes
    ----------
    edition : str
        Year of the edition.
    tlv_at_zero, tlv_slope : float
        Threshold limit value: peak force 0-10 at HAL 0, and its fall per point of HAL.
    al_at_zero, al_slope : float
        The same of the action limit.
    counted_above_percent_mvc : float or None
        Exertions of at most this force are not counted; None where the edition says nothing.
    source : str
        Where the lines come from.
    status : Status
        How sure they are.
    """

    edition: str
    tlv_at_zero: float
    tlv_slope: float
    al_at_zero: float
    al_slope: float
    counted_above_percent_mvc: float | None
    source: str
    status: Status


EDITIONS = {
    # Printed as ratios: peak force / (10 - HAL) = 0.78 and 0.56, which are lines through (10, 0).
    "2001": HandActivityEdition(
        "2001", 7.8, 0.78, 5.6, 0.56, None, "ACGIH TLV for hand activity, 2001", "published (quoted)"
    ),
    "2018": HandActivityEdition(
        "2018", 5.6, 0.56, 3.6, 0.56, 10.0, "ACGIH TLV for hand activity, 2018", "cross-checked"
    ),
}


@dataclass(frozen=True)
class HandActivityLimits:
    """Limits of normalised peak force at given hand activity levels.

    Attributes
    ----------
    threshold : ndarray
        Threshold limit value, 0-10.
    action : ndarray
        Action limit, 0-10.
    """

    threshold: NDArray[np.float64]
    action: NDArray[np.float64]


def hand_activity_level(frequency: ArrayLike, duty_percent: ArrayLike) -> NDArray[np.float64]:
    """Return the hand activity level of exertions of a given frequency and duty cycle.

    ``HAL = 6.56 ln(D) F^1.31 / (1 + 3.18 F^1.31)``, held in 0-10; 0 at and below a duty cycle of 1 %, so a
    duty cycle given as a fraction reads as no activity. Radwin, Azari, Lindstrom, Ulin, Armstrong & Rempel
    2015, Ergonomics 58(2):173-183, PMID 25343340. Status: published.

    Parameters
    ----------
    frequency : array_like
        Exertions per second F (Hz), in [0, 10]; NaN where unknown.
    duty_percent : array_like
        Duty cycle D: time in exertion as a percentage of the time, in [0, 100]; NaN where unknown.

    Returns
    -------
    ndarray
        Level 0-10, broadcast shape; NaN where an input is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    f = measured(
        "exertion frequency (Hz)",
        frequency,
        low=0.0,
        high=10.0,
        remedy="Give exertions per second; divide exertions per minute by 60.",
    )
    duty = measured(
        "duty cycle (%)", duty_percent, low=0.0, high=100.0, remedy="Give a percentage from 0 to 100."
    )
    power = f**1.31
    level = 6.56 * np.log(np.maximum(duty, 1.0)) * power / (1 + 3.18 * power)
    return np.clip(level, 0.0, 10.0)


def normalised_peak_force(percent_mvc: ArrayLike) -> NDArray[np.float64]:
    """Return normalised peak force from percent of maximum voluntary contraction.

    One point for each 10 % (5 % = 0.5, 10 % = 1, 100 % = 10), which is also the CR10 rating of the force.
    ACGIH TLV for hand activity. Status: published (quoted).

    Parameters
    ----------
    percent_mvc : array_like
        Peak force (90th percentile of the task) as %MVC, in [0, 100]; NaN where unknown.

    Returns
    -------
    ndarray
        Force 0-10, same shape; NaN where unknown.

    Raises
    ------
    ValueError
        If a percentage lies outside [0, 100].
    """
    percent = measured(
        "peak force (%MVC)",
        percent_mvc,
        low=0.0,
        high=100.0,
        remedy="Give a percentage; a force over 100 % cannot be made, so check force and strength.",
    )
    return percent / 10.0


def hand_activity_limits(
    level: ArrayLike, edition: HandActivityEdition = EDITIONS["2018"], *, floored: bool = True
) -> HandActivityLimits:
    """Return threshold limit value and action limit at given hand activity levels.

    2001: 0.78 and 0.56 times (10 - HAL) (published, quoted). 2018: 5.6 - 0.56 HAL and 3.6 - 0.56 HAL
    (cross-checked). Floored at 0: from HAL 6.43 on, any countable force is over the action limit of 2018.

    Parameters
    ----------
    level : array_like
        Hand activity level, in [0, 10]; NaN where unknown.
    edition : HandActivityEdition
        Which edition; see `EDITIONS`.
    floored : bool
        False returns the bare line, negative where it has crossed 0.

    Returns
    -------
    HandActivityLimits
        Both limits as normalised peak force, same shape as `level`.

    Raises
    ------
    ValueError
        If a level lies outside [0, 10].
    """
    hal = measured("hand activity level", level, low=0.0, high=10.0, remedy="Give a level from 0 to 10.")
    threshold = edition.tlv_at_zero - edition.tlv_slope * hal
    action = edition.al_at_zero - edition.al_slope * hal
    if floored:
        threshold, action = np.maximum(threshold, 0.0), np.maximum(action, 0.0)
    return HandActivityLimits(threshold, action)


def hand_activity_standing(
    peak_force: float, level: float, edition: HandActivityEdition = EDITIONS["2018"]
) -> Standing | None:
    """Say how one task stands to the limits for hand activity.

    Over the threshold limit value is over guide, over the action limit near guide. Holds for single-task
    hand work of at least 4 h a day, each hand apart; posture, contact stress and vibration are for
    judgement. Status: that of the edition; the words are this project's own.

    Parameters
    ----------
    peak_force : float
        Normalised peak force, in [0, 10]; NaN where unknown.
    level : float
        Hand activity level, in [0, 10]; NaN where unknown.
    edition : HandActivityEdition
        Which edition.

    Returns
    -------
    {"within guide", "near guide", "over guide"} or None
        None where force or level is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    force = float(
        measured("normalised peak force", peak_force, low=0.0, high=10.0, remedy="Give a force from 0 to 10.")
    )
    limits = hand_activity_limits(level, edition)
    if np.isnan(force) or np.isnan(limits.threshold):
        return None
    if force > limits.threshold:
        return "over guide"
    return "near guide" if force > limits.action else "within guide"
