"""How far a group chosen for its high values falls back by itself."""

import numpy as np
from scipy.special import log_ndtr

BLOCKED = (
    "The team was chosen because its discomfort was high. Such a team falls back by itself, so before and "
    "after are not compared; use a baseline that the choice did not rest on."
)


def hazard(z: float) -> float:
    """Return ``phi(z) / (1 - Phi(z))`` of the standard normal distribution.

    Parameters
    ----------
    z : float
        Cut in standard deviations from the mean.

    Returns
    -------
    float
        Mean of what lies above the cut, in standard deviations.
    """
    return float(np.exp(-0.5 * z * z - 0.5 * np.log(2 * np.pi) - log_ndtr(-z)))


def expected_fall(cut: float, mean: float, sd_between: float, sd_within: float) -> float:
    """Return the expected fall of values chosen for lying above a cut, with nothing done.

    ``s_w**2 / sqrt(s_b**2 + s_w**2) * phi(z) / (1 - Phi(z))``; Barnett, van der Pols and Dobson 2005, Int J
    Epidemiol 34:215.

    Parameters
    ----------
    cut, mean : float
        Value chosen from, and mean of all.
    sd_between, sd_within : float
        Standard deviation between units in the long run, and of one unit from time to time.

    Returns
    -------
    float
        Fall, in the unit of the values.

    Raises
    ------
    ValueError
        If nothing varies.
    """
    total = float(np.hypot(sd_between, sd_within))
    if total <= 0:
        raise ValueError("nothing varies, so nothing can fall back")
    return sd_within**2 / total * hazard((cut - mean) / total)
