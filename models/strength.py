"""Forces as a share of strength, for a population mixed by its share of women, never for a person."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from models.pinch_norms import THUMB_PUSH, Strength
from models.sourced import measured

# Halving a bracket this often brings it below the spacing of floats.
_HALVINGS = 60


def percent_of_maximum(force_n: ArrayLike, strength_n: ArrayLike) -> NDArray[np.float64]:
    """Return a force as percent of maximum voluntary contraction (%MVC).

    ``100 * force / strength``. Status: definition.

    Parameters
    ----------
    force_n : array_like
        Force, N, in [0, 2000]; NaN where not measured.
    strength_n : array_like
        Maximum strength, N, in (0, 2000]; NaN where unknown.

    Returns
    -------
    ndarray
        %MVC, broadcast shape, over 100 where the force is beyond the strength; NaN where either is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    unit = "Give newtons (1 kgf = 9.80665 N, 1 lbf = 4.44822 N)."
    force = measured("force (N)", force_n, low=0.0, high=2000.0, remedy=unit)
    strength = measured("strength (N)", strength_n, low=0.0, high=2000.0, low_allowed=False, remedy=unit)
    return 100.0 * force / strength


def share_weaker_than(
    force_n: ArrayLike,
    share_women: ArrayLike,
    *,
    women: Strength = THUMB_PUSH["F"],
    men: Strength = THUMB_PUSH["M"],
) -> NDArray[np.float64]:
    """Return the share of a mixed population whose maximum strength is below a force.

    ``w Phi((x - m_F) / s_F) + (1 - w) Phi((x - m_M) / s_M)``. With ``x = force / 0.30`` it is the share for
    whom the force is over 30 % of maximum. Normal model; status: that of the strengths.

    Parameters
    ----------
    force_n : array_like
        Force x, N, in [0, 10000]; NaN where unknown.
    share_women : array_like
        Share w of women in the group, in [0, 1]; NaN where unknown.
    women, men : Strength
        Strength of women and of men.

    Returns
    -------
    ndarray
        Share 0-1, broadcast shape; NaN where an input is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    x = measured("force (N)", force_n, low=0.0, high=10_000.0, remedy="Give newtons.")
    return _mixture(x, _share(share_women), women, men)


def strength_percentile(
    probability: ArrayLike,
    share_women: ArrayLike,
    *,
    women: Strength = THUMB_PUSH["F"],
    men: Strength = THUMB_PUSH["M"],
) -> NDArray[np.float64]:
    """Return the strength below which a given share of a mixed population lies.

    Solves ``w Phi((x - m_F) / s_F) + (1 - w) Phi((x - m_M) / s_M) = p`` for x by halving: percentiles of the
    two sexes are never averaged. The weak end, p = 0.05, is the usual choice. Normal model; status: that of
    the strengths.

    Parameters
    ----------
    probability : array_like
        Share p of the population that is weaker, in [0.001, 0.999]; NaN where unknown.
    share_women : array_like
        Share w of women in the group, in [0, 1]; NaN where unknown.
    women, men : Strength
        Strength of women and of men.

    Returns
    -------
    ndarray
        Strength, N, broadcast shape; NaN where an input is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    p = measured(
        "share that is weaker",
        probability,
        low=0.001,
        high=0.999,
        remedy="Give a fraction, such as 0.05; a normal model says nothing about the far tails.",
    )
    w = _share(share_women)
    p, w = np.broadcast_arrays(p, w)
    z = ndtri(p)
    of_women, of_men = women.mean_n + z * women.sd_n, men.mean_n + z * men.sd_n
    # A mixture's quantile lies between the quantiles of its parts.
    low, high = np.minimum(of_women, of_men), np.maximum(of_women, of_men)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        under = _mixture(middle, w, women, men) < p
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.where(np.isnan(w), np.nan, (low + high) / 2)


def _share(share_women: ArrayLike) -> NDArray[np.float64]:
    remedy = "Give the group's share as a fraction; divide a percentage by 100."
    return measured("share of women", share_women, low=0.0, high=1.0, remedy=remedy)


def _mixture(
    x: NDArray[np.float64], w: NDArray[np.float64], women: Strength, men: Strength
) -> NDArray[np.float64]:
    return w * ndtr((x - women.mean_n) / women.sd_n) + (1 - w) * ndtr((x - men.mean_n) / men.sd_n)
