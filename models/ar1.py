"""Regression with errors that hang together from month to month, by restricted maximum likelihood."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

_GRID = np.tanh(np.linspace(-1.8, 2.65, 61))


@dataclass(frozen=True)
class SeriesFit:
    """Regressions with AR(1) errors; leading axis: series.

    Attributes
    ----------
    coefficient, error : numpy.ndarray, shape (series, p)
        Generalised least squares and its standard errors.
    rho : numpy.ndarray, shape (series,)
        Autocorrelation.
    sigma2 : numpy.ndarray, shape (series,)
        Variance of the innovations.
    """

    coefficient: np.ndarray
    error: np.ndarray
    rho: np.ndarray
    sigma2: np.ndarray


def ar1_reml(series: npt.ArrayLike, design: npt.ArrayLike) -> SeriesFit:
    """Fit regressions with AR(1) errors by restricted maximum likelihood over a grid of rho.

    Minimises ``(n-p) log RSS(rho) + log|V(rho)| + log|X'V^-1 X|`` with ``V^-1`` from the Prais-Winsten
    transformation, ``log|V| = -log(1 - rho**2)``; the standard errors are those of generalised least squares.

    Parameters
    ----------
    series : array_like, shape (series, months) or (months,)
        Outcome.
    design : array_like, shape (months, p)
        Regressors.

    Returns
    -------
    SeriesFit
        One element a series.
    """
    y = np.atleast_2d(np.asarray(series, float))
    x = np.asarray(design, float)
    n, p = x.shape
    best = np.full(len(y), np.inf)
    coefficient, error = np.zeros((len(y), p)), np.zeros((len(y), p))
    rho, sigma2 = np.zeros(len(y)), np.zeros(len(y))
    for value in _GRID:
        xt, yt = _whitened(x.T, value).T, _whitened(y, value)
        q, r = np.linalg.qr(xt)
        found = np.linalg.solve(r, q.T @ yt.T).T
        rss = np.maximum((yt**2).sum(1) - ((yt @ q) ** 2).sum(1), 1e-300)
        loss = (n - p) * np.log(rss) - np.log(1 - value**2) + 2 * np.log(np.abs(np.diag(r))).sum()
        better = loss < best
        best[better] = loss[better]
        rho[better] = value
        sigma2[better] = rss[better] / (n - p)
        coefficient[better] = found[better]
        inverse = np.linalg.inv(r)
        error[better] = np.sqrt(sigma2[better, None] * (inverse**2).sum(1))
    return SeriesFit(coefficient, error, rho, sigma2)


def draw_ar1(rng: np.random.Generator, rho: float, sigma2: float, months: int, drawn: int) -> np.ndarray:
    """Draw stationary AR(1) errors.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    rho, sigma2 : float
        Autocorrelation and variance of the innovations.
    months, drawn : int
        Length and number of the series.

    Returns
    -------
    numpy.ndarray, shape (drawn, months)
        The errors.
    """
    noise = rng.standard_normal((drawn, months)) * np.sqrt(sigma2)
    noise[:, 0] /= np.sqrt(1 - rho**2)
    for month in range(1, months):
        noise[:, month] += rho * noise[:, month - 1]
    return noise


def _whitened(rows: np.ndarray, rho: float) -> np.ndarray:
    out = rows.copy()
    out[:, 1:] -= rho * rows[:, :-1]
    out[:, 0] *= np.sqrt(1 - rho**2)
    return out
