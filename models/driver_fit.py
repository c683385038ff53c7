"""Estimating equations with few large clusters: fit, Mancl-DeRouen covariance, degrees of freedom.

Everything a cluster contributes is a vector of p scores and a p x p information, so that a cluster of
thousands of answers costs no more than one of ten.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri, stdtr, stdtrit

from models.driver_records import Refusal, Refused
from models.driver_solve import SINGULAR, Link, check_rank, loss_of, mean_of, solve, variance_of


@dataclass(frozen=True)
class Estimate:
    """A value with its 95 % interval.

    Attributes
    ----------
    value, low, high, error : float
        Value, limits and standard error.
    p : float
        Two-sided p value.
    df : float
        Degrees of freedom of t.
    """

    value: float
    low: float
    high: float
    error: float
    p: float
    df: float


@dataclass(frozen=True)
class GroupFit:
    """A fitted marginal model with an independence working structure.

    Attributes
    ----------
    coefficient : numpy.ndarray, shape (p,)
        Coefficients.
    covariance : numpy.ndarray, shape (p, p)
        Mancl-DeRouen covariance.
    bread : numpy.ndarray, shape (p, p)
        Inverse of the summed information A.
    score : numpy.ndarray, shape (G, p)
        Summed score of each cluster at the solution.
    information : numpy.ndarray, shape (G, p, p)
        Information of each cluster B.
    link : Link
        ``log`` (modified Poisson), ``logit`` or ``identity``.
    steps : int
        Newton steps taken.
    loss : float
        Minus the working log-likelihood; lower fits better, comparable between fits to the same answers.
    """

    coefficient: np.ndarray
    covariance: np.ndarray
    bread: np.ndarray
    score: np.ndarray
    information: np.ndarray
    link: Link
    steps: int
    loss: float = float("nan")

    @property
    def groups(self) -> int:
        """How many clusters."""
        return len(self.score)

    def plain_covariance(self) -> np.ndarray:
        """Return the sandwich covariance without correction, ``A sum(u u') A``."""
        return self.bread @ (self.score.T @ self.score) @ self.bread

    def carried(self, contrast: npt.ArrayLike) -> float:
        """Return over how many clusters the error of a contrast is spread, as degrees of freedom.

        The variance estimate is a sum over clusters of squares; under the working model the parts have
        covariance ``W_ij = k_i (delta_ij B_i - B_i A B_j) k_j'`` with ``k_i = c A (I - B_i A)^-1``.
        Satterthwaite's figure is ``trace(W)^2 / trace(W^2)``; Bell and McCaffrey 2002, Surv Methodol 28:169.
        It falls below G - 1 where few clusters carry the contrast. Not used for intervals: with this
        covariance it makes tests far too cautious (1-3 % instead of 5 %, simulated with 8 teams).

        Parameters
        ----------
        contrast : array_like, shape (p,)
            Weights of the coefficients.

        Returns
        -------
        float
            Degrees of freedom.
        """
        right = np.asarray(contrast, float) @ self.bread
        part = np.linalg.solve(
            np.swapaxes(np.eye(len(right)) - self.information @ self.bread, 1, 2),
            np.broadcast_to(right, self.score.shape)[..., None],
        )[..., 0]
        spread = np.einsum("gp,gpq->gq", part, self.information)
        shared = -spread @ self.bread @ spread.T
        shared[np.diag_indices_from(shared)] += np.einsum("gp,gp->g", spread, part)
        return float(np.trace(shared) ** 2 / (shared**2).sum())

    def error(self, contrast: npt.ArrayLike) -> float:
        """Return the standard error of a contrast.

        Parameters
        ----------
        contrast : array_like, shape (p,)
            Weights of the coefficients.

        Returns
        -------
        float
            Mancl-DeRouen standard error.
        """
        weight = np.asarray(contrast, float)
        return float(np.sqrt(weight @ self.covariance @ weight))

    def estimate(self, contrast: npt.ArrayLike, level: float = 0.95) -> Estimate:
        """Return a contrast of coefficients with its t interval on G - 1 degrees of freedom.

        Parameters
        ----------
        contrast : array_like, shape (p,)
            Weights of the coefficients.
        level : float
            Confidence level.

        Returns
        -------
        Estimate
            Value, limits, p.
        """
        weight = np.asarray(contrast, float)
        return t_estimate(float(weight @ self.coefficient), self.error(weight), self.groups - 1.0, level)


def t_estimate(value: float, error: float, df: float, level: float = 0.95) -> Estimate:
    """Return a value with its t interval and two-sided p.

    Parameters
    ----------
    value, error : float
        Value and standard error.
    df : float
        Degrees of freedom; may be infinite.
    level : float
        Confidence level.

    Returns
    -------
    Estimate
        The estimate.
    """
    half = float(stdtrit(df, 0.5 + level / 2) if np.isfinite(df) else ndtri(0.5 + level / 2)) * error
    t = -abs(value) / error if error > 0 else -np.inf
    p = float(2 * (stdtr(df, t) if np.isfinite(df) else ndtr(t)))
    return Estimate(value, value - half, value + half, error, p, df)


def fit_groups(
    y: npt.ArrayLike,
    x: npt.ArrayLike,
    cluster: npt.ArrayLike,
    *,
    link: Link = "log",
    size: npt.ArrayLike | None = None,
    start: npt.ArrayLike | None = None,
) -> GroupFit:
    """Fit a marginal model and its Mancl-DeRouen covariance.

    With clusters' design D, working variance V and residual r, ``sum_i D'V^-1 (I - H_i)^-1 r`` with
    ``H_i = D A D'V^-1`` equals ``sum_i (I - B_i A)^-1 u_i`` with ``u_i = D'V^-1 r`` and ``B_i = D'V^-1 D``,
    so that only p x p matrices are inverted. Mancl and DeRouen 2001, Biometrics 57:126; modified Poisson: Zou
    2004, Am J Epidemiol 159:702.

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome, or cases out of `size`.
    x : array_like, shape (rows, p)
        Design, the constant included.
    cluster : array_like, shape (rows,)
        Cluster of each row.
    link : Link
        ``log`` with Poisson variance, ``logit`` with binomial, ``identity`` with constant variance.
    size : array_like, shape (rows,), optional
        Answers behind each row, by default 1.
    start : array_like, shape (p,), optional
        Where to start.

    Returns
    -------
    GroupFit
        The fit.

    Raises
    ------
    Refused
        With fewer than two clusters, a singular design, separation or no convergence.
    """
    response, design = np.asarray(y, float), np.asarray(x, float)
    many = np.ones(len(response)) if size is None else np.asarray(size, float)
    order = np.argsort(np.asarray(cluster), kind="stable")
    ordered = np.asarray(cluster)[order]
    edge = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]]) if len(ordered) else np.zeros(0, int)
    if len(edge) < 2:
        raise Refused(
            Refusal(
                "The association", f"all answers come from {len(edge)} cluster", "Answers from more teams"
            )
        )
    response, design, many = response[order], design[order], many[order]
    check_rank(design, many)
    beta, steps = solve(response, design, many, link, start)
    mean = mean_of(link, design @ beta)
    weighted = design * (many * variance_of(link, mean))[:, None]
    ends = np.r_[edge[1:], len(response)]
    information = np.stack([design[a:b].T @ weighted[a:b] for a, b in zip(edge, ends, strict=True)])
    score = np.add.reduceat(design * (response - many * mean)[:, None], edge, axis=0)
    bread = np.linalg.inv(information.sum(0))
    covariance = mancl_derouen(bread, score, information)
    loss = loss_of(response, design, many, link, beta)
    return GroupFit(beta, covariance, bread, score, information, link, steps, loss)


def mancl_derouen(bread: np.ndarray, score: np.ndarray, information: np.ndarray) -> np.ndarray:
    """Return the Mancl-DeRouen covariance from what the clusters contribute.

    ``A sum_i (I - B_i A)^-1 u_i u_i' (I - A B_i)^-1 A``.

    Parameters
    ----------
    bread : numpy.ndarray, shape (p, p)
        Inverse A of the summed information.
    score : numpy.ndarray, shape (G, p)
        Scores u.
    information : numpy.ndarray, shape (G, p, p)
        Information B.

    Returns
    -------
    numpy.ndarray, shape (p, p)
        Covariance.

    Raises
    ------
    Refused
        If one cluster alone carries a term.
    """
    leverage = np.eye(len(bread)) - information @ bread
    if np.linalg.cond(leverage).max() > 1 / SINGULAR:
        why = "one team alone carries a term of the model"
        raise Refused(Refusal("The association", why, "The term in more teams, or a model without it"))
    raised = np.linalg.solve(leverage, score[..., None])[..., 0]
    return bread @ (raised.T @ raised) @ bread
