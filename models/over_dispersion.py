"""How far teams spread beyond chance: winsorised phi and the variance between teams."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

TRIM = 0.10
"""Share of z-scores pulled in at either end before the spread is measured."""


@dataclass(frozen=True)
class Spread:
    """Over-dispersion of z-scores.

    Attributes
    ----------
    phi : float
        Mean squared winsorised z-score; 1 is what chance alone would give.
    tau2 : float
        Variance between teams on the transformed scale, 0 if chance explains the spread.
    """

    phi: float
    tau2: float


def winsorise(z: npt.ArrayLike, trim: float = TRIM) -> np.ndarray:
    """Pull the outer z-scores in to the quantiles at `trim` and ``1 - trim``.

    Parameters
    ----------
    z : array_like, shape (teams,)
        Scores.
    trim : float
        Share at either end.

    Returns
    -------
    numpy.ndarray
        Scores of the same shape.
    """
    values = np.asarray(z, dtype=float)
    return np.clip(values, *np.quantile(values, [trim, 1 - trim]))


def truncate(z: npt.ArrayLike, trim: float = TRIM) -> np.ndarray:
    """Leave the outer z-scores out: the whole number of scores in `trim` of them, at either end.

    Parameters
    ----------
    z : array_like, shape (teams,)
        Scores.
    trim : float
        Share at either end.

    Returns
    -------
    numpy.ndarray
        The scores kept, sorted.
    """
    values = np.sort(np.asarray(z, dtype=float))
    cut = int(trim * len(values))
    return values[cut : len(values) - cut]


def winsorised_variance(trim: float = TRIM) -> float:
    """Return the mean square of standard normal scores pulled in at `trim` at either end.

    ``2 q z**2 + (1 - 2q) - 2 z phi(z)`` with z the upper q-quantile; 0.679 at 10 %.

    Parameters
    ----------
    trim : float
        Share q at either end, below one half.

    Returns
    -------
    float
        Between 0 and 1.
    """
    z = -float(ndtri(trim)) if trim > 0 else 0.0
    density = np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)
    return float(2 * trim * z * z + (1 - 2 * trim) - 2 * z * density)


def over_dispersion(
    z: npt.ArrayLike, error: npt.ArrayLike, trim: float = TRIM, *, cut: bool = False, consistent: bool = False
) -> Spread:
    """Return phi and the moment estimate of the variance between teams.

    ``phi = mean(z_w**2)``; ``tau2 = (I phi - (I-1)) / (sum w - sum w**2 / sum w)`` with ``w = 1/s**2``, 0
    if negative; Spiegelhalter 2005, Stat Med 24:1185 (from memory), with the estimator of DerSimonian and
    Laird 1986.

    Parameters
    ----------
    z, error : array_like, shape (teams,)
        Unadjusted scores and their standard errors on the transformed scale.
    trim : float
        Share winsorised at either end.
    cut : bool
        Leave the outer scores out instead of pulling them in.
    consistent : bool
        Divide the winsorised phi by what pulling in alone makes of normal scores. Without it a spread
        between all teams is understated by a third, and teams typical of it are named. Own addition.

    Returns
    -------
    Spread
        phi and tau2.
    """
    score, weight = (truncate if cut else winsorise)(z, trim), 1 / np.asarray(error, dtype=float) ** 2
    teams, phi = len(weight), float(np.mean(score**2))
    if consistent:
        phi /= winsorised_variance(trim)
    room = weight.sum() - (weight**2).sum() / weight.sum()
    excess = teams * phi - (teams - 1)
    return Spread(phi, float(max(0.0, excess / room)) if room > 0 else 0.0)


def ratio_scores(
    observed: npt.ArrayLike, expected: npt.ArrayLike, *, root: bool = False
) -> tuple[np.ndarray, np.ndarray]:
    """Return z-scores of observed over expected counts, on the log or the square-root scale.

    ``z = ln(o/e) sqrt(e)`` with ``s = 1/sqrt(e)``, or ``z = 2 (sqrt(o) - sqrt(e))`` with
    ``s = 1/(2 sqrt(e))``.

    Parameters
    ----------
    observed, expected : array_like, shape (teams,)
        Counts; observed above 0 for the log scale.
    root : bool
        Square-root instead of log scale.

    Returns
    -------
    tuple of numpy.ndarray
        Scores and standard errors.
    """
    o, e = np.asarray(observed, dtype=float), np.asarray(expected, dtype=float)
    if root:
        return 2 * (np.sqrt(o) - np.sqrt(e)), 0.5 / np.sqrt(e)
    return np.log(o / e) * np.sqrt(e), 1 / np.sqrt(e)
