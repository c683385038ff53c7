"""Shapes that a curve may have, each fitted alone: a line, a spline, a line with one bend."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.driver_fit import GroupFit, fit_groups
from models.driver_records import Refusal, Refused

LINE, SPLINE, HINGE = "line", "spline", "hinge"
SPLINE_QUANTILES = (0.05, 0.35, 0.65, 0.95)
"""Knots of the restricted cubic spline; Harrell FE, Regression Modeling Strategies, chapter 2."""

HINGE_QUANTILES = (0.25, 0.50, 0.75)
"""Where a bent line may bend; own choice, so that no knot has to be searched for. It may rise before it too:
a hinge flat by decree put the budget of a straight truth 0.9 h too high in simulation."""


@dataclass(frozen=True)
class Shape:
    """One shape of the curve, fitted.

    Attributes
    ----------
    name : str
        ``line``, ``spline`` or ``hinge`` (a line with one bend).
    knots : tuple of float
        Where it bends; none for a line.
    weight : float
        Its weight in the average.
    """

    name: str
    knots: tuple[float, ...]
    weight: float


def spline_columns(x: npt.ArrayLike, knots: Sequence[float]) -> np.ndarray:
    """Return the basis of a restricted cubic spline, linear beyond the outer knots.

    ``x`` and, for j = 1 .. k-2, ``[(x-t_j)+^3 - (x-t_{k-1})+^3 (t_k-t_j)/(t_k-t_{k-1})
    + (x-t_k)+^3 (t_{k-1}-t_j)/(t_k-t_{k-1})] / (t_k-t_1)^2`` (Harrell FE, Regression Modeling Strategies,
    chapter 2).

    Parameters
    ----------
    x : array_like, shape (n,)
        Exposure.
    knots : sequence of float
        At least three, rising.

    Returns
    -------
    numpy.ndarray, shape (n, k - 1)
        The columns.

    Raises
    ------
    Refused
        If the knots do not rise.
    """
    t, at = np.asarray(knots, dtype=float), np.asarray(x, dtype=float)
    if len(t) < 3 or np.any(np.diff(t) <= 0):
        raise Refused(Refusal("The spline", "exposure takes too few values", "More varied exposure"))

    def cube(knot: float) -> np.ndarray:
        return np.maximum(at - knot, 0.0) ** 3

    last, before = t[-1], t[-2]
    columns = [
        (cube(k) - cube(before) * (last - k) / (last - before) + cube(last) * (before - k) / (last - before))
        / (last - t[0]) ** 2
        for k in t[:-2]
    ]
    return np.column_stack([at, *columns])


@dataclass(frozen=True)
class ShapeFit:
    """A shape fitted alone.

    Attributes
    ----------
    name : str
        ``line``, ``spline`` or ``hinge``.
    knots : tuple of float
        Where it bends.
    mix : numpy.ndarray, shape (c, c)
        Turns the shape's columns into upright ones, as they stand in the fit.
    beta : numpy.ndarray, shape (1 + c + k,)
        Constant, shape, covariates.
    influence : numpy.ndarray, shape (clusters, 1 + c + k)
        What each cluster moves the coefficients by.
    loglik : float
        Log-likelihood under independence.
    inflation : float
        How much repeats inflate the variance of the shape's coefficients; at least 1.
    """

    name: str
    knots: tuple[float, ...]
    mix: np.ndarray
    beta: np.ndarray
    influence: np.ndarray
    loglik: float
    inflation: float


def shape_columns(name: str, knots: tuple[float, ...], x: np.ndarray) -> np.ndarray:
    """Return the columns of a shape.

    Parameters
    ----------
    name : str
        ``line`` (x), ``spline`` (:func:`spline_columns`) or ``hinge`` (x and ``(x - knot)+``).
    knots : tuple of float
        Where it bends.
    x : numpy.ndarray, shape (n,)
        Exposure.

    Returns
    -------
    numpy.ndarray, shape (n, c)
        The columns.
    """
    if name == LINE:
        return x[:, None]
    return spline_columns(x, knots) if name == SPLINE else np.column_stack([x, np.maximum(x - knots[0], 0.0)])


def candidate_shapes(
    x: np.ndarray, weight: np.ndarray, names: Sequence[str]
) -> list[tuple[str, tuple[float, ...]]]:
    """List the shapes that the exposure's spread allows, with their knots at quantiles.

    Parameters
    ----------
    x : numpy.ndarray, shape (n,)
        Exposure.
    weight : numpy.ndarray, shape (n,)
        Answers a row stands for.
    names : sequence of str
        Kinds wanted.

    Returns
    -------
    list of tuple
        Name and knots; no spline where quantiles coincide.
    """
    order = np.argsort(x)
    share = np.cumsum(weight[order]) / weight.sum()

    def quantile(at: float) -> float:
        return float(x[order][min(np.searchsorted(share, at), len(x) - 1)])

    found: list[tuple[str, tuple[float, ...]]] = [(LINE, ())] if LINE in names else []
    knots = tuple(quantile(q) for q in SPLINE_QUANTILES)
    if SPLINE in names and len(set(knots)) == len(knots):
        found.append((SPLINE, knots))
    if HINGE in names:
        inner = sorted({quantile(q) for q in HINGE_QUANTILES} - {float(x.min())})
        found += [(HINGE, (knot,)) for knot in inner]
    return found


def fit_shape(
    name: str,
    knots: tuple[float, ...],
    x: np.ndarray,
    y: np.ndarray,
    z: np.ndarray,
    weight: np.ndarray,
    cluster: np.ndarray,
) -> ShapeFit:
    """Fit one shape by a logistic estimating equation.

    Parameters
    ----------
    name : str
        Kind of shape.
    knots : tuple of float
        Where it bends.
    x, y : numpy.ndarray, shape (n,)
        Exposure, and share with discomfort.
    z : numpy.ndarray, shape (n, k)
        Covariates.
    weight : numpy.ndarray, shape (n,)
        Answers a row stands for.
    cluster : numpy.ndarray, shape (n,)
        What the repeats belong to.

    Returns
    -------
    ShapeFit
        The fit.

    Raises
    ------
    Refused
        See `models.driver_fit.fit_groups`.
    """
    base = shape_columns(name, knots, x)
    # Columns of one shape lean on each other; upright ones keep coefficients of a readable size.
    mix = np.linalg.inv(np.linalg.qr(base - base.mean(axis=0))[1]) * np.sqrt(len(x))
    base = base @ mix
    design = np.column_stack([np.ones(len(x)), base, z])
    fit = fit_groups(weight * y, design, cluster, link="logit", size=weight)
    influence = _influence(fit)
    # How much the clusters inflate the variance of the exposure's own columns: without it, weights of shapes
    # would be far too sure of themselves (quasi-AIC; Burnham KP, Anderson DR 2002, section 2.5).
    own = slice(1, 1 + base.shape[1])
    robust = influence[:, own].T @ influence[:, own]
    inflation = float(np.trace(np.linalg.solve(fit.bread[own, own], robust)) / base.shape[1])
    at = design @ fit.coefficient
    loglik = float(weight @ (y * at - np.logaddexp(0.0, at)))
    return ShapeFit(name, knots, mix, fit.coefficient, influence, loglik, max(inflation, 1.0))


def _influence(fit: GroupFit) -> np.ndarray:
    """Return what each cluster moves the coefficients by; the cross product is Mancl-DeRouen's covariance."""
    shrink = np.eye(len(fit.bread)) - fit.information @ fit.bread
    return np.linalg.solve(shrink, fit.score[..., None])[..., 0] @ fit.bread


def quasi_weights(fits: Sequence[ShapeFit]) -> np.ndarray:
    """Return weights from quasi-AIC, ``exp(-QAIC/2)``; Burnham KP, Anderson DR 2002, section 2.9.

    The richest shape says for all how much the clusters inflate; with a factor of its own for each, the one
    with the largest would win.

    Parameters
    ----------
    fits : sequence of ShapeFit
        Fits to the same rows.

    Returns
    -------
    numpy.ndarray, shape (fits,)
        Weights, summing to 1.
    """
    inflation = max(fits, key=lambda fit: len(fit.beta)).inflation
    scores = np.array([-2 * fit.loglik / inflation + 2 * len(fit.beta) for fit in fits])
    likely = np.exp(-(scores - scores.min()) / 2)
    return likely / likely.sum()
