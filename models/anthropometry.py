"""Body dimensions that decide whether a bench fits, with the correlations between them.

Soldiers: fit, mean age about 30. Heavier or older staff need a note beside every figure. Standing elbow
height was not measured; it is acromial height less acromion-radiale length.
"""

from dataclasses import dataclass

from models.sourced import Status

_ANSUR = "Gordon et al. 2014, 2012 Anthropometric Survey of U.S. Army Personnel, NATICK/TR-15/007, barefoot"


@dataclass(frozen=True)
class Dimension:
    """One body dimension of a population, taken as normally distributed.

    Attributes
    ----------
    mean, sd : float
        Mean and standard deviation, mm.
    """

    mean: float
    sd: float


@dataclass(frozen=True)
class Body:
    """Body dimensions of one sex, jointly normal.

    Attributes
    ----------
    sex : str
        Whose dimensions.
    people : int
        How many were measured.
    standing_elbow : Dimension
        Standing elbow height (derived).
    elbow_rest : Dimension
        Elbow above the seat, sitting.
    thigh_clearance : Dimension
        Top of the thigh above the seat.
    popliteal : Dimension
        Hollow of the knee above the floor.
    popliteal_with_elbow_rest : float
        Correlation.
    elbow_rest_with_thigh : float
        Correlation; follows from the SD of the difference.
    popliteal_with_thigh : float
        Correlation; not available, so 0 is assumed. It matters only without foot support, where
        correlations of -0.2 to 0.4 move the share by up to 0.04.
    source : str
        Survey and report.
    status : Status
        How sure the values are (the assumed correlation apart).
    """

    sex: str
    people: int
    standing_elbow: Dimension
    elbow_rest: Dimension
    thigh_clearance: Dimension
    popliteal: Dimension
    popliteal_with_elbow_rest: float
    elbow_rest_with_thigh: float
    popliteal_with_thigh: float = 0.0
    source: str = _ANSUR
    status: Status = "published"


def correlation_of_difference(sd_a: float, sd_b: float, sd_difference: float) -> float:
    """Return the correlation of two dimensions from the SD of their difference.

    ``(s_a^2 + s_b^2 - s_d^2) / (2 s_a s_b)``. Status: identity.

    Parameters
    ----------
    sd_a, sd_b, sd_difference : float
        Standard deviations of the two dimensions and of their difference, one unit.

    Returns
    -------
    float
        Correlation.

    Raises
    ------
    ValueError
        If the three cannot belong together.
    """
    correlation = (sd_a**2 + sd_b**2 - sd_difference**2) / (2 * sd_a * sd_b)
    if not -1 <= correlation <= 1:
        raise ValueError(
            f"SDs {sd_a:g}, {sd_b:g} and {sd_difference:g} of the difference give a correlation of "
            f"{correlation:.2f}. Check that all three are of the same people and unit."
        )
    return correlation


WOMEN = Body(
    "women",
    1986,
    standing_elbow=Dimension(1023.9, 45.3),
    elbow_rest=Dimension(232.4, 26.3),
    thigh_clearance=Dimension(167.9, 14.1),
    popliteal=Dimension(388.2, 23.6),
    popliteal_with_elbow_rest=-0.186,
    elbow_rest_with_thigh=correlation_of_difference(26.3, 14.1, 28.7),
)
MEN = Body(
    "men",
    4082,
    standing_elbow=Dimension(1105.5, 50.1),
    elbow_rest=Dimension(245.0, 28.7),
    thigh_clearance=Dimension(180.5, 15.6),
    popliteal=Dimension(429.8, 24.8),
    popliteal_with_elbow_rest=-0.146,
    elbow_rest_with_thigh=correlation_of_difference(28.7, 15.6, 28.7),
)
