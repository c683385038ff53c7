"""Marginal likelihood of a logistic model with intercepts of workers nested in teams.

Nothing of the joint Hessian is dense: a worker meets only their own team, so that everything is a sum over
codes, a scalar for each worker and one for each team.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logsumexp

from models.driver_records import Refusal, Refused

_STEPS = 100
_NEAR = 1e-8
_FAR = 0.5


@dataclass(frozen=True)
class Rows:
    """Answers with inner codes nested in outer codes.

    Attributes
    ----------
    cases, size : numpy.ndarray, shape (rows,)
        Cases out of answers.
    x : numpy.ndarray, shape (rows, p)
        Design.
    inner, outer : numpy.ndarray of int, shape (rows,)
        Codes from 0.
    outer_of : numpy.ndarray of int, shape (inner codes,)
        Outer code of each inner code.
    levels : int
        Outer codes.
    """

    cases: np.ndarray
    size: np.ndarray
    x: np.ndarray
    inner: np.ndarray
    outer: np.ndarray
    outer_of: np.ndarray
    levels: int

    def by_inner(self, values: np.ndarray) -> np.ndarray:
        """Return sums over rows by inner code."""
        return np.bincount(self.inner, weights=values, minlength=len(self.outer_of))

    def by_outer(self, values: np.ndarray) -> np.ndarray:
        """Return sums over inner codes by outer code."""
        return np.bincount(self.outer_of, weights=values, minlength=self.levels)


@dataclass(frozen=True)
class Modes:
    """Joint modes of the intercepts, in standard deviations, with the Hessian there.

    Attributes
    ----------
    a, b : numpy.ndarray
        Outer and inner modes.
    rest, weight : numpy.ndarray, shape (rows,)
        Residual ``y - n m`` and working weight ``n m (1 - m)``.
    slope : numpy.ndarray, shape (rows,)
        Derivative of the weight by the linear predictor.
    own : numpy.ndarray, shape (inner codes,)
        Summed weight.
    inner, cross : numpy.ndarray, shape (inner codes,)
        Hessian of an inner intercept, and with its outer one.
    outer : numpy.ndarray, shape (outer codes,)
        Hessian of an outer intercept once the inner ones are eliminated.
    """

    a: np.ndarray
    b: np.ndarray
    rest: np.ndarray
    weight: np.ndarray
    slope: np.ndarray
    own: np.ndarray
    inner: np.ndarray
    cross: np.ndarray
    outer: np.ndarray

    def solve(self, rows: Rows, up: np.ndarray, down: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the inverse Hessian times a vector of outer and inner parts."""
        first = (up - rows.by_outer(self.cross * down / self.inner)) / self.outer
        return first, (down - self.cross * first[rows.outer_of]) / self.inner


def rows_of(
    cases: npt.ArrayLike,
    size: npt.ArrayLike,
    x: npt.ArrayLike,
    inner: npt.ArrayLike,
    outer: npt.ArrayLike | None,
) -> Rows:
    """Return answers with codes from 0; an inner code seen with two outer codes becomes two.

    Parameters
    ----------
    cases, size : array_like, shape (rows,)
        Cases out of answers.
    x : array_like, shape (rows, p)
        Design.
    inner : array_like of int, shape (rows,)
        Inner codes.
    outer : array_like of int, shape (rows,), optional
        Outer codes; by default one for all.

    Returns
    -------
    Rows
        The answers.
    """
    who = np.asarray(inner)
    group = np.zeros(len(who), int) if outer is None else np.unique(outer, return_inverse=True)[1].ravel()
    kept, code = np.unique(np.column_stack([group, who]), axis=0, return_inverse=True)
    arrays = (np.asarray(cases, float), np.asarray(size, float), np.asarray(x, float))
    return Rows(*arrays, code.ravel(), group, kept[:, 0], int(group.max()) + 1)


