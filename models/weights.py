"""Answers weighted back to everybody asked: chances of answering from the past, and truncation."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit

from models.pooled import pooled_groups, wilson_limits

TRUNCATE = (0.01, 0.99)
"""Quantiles of the weights beyond which they are cut."""

RIDGE = 1e-6
"""Pull towards no effect; only so that a fit exists where one answer settles everything."""


@dataclass(frozen=True)
class Weighted:
    """Prevalence with and without weights.

    Attributes
    ----------
    plain, weighted : float
        Shares of the answers.
    low, high : float
        Interval of the weighted share over people.
    effective_n : float
        Independent answers that would carry as much (weights and repeats).
    largest : float
        Largest weight over the mean weight.
    """

    plain: float
    weighted: float
    low: float
    high: float
    effective_n: float
    largest: float


def logistic_fit(design: npt.ArrayLike, outcome: npt.ArrayLike, ridge: float = RIDGE) -> np.ndarray:
    """Return coefficients of a logistic regression by iterated least squares.

    Parameters
    ----------
    design : array_like, shape (n, k)
        Columns, the constant among them.
    outcome : array_like of bool, shape (n,)
        Outcome.
    ridge : float
        Penalty on squared coefficients.

    Returns
    -------
    numpy.ndarray
        Coefficients, shape (k,).
    """
    x, y = np.asarray(design, dtype=float), np.asarray(outcome, dtype=float)
    # Columns of very different size would make the normal equations ill-conditioned.
    size = np.where((scale := np.abs(x).max(0, initial=0.0)) > 0, scale, 1.0)
    x, beta = x / size, np.zeros(x.shape[1])
    for _ in range(50):
        p = expit(x @ beta)
        weight = np.maximum(p * (1 - p), 1e-10)
        step = np.linalg.solve(
            x.T @ (weight[:, None] * x) + ridge * np.eye(len(beta)), x.T @ (y - p) - ridge * beta
        )
        beta += np.clip(step, -5, 5)
        if np.abs(step).max() < 1e-10:
            break
    return beta / size


def chances(design: npt.ArrayLike, outcome: npt.ArrayLike) -> np.ndarray:
    """Return fitted chances of an outcome.

    Parameters
    ----------
    design : array_like, shape (n, k)
        Columns, the constant among them.
    outcome : array_like of bool, shape (n,)
        Outcome.

    Returns
    -------
    numpy.ndarray
        Chances, shape (n,).
    """
    return expit(np.asarray(design, dtype=float) @ logistic_fit(design, outcome))


def answer_weights(
    design: npt.ArrayLike,
    answered: npt.ArrayLike,
    stabilise: npt.ArrayLike | None = None,
    truncate: tuple[float, float] = TRUNCATE,
) -> np.ndarray:
    """Return inverse-probability weights of those who answered.

    ``P(answer | stabilise) / P(answer | design)``, cut at quantiles; Robins, Hernan and Brumback 2000,
    Epidemiology 11:550.

    Parameters
    ----------
    design : array_like, shape (n, k)
        What may drive answering (age, role, last recorded symptom, own history), the constant among them.
    answered : array_like of bool, shape (n,)
        Who answered.
    stabilise : array_like, shape (n, j), optional
        Columns of the numerator; by default the constant.
    truncate : tuple of float
        Quantiles at which the weights are cut.

    Returns
    -------
    numpy.ndarray
        Shape (n,); 0 for those who did not answer. All 1 where everybody or nobody did.
    """
    said = np.asarray(answered, dtype=bool)
    if said.all() or not said.any():
        return said.astype(float)
    below = chances(design, said)
    above = said.mean() if stabilise is None else chances(stabilise, said)
    weight = np.where(said, above / np.maximum(below, 1e-6), 0.0)
    low, high = np.quantile(weight[said], truncate)
    return np.where(said, np.clip(weight, low, high), 0.0)


def weighted_prevalence(
    case: npt.ArrayLike, weight: npt.ArrayLike, person: npt.ArrayLike, level: float = 0.95
) -> Weighted | None:
    """Return the prevalence with and without weights.

    The effective number of answers is that of repeats (see `models.pooled`) times Kish's
    ``(sum w)**2 / (n sum w**2)`` (Kish 1965, Survey Sampling); Wilson's interval on it.

    Parameters
    ----------
    case : array_like of bool, shape (n,)
        Discomfort.
    weight : array_like, shape (n,)
        Weights; 0 for those who did not answer.
    person : array_like of int, shape (n,)
        Code of the person.

    level : float
        Confidence level.

    Returns
    -------
    Weighted or None
        None where nobody answered.
    """
    w = np.asarray(weight, dtype=float)
    kept = w > 0
    if not kept.any():
        return None
    hit, w = np.asarray(case, dtype=float)[kept], w[kept]
    pooled = pooled_groups(hit, np.asarray(person)[kept], np.zeros(len(w), int), 1, level)
    share = float(w @ hit / w.sum())
    n = float(pooled.effective_n[0]) * float(w.sum() ** 2 / (len(w) * (w @ w)))
    low, high = wilson_limits(share, n, level)
    return Weighted(float(hit.mean()), share, float(low), float(high), n, float(w.max() / w.mean()))
