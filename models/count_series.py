"""Interrupted series of counts: log-linear regression with over-dispersion, a second look at one series."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

_TURNS = 50


@dataclass(frozen=True)
class CountFit:
    """Quasi-Poisson regression.

    Attributes
    ----------
    coefficient, error : numpy.ndarray, shape (p,)
        Log rate ratios and their standard errors, dispersion included.
    dispersion : float
        Pearson chi-square over degrees of freedom.
    """

    coefficient: np.ndarray
    error: np.ndarray
    dispersion: float

    def ratio(self, place: int, level: float = 0.95) -> tuple[float, float, float]:
        """Return a rate ratio with its normal limits."""
        half = float(ndtri(0.5 + level / 2)) * self.error[place]
        limits = self.coefficient[place] + np.array([0.0, -half, half])
        rate, low, high = np.exp(limits)
        return float(rate), float(low), float(high)


def quasi_poisson(counts: npt.ArrayLike, exposure: npt.ArrayLike, design: npt.ArrayLike) -> CountFit:
    """Fit ``log E(count) = log exposure + X b`` by iteratively reweighted least squares.

    Parameters
    ----------
    counts, exposure : array_like, shape (months,)
        Counts, and the people or hours they are out of.
    design : array_like, shape (months, p)
        Regressors, the constant included.

    Returns
    -------
    CountFit
        Fit with dispersion ``sum (y - m)**2 / m / (n - p)``; Wedderburn 1974, Biometrika 61:439.

    Raises
    ------
    ValueError
        If an exposure is not positive, a count negative, or the steps do not settle.
    """
    y, n, x = np.asarray(counts, float), np.asarray(exposure, float), np.asarray(design, float)
    if (n <= 0).any() or (y < 0).any():
        raise ValueError("counts are 0 or more and exposures positive")
    b = np.linalg.lstsq(x, np.log((y + 0.5) / n), rcond=None)[0]
    for _ in range(_TURNS):
        mean = n * np.exp(x @ b)
        step = np.linalg.solve(x.T @ (mean[:, None] * x), x.T @ (y - mean))
        b = b + step
        if np.abs(step).max() < 1e-10:
            break
    else:
        raise ValueError("the fit does not settle; a regressor may separate zero counts from the others")
    mean = n * np.exp(x @ b)
    dispersion = float(((y - mean) ** 2 / mean).sum() / (len(y) - x.shape[1]))
    inverse = np.linalg.inv(x.T @ (mean[:, None] * x))
    return CountFit(b, np.sqrt(dispersion * np.diag(inverse)), dispersion)
