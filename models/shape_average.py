"""One curve out of several: line, spline and bent lines averaged, with draws that move them together."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit

from models.curve_shapes import (
    HINGE,
    LINE,
    SPLINE,
    Shape,
    ShapeFit,
    candidate_shapes,
    fit_shape,
    quasi_weights,
    shape_columns,
)
from models.driver_records import Refusal, Refused

STEPS = 60
BINS = 40


@dataclass(frozen=True)
class AveragedCurve:
    """Standardised risk over exposure, with draws that hold its uncertainty.

    Attributes
    ----------
    grid : numpy.ndarray, shape (points,)
        Exposure, from the low to the high edge of what was observed.
    risk : numpy.ndarray, shape (points,)
        Average over everybody of the predicted risk, had all of them this exposure.
    draws : numpy.ndarray, shape (draws, points)
        The same for draws from the joint distribution of all coefficients.
    shapes : tuple of Shape
        What it is averaged of.
    clusters : int
        People, or whatever the repeats belong to.
    observed : tuple of float
        Mean risk predicted at the exposures as they were, and with every exposure cut at `cut`.
    observed_draws : numpy.ndarray, shape (draws, 2)
        Draws of the two.
    cut : float
        Exposure at which the second of them is cut.
    """

    grid: np.ndarray
    risk: np.ndarray
    draws: np.ndarray
    shapes: tuple[Shape, ...]
    clusters: int
    observed: tuple[float, float]
    observed_draws: np.ndarray
    cut: float


def averaged_curve(
    exposure: npt.ArrayLike,
    outcome: npt.ArrayLike,
    cluster: npt.ArrayLike,
    rng: np.random.Generator,
    *,
    covariates: npt.ArrayLike | None = None,
    weights: npt.ArrayLike | None = None,
    edges: tuple[float, float] | None = None,
    shapes: Sequence[str] = (LINE, SPLINE, HINGE),
    cut: float = float("inf"),
    draws: int = 400,
) -> AveragedCurve:
    """Fit line, spline and bent line by logistic estimating equations and average the standardised risk.

    All shapes are fitted to the same rows with working independence (Liang KY, Zeger SL 1986, Biometrika
    73:13). Their influence values by cluster are stacked, so that draws move all shapes together:
    ``cov = sum_c psi_c psi_c'`` with Mancl-DeRouen's correction, ``beta* = beta + cov^(1/2) z /
    sqrt(chi2/df)``, df = G - 1.
    The risk at exposure h is ``mean_i expit(base(h) b + z_i g)`` over everybody's covariates (g-formula;
    Hernan MA, Robins JM, Causal Inference: What If, chapter 13), with covariate scores grouped into 40 bins.

    Parameters
    ----------
    exposure : array_like, shape (n,)
        Exposure.
    outcome : array_like, shape (n,)
        0 or 1, or a share with its number in `weights`.
    cluster : array_like, shape (n,)
        Whom each row belongs to.
    rng : numpy.random.Generator
        Source of chance of the draws.
    covariates : array_like, shape (n, k), optional
        Columns adjusted for, without a constant.
    weights : array_like, shape (n,), optional
        Answers a row stands for; 1 each by default.
    edges : tuple of float, optional
        Lowest and highest exposure spoken about; by default the smallest and largest.
    shapes : sequence of str
        Which shapes to average.
    cut : float
        Exposure at which :attr:`AveragedCurve.observed` is cut in its second entry.
    draws : int
        Draws.

    Returns
    -------
    AveragedCurve
        The curve.

    Raises
    ------
    Refused
        If there is one cluster, a constant exposure or outcome, or a fit does not converge.
    """
    x, y = np.asarray(exposure, dtype=float), np.asarray(outcome, dtype=float)
    z = np.zeros((len(x), 0)) if covariates is None else np.asarray(covariates, dtype=float)
    w = np.ones(len(x)) if weights is None else np.asarray(weights, dtype=float)
    if len(x) == 0 or np.ptp(x) == 0:
        raise Refused(
            Refusal("The curve", "exposure is the same in every answer", "People or months that differ")
        )
    _, index = np.unique(np.asarray(cluster), return_inverse=True)
    groups = int(index.max()) + 1
    fits = [fit_shape(name, knots, x, y, z, w, index) for name, knots in candidate_shapes(x, w, shapes)]
    share = quasi_weights(fits)
    low, high = edges or (float(x.min()), float(x.max()))
    grid = np.linspace(low, high, STEPS + 1)
    betas = _joint_draws(fits, groups, draws, rng)
    risk, drawn = np.zeros(len(grid)), np.zeros((draws, len(grid)))
    seen, seen_drawn = np.zeros(2), np.zeros((draws, 2))
    for fit, beta, part in zip(fits, betas, share, strict=True):
        columns = shape_columns(fit.name, fit.knots, grid) @ fit.mix
        middles, mass = _bins(z @ fit.beta[1 + columns.shape[1] :], z, w)
        risk += part * _standard(fit.beta[None], columns, middles, mass)[0]
        drawn += part * _standard(beta, columns, middles, mass)
        for place, at in enumerate((x, np.minimum(x, cut))):
            rows, own = _rows(fit, at, z, w)
            seen[place] += part * float(expit(rows @ fit.beta) @ own)
            seen_drawn[:, place] += part * (expit(beta @ rows.T) @ own)
    return AveragedCurve(
        grid, risk, drawn,
        tuple(Shape(f.name, f.knots, float(s)) for f, s in zip(fits, share, strict=True)),
        groups, (float(seen[0]), float(seen[1])), seen_drawn, cut,
    )  # fmt: skip


def _joint_draws(
    fits: Sequence[ShapeFit], groups: int, draws: int, rng: np.random.Generator
) -> list[np.ndarray]:
    stacked = np.hstack([fit.influence for fit in fits])
    # psi' times standard normals has the stacked covariance, also where that has no Cholesky factor.
    noise = rng.standard_normal((draws, groups)) @ stacked
    noise /= np.sqrt(rng.chisquare(groups - 1, draws) / (groups - 1))[:, None]
    ends = np.cumsum([0, *(len(fit.beta) for fit in fits)])
    return [fit.beta + noise[:, a:b] for fit, a, b in zip(fits, ends[:-1], ends[1:], strict=True)]


def _bins(
    offset: np.ndarray, z: np.ndarray, w: np.ndarray, bins: int = BINS
) -> tuple[np.ndarray, np.ndarray]:
    """Group rows by a score of theirs; averaging rows of nearly the same score costs next to nothing."""
    if not z.shape[1]:
        return np.zeros((1, 0)), np.ones(1)
    order = np.argsort(offset, kind="stable")
    edges = np.unique(np.arange(bins) * len(order) // bins)
    mass = np.add.reduceat(w[order], edges)
    return np.add.reduceat((w[:, None] * z)[order], edges) / mass[:, None], mass / mass.sum()


def _rows(fit: ShapeFit, at: np.ndarray, z: np.ndarray, w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Group rows by their whole score at the given exposure, for the mean over everybody."""
    design = np.column_stack([np.ones(len(at)), shape_columns(fit.name, fit.knots, at) @ fit.mix, z])
    return _bins(design @ fit.beta, design, w, 4 * BINS)


def _standard(beta: np.ndarray, columns: np.ndarray, middles: np.ndarray, mass: np.ndarray) -> np.ndarray:
    count = columns.shape[1]
    at = beta[:, :1] + beta[:, 1 : 1 + count] @ columns.T
    offset = beta[:, 1 + count :] @ middles.T
    return np.einsum("dpb,b->dp", expit(at[:, :, None] + offset[:, None, :]), mass)