def modes_of(
    rows: Rows, fixed: np.ndarray, inner_sd: float, outer_sd: float, start: tuple[np.ndarray, np.ndarray]
) -> Modes:
    """Return the joint modes of the intercepts by Newton's method.

    Parameters
    ----------
    rows : Rows
        Answers.
    fixed : numpy.ndarray, shape (rows,)
        Linear predictor without intercepts.
    inner_sd, outer_sd : float
        Standard deviations s and t.
    start : tuple of numpy.ndarray
        Outer and inner values to start from.

    Returns
    -------
    Modes
        Modes and Hessian.

    Raises
    ------
    Refused
        If they do not settle.
    """
    s, t = inner_sd, outer_sd
    a, b = start

    def cost(up: np.ndarray, down: np.ndarray) -> float:
        eta = fixed + t * up[rows.outer] + s * down[rows.inner]
        told = (rows.size * np.logaddexp(0, eta) - rows.cases * eta).sum()
        return float(told + ((up**2).sum() + (down**2).sum()) / 2)

    for _ in range(_STEPS):
        at = _hessian(rows, fixed, s, t, a, b)
        pull = rows.by_inner(at.rest)
        move_a, move_b = at.solve(rows, t * rows.by_outer(pull) - a, s * pull - b)
        most = max(float(np.abs(move_a).max()), float(np.abs(move_b).max()))
        if most < _NEAR:
            return at
        held = 1.0
        if not most < _FAR:
            # Far from the modes a full step may overshoot; the cost is convex, so some shorter one does not.
            here = cost(a, b)
            while held > 1e-6 and not cost(a + held * move_a, b + held * move_b) <= here:
                held /= 2
        a, b = a + held * move_a, b + held * move_b
    why = "the intercepts did not settle"
    raise Refused(Refusal("The sensitivity with random intercepts", why, "More answers of the same workers"))


def _hessian(rows: Rows, fixed: np.ndarray, s: float, t: float, a: np.ndarray, b: np.ndarray) -> Modes:
    mean = expit(fixed + t * a[rows.outer] + s * b[rows.inner])
    weight = rows.size * mean * (1 - mean)
    own = rows.by_inner(weight)
    inner, cross = 1 + s * s * own, s * t * own
    outer = 1 + rows.by_outer(t * t * own - cross**2 / inner)
    slope = weight * (1 - 2 * mean)
    return Modes(a, b, rows.cases - rows.size * mean, weight, slope, own, inner, cross, outer)


def minus_log_likelihood(
    rows: Rows, fixed: np.ndarray, inner_sd: float, outer_sd: float, at: Modes, nodes: int
) -> float:
    """Return the marginal likelihood by adaptive Gauss-Hermite quadrature at both levels.

    Around the joint modes, inner integrals around their own modes given each outer node; Pinheiro and Chao
    2006, J Comput Graph Stat 15:58. One node is Laplace's approximation.

    Parameters
    ----------
    rows : Rows
        Answers.
    fixed : numpy.ndarray, shape (rows,)
        Linear predictor without intercepts.
    inner_sd, outer_sd : float
        Standard deviations.
    at : Modes
        Joint modes.
    nodes : int
        Points a level.

    Returns
    -------
    float
        Minus the log-likelihood, without the binomial constants.
    """
    place, weight = np.polynomial.hermite.hermgauss(nodes)
    # Without an outer spread its integral is 1 and one point does.
    outer_rule = (place, weight) if outer_sd > 0 else (np.zeros(1), np.array([np.sqrt(np.pi)]))
    parts = []
    for z, share in zip(*outer_rule, strict=True):
        level = at.a + z * np.sqrt(2 / at.outer)
        inside = _inner_integrals(rows, fixed + outer_sd * level[rows.outer], inner_sd, at.b, place, weight)
        parts.append(
            rows.by_outer(inside) + np.log(share) + z * z - (np.log(at.outer * np.pi) + level**2) / 2
        )
    return -float(logsumexp(parts, axis=0).sum())


def _inner_integrals(
    rows: Rows, fixed: np.ndarray, s: float, start: np.ndarray, place: np.ndarray, weight: np.ndarray
) -> np.ndarray:
    b, steep = start, np.ones_like(start)
    for _ in range(_STEPS):
        mean = expit(fixed + s * b[rows.inner])
        steep = 1 + s * s * rows.by_inner(rows.size * mean * (1 - mean))
        move = (s * rows.by_inner(rows.cases - rows.size * mean) - b) / steep
        b = b + np.clip(move, -1, 1)
        if np.abs(move).max() < _NEAR:
            break
    parts = []
    for z, share in zip(place, weight, strict=True):
        at = b + z * np.sqrt(2 / steep)
        eta = fixed + s * at[rows.inner]
        told = rows.by_inner(rows.cases * eta - rows.size * np.logaddexp(0, eta))
        parts.append(told + np.log(share) + z * z - (np.log(steep * np.pi) + at**2) / 2)
    return np.asarray(logsumexp(parts, axis=0))
