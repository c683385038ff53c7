"""Small teams' shares drawn towards the others': beta-binomial empirical Bayes."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.special import betaincinv, betaln, expit, logit


@dataclass(frozen=True)
class Prior:
    """A beta distribution of teams' shares.

    Attributes
    ----------
    alpha, beta : float
        Its parameters: weight in answers with and without discomfort.
    """

    alpha: float
    beta: float


@dataclass(frozen=True)
class Shrunk:
    """Shrunk shares, arrays of shape (teams,).

    Attributes
    ----------
    share, low, high : numpy.ndarray
        Posterior mean and central interval. The prior is taken as known, which makes the interval a little
        short.
    """

    share: np.ndarray
    low: np.ndarray
    high: np.ndarray


def moment_prior(cases: npt.ArrayLike, n: npt.ArrayLike) -> Prior | None:
    """Return the beta distribution with the mean and variance of the raw shares.

    ``alpha + beta = m(1-m)/v - 1``, ``alpha = m (alpha + beta)``; Gelman and others, Bayesian Data
    Analysis, chapter 5.

    Parameters
    ----------
    cases, n : array_like, shape (teams,)
        Cases and answers; teams without answers are left out.

    Returns
    -------
    Prior or None
        None with fewer than three teams, or where the shares spread too little or too much for a beta.
    """
    x, size = np.asarray(cases, dtype=float), np.asarray(n, dtype=float)
    share = x[size > 0] / size[size > 0]
    if len(share) < 3:
        return None
    mean, variance = float(share.mean()), float(share.var(ddof=1))
    weight = mean * (1 - mean) / variance - 1 if variance > 0 else 0.0
    return Prior(mean * weight, (1 - mean) * weight) if weight > 0 and 0 < mean < 1 else None


def fitted_prior(cases: npt.ArrayLike, n: npt.ArrayLike) -> Prior | None:
    """Return the beta distribution of greatest marginal likelihood.

    Parameters
    ----------
    cases, n : array_like, shape (teams,)
        Cases and (effective) answers; need not be whole.

    Returns
    -------
    Prior or None
        None with fewer than three teams, or where nobody or everybody has it.
    """
    x, size = np.asarray(cases, dtype=float), np.asarray(n, dtype=float)
    x, size = x[size > 0], size[size > 0]
    if len(x) < 3 or not 0 < x.sum() < size.sum():
        return None

    def loss(theta: np.ndarray) -> float:
        mean, weight = expit(theta[0]), np.exp(np.clip(theta[1], -4, 9))
        a, b = mean * weight, (1 - mean) * weight
        return -float((betaln(x + a, size - x + b) - betaln(a, b)).sum())

    start = np.array([logit(x.sum() / size.sum()), np.log(10.0)])
    mean, weight = minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-10}).x
    weight = float(np.exp(np.clip(weight, -4, 9)))
    return Prior(float(expit(mean)) * weight, (1 - float(expit(mean))) * weight)


def shrink(cases: npt.ArrayLike, n: npt.ArrayLike, prior: Prior, level: float = 0.95) -> Shrunk:
    """Return posterior means and intervals of teams' shares.

    ``(cases + alpha) / (n + alpha + beta)``; a team without answers gets the prior.

    Parameters
    ----------
    cases, n : array_like, shape (teams,)
        Cases and (effective) answers.
    prior : Prior
        Distribution of the teams' shares.
    level : float
        Level of the interval.

    Returns
    -------
    Shrunk
        Shares between 0 and 1.
    """
    a = np.asarray(cases, dtype=float) + prior.alpha
    b = np.asarray(n, dtype=float) - np.asarray(cases, dtype=float) + prior.beta
    tail = (1 - level) / 2
    return Shrunk(a / (a + b), betaincinv(a, b, tail), betaincinv(a, b, 1 - tail))
