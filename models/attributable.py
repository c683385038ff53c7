"""What share of discomfort goes with an exposure: Miettinen's form, and the same along a curve."""

from dataclasses import dataclass

import numpy as np

from models.shape_average import AveragedCurve


@dataclass(frozen=True)
class Share:
    """Share of cases that go with an exposure; causal only under the assumptions listed beside it.

    Attributes
    ----------
    value, low, high : float
        Share of all cases, and its 95 % interval.
    """

    value: float
    low: float
    high: float


ASSUMPTIONS = (
    "exposure comes before discomfort, and not the other way round",
    "whoever pipettes more does not differ in anything else that hurts, beyond what is adjusted for",
    "exposure can be cut to that level without anything else changing",
)
"""Under which the share would be what could be prevented."""


def exposed_share(ratio: float) -> float:
    """Return the share of the exposed cases that goes with the exposure, ``(RR - 1) / RR``.

    Parameters
    ----------
    ratio : float
        Risk or prevalence ratio, more than 0.

    Returns
    -------
    float
        Share; below 0 where the exposed fare better.
    """
    return (ratio - 1) / ratio


def miettinen_share(exposed_cases: float, ratio: float) -> float:
    """Return the share of all cases that goes with the exposure, ``p_c (RR - 1) / RR``.

    It stays right with an adjusted ratio, where Levin's formula does not (Miettinen OS 1974, Am J Epidemiol
    99:325).

    Parameters
    ----------
    exposed_cases : float
        Share of the cases that are exposed, 0 to 1.
    ratio : float
        Adjusted ratio.

    Returns
    -------
    float
        Share.

    Raises
    ------
    ValueError
        If the share of exposed cases lies outside 0 to 1.
    """
    if not 0 <= exposed_cases <= 1:
        raise ValueError(f"a share of {exposed_cases} of the cases")
    return exposed_cases * exposed_share(ratio)


def share_above(curve: AveragedCurve, level: float = 0.95) -> Share:
    """Return the share of discomfort that goes with exposure above the curve's cut.

    ``1 - mean P(min(h_i, cut)) / mean P(h_i)``: Miettinen's form for an exposure in many steps, each case
    weighted by its own ratio (Bruzzi P et al. 1985, Am J Epidemiol 122:904). With a yes-or-no exposure and
    nothing adjusted for it is :func:`miettinen_share`. The interval takes the quantiles of the draws.

    Parameters
    ----------
    curve : AveragedCurve
        Curve fitted with a cut.
    level : float
        Confidence level.

    Returns
    -------
    Share
        Share with interval.
    """
    drawn = 1 - curve.observed_draws[:, 1] / curve.observed_draws[:, 0]
    value = 1 - curve.observed[1] / curve.observed[0]
    low, high = np.quantile(drawn, [(1 - level) / 2, (1 + level) / 2])
    return Share(value, min(float(low), value), max(float(high), value))
