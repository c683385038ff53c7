"""Solving the estimating equations of a marginal model: links, Newton's steps, singularity, separation."""

from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.special import expit

from models.driver_records import Refusal, Refused

Link = Literal["log", "logit", "identity"]
STEPS = 50
SINGULAR = 1e-9
_NEAR = 1e-9
_FAR = 13.0


def mean_of(link: Link, linear: npt.ArrayLike) -> np.ndarray:
    """Return expected values from the linear predictor.

    Parameters
    ----------
    link : Link
        The link.
    linear : array_like
        Linear predictor.

    Returns
    -------
    numpy.ndarray
        Same shape.
    """
    eta = np.asarray(linear, float)
    return np.exp(eta) if link == "log" else expit(eta) if link == "logit" else eta


def variance_of(link: Link, mean: np.ndarray) -> np.ndarray:
    """Return the working variance, which is also the slope of the mean as every link is canonical.

    Parameters
    ----------
    link : Link
        The link.
    mean : numpy.ndarray
        Expected values.

    Returns
    -------
    numpy.ndarray
        Same shape.
    """
    return mean if link == "log" else mean * (1 - mean) if link == "logit" else np.ones_like(mean)


def check_rank(design: np.ndarray, many: np.ndarray) -> None:
    """Refuse a design whose columns repeat each other.

    Parameters
    ----------
    design : numpy.ndarray, shape (rows, p)
        Columns.
    many : numpy.ndarray, shape (rows,)
        Weight of each row.

    Raises
    ------
    Refused
        If the columns' correlation matrix is singular.
    """
    scaled = design * np.sqrt(many)[:, None]
    length = np.sqrt((scaled**2).sum(0))
    cross = scaled.T @ scaled / np.outer(np.maximum(length, 1e-300), np.maximum(length, 1e-300))
    if (length == 0).any() or np.linalg.eigvalsh(cross)[0] < SINGULAR:
        why = "two terms of the model say the same (singular fit)"
        raise Refused(Refusal("The association", why, "Leave out the term that repeats another"))


def solve(
    y: np.ndarray, x: np.ndarray, many: np.ndarray, link: Link, start: npt.ArrayLike | None
) -> tuple[np.ndarray, int]:
    """Return the coefficients that solve the estimating equations, by Newton's steps.

    Parameters
    ----------
    y : numpy.ndarray, shape (rows,)
        Cases.
    x : numpy.ndarray, shape (rows, p)
        Design.
    many : numpy.ndarray, shape (rows,)
        Answers behind each row.
    link : Link
        Link.
    start : array_like, shape (p,), optional
        Where to start.

    Returns
    -------
    coefficient : numpy.ndarray, shape (p,)
        Solution.
    steps : int
        Steps taken.

    Raises
    ------
    Refused
        Where all answers are alike, a term separates them, or nothing converges.
    """
    if link == "identity":
        return np.linalg.solve(x.T @ (many[:, None] * x), x.T @ y), 1
    if not 0 < y.sum() < many.sum():
        raise Refused(
            Refusal("The association", "nobody or everybody has discomfort", "Answers of both kinds")
        )
    beta = _first(y, x, many, link) if start is None else np.array(start, float)
    loss = loss_of(y, x, many, link, beta)
    for step in range(1, STEPS + 1):
        mean = mean_of(link, x @ beta)
        weight = many * variance_of(link, mean)
        cross = x.T @ (weight[:, None] * x)
        try:
            move = np.linalg.solve(cross, x.T @ (y - many * mean))
        except np.linalg.LinAlgError:
            break
        # A full Newton step may overshoot far from the solution; halving it always ends below.
        for _ in range(30):
            tried = loss_of(y, x, many, link, beta + move)
            if tried <= loss + 1e-10 * abs(loss):
                break
            move = move / 2
        beta, loss = beta + move, tried
        if np.abs(move * np.sqrt(np.diag(cross))).max() < _NEAR * np.sqrt(max(weight.sum(), 1)):
            _check_separation(x, beta)
            return beta, step
    _check_separation(x, beta)
    why = f"the fit did not converge in {STEPS} steps"
    raise Refused(Refusal("The association", why, "Fewer terms, or more answers"))


def _first(y: np.ndarray, x: np.ndarray, many: np.ndarray, link: Link) -> np.ndarray:
    share = (y.sum() + 0.5) / (many.sum() + 1)
    level = np.log(share) if link == "log" else np.log(share / (1 - share))
    return np.linalg.lstsq(x, np.full(len(y), level), rcond=None)[0]


def loss_of(y: np.ndarray, x: np.ndarray, many: np.ndarray, link: Link, beta: np.ndarray) -> float:
    """Return minus the working log-likelihood without constants.

    Parameters
    ----------
    y : numpy.ndarray, shape (rows,)
        Cases.
    x : numpy.ndarray, shape (rows, p)
        Design.
    many : numpy.ndarray, shape (rows,)
        Answers behind each row.
    link : Link
        Link.
    beta : numpy.ndarray, shape (p,)
        Coefficients.

    Returns
    -------
    float
        Lower fits better.
    """
    eta = x @ beta
    if link == "identity":
        return float((many * eta**2 / 2 - y * eta).sum())
    top = np.exp(np.minimum(eta, 700)) if link == "log" else np.logaddexp(0, eta)
    return float((many * top - y * eta).sum())


def _check_separation(x: np.ndarray, beta: np.ndarray) -> None:
    # Separated answers run off to no risk at all, or under a logit to certainty, and stop where digits end.
    eta = x @ beta
    if eta.min() < -_FAR or eta.max() > _FAR:
        why = "a term separates answers with discomfort from those without"
        raise Refused(Refusal("The association", why, "Answers of both kinds at all levels, or fewer terms"))
