"""How yes-or-no answers of one person agree over months, from a steady and a wandering leaning."""

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def phi_of(correlation: npt.ArrayLike, prevalence: float) -> np.ndarray:
    """Return the correlation of two yes-or-no answers whose leanings are correlated normals.

    ``(P(both) - p**2) / (p (1 - p))`` with ``dP(both)/dr = phi2(z, z; r)`` (Sheppard 1899), integrated from 0
    by Gauss-Legendre.

    Parameters
    ----------
    correlation : array_like
        Correlation of the leanings, below 1.
    prevalence : float
        Share of yes.

    Returns
    -------
    numpy.ndarray
        Correlation of the answers.
    """
    r = np.minimum(np.asarray(correlation, float), 0.9999)[..., None]
    z = float(ndtri(prevalence))
    # With r = sin(angle) the integrand is exp(-z**2 / (1 + r)) / (2 pi), smooth up to 1.
    angle = np.arcsin(r) * (_NODES + 1) / 2
    both = (np.arcsin(r) / 2 * _WEIGHTS * np.exp(-(z**2) / (1 + np.sin(angle)))).sum(-1) / (2 * np.pi)
    return both / (prevalence * (1 - prevalence))


def leaning_correlation(lags: npt.ArrayLike, steady: float, persistence: float) -> np.ndarray:
    """Return ``steady + (1 - steady) persistence**lag``.

    Parameters
    ----------
    lags : array_like
        Months apart.
    steady, persistence : float
        Share that never changes, and monthly correlation of the rest.

    Returns
    -------
    numpy.ndarray
        Correlation of the leanings.
    """
    return steady + (1 - steady) * persistence ** np.abs(np.asarray(lags, float))
