"""Curves drawn from a fitted shape: expected prevalence, standardised to the people who answered."""

import numpy as np
from scipy.special import stdtrit

from models.driver_records import Curve
from models.driver_shape import Shaped
from models.driver_solve import Link, mean_of, variance_of

POINTS = 41


def design_at(shaped: Shaped, x: float) -> np.ndarray:
    """Return the design of all patterns with one exposure for everybody.

    Parameters
    ----------
    shaped : Shaped
        A fit.
    x : float
        Exposure.

    Returns
    -------
    numpy.ndarray, shape (patterns, p)
        Columns of the model.
    """
    own = np.repeat(shaped.columns(np.array([x])), len(shaped.mass), axis=0)
    return np.hstack([np.ones((len(shaped.mass), 1)), own, shaped.rest])


def curve_of(shaped: Shaped, points: int = POINTS) -> Curve:
    """Return the standardised prevalence along the observed exposure.

    ``sum_k c_k m(exposure, z_k)`` over the covariate patterns of everybody who answered; limits by the delta
    method on the scale of the link, t with clusters - 1 degrees of freedom.

    Parameters
    ----------
    shaped : Shaped
        A fit.
    points : int
        Points along x.

    Returns
    -------
    Curve
        In percent.
    """
    fit = shaped.fit
    grid = np.linspace(*shaped.observed, points)
    reach = float(stdtrit(fit.groups - 1.0, 0.975))
    rows = []
    for x in grid:
        design = design_at(shaped, float(x))
        mean = mean_of(fit.link, design @ fit.coefficient)
        share = float(shaped.mass @ mean)
        slope = (shaped.mass * variance_of(fit.link, mean)) @ design
        half = reach * fit.error(slope / variance_of(fit.link, np.array(share)))
        rows.append((share, *_around(fit.link, share, half)))
    percent, low, high = (100 * np.array(rows)).T
    return Curve(
        shaped.exposure, shaped.unit, tuple(grid.tolist()), tuple(percent.tolist()), tuple(low.tolist()),
        tuple(high.tolist()), shaped.kind, shaped.observed, shaped.knots,
    )  # fmt: skip


def _around(link: Link, share: float, half: float) -> tuple[float, float]:
    if link == "log":
        return share * np.exp(-half), min(share * np.exp(half), 1.0)
    odds = share / (1 - share)
    low, high = odds * np.exp(-half), odds * np.exp(half)
    return low / (1 + low), high / (1 + high)
