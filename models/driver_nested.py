"""Random intercepts of teams and of workers within them: a logistic model as sensitivity."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from models.driver_data import DriverData
from models.driver_design import check_answers, design_of, step_of
from models.driver_fit import fit_groups, t_estimate
from models.driver_quadrature import Modes, Rows, minus_log_likelihood, modes_of, rows_of
from models.driver_records import Effect, Refusal, Refused
from models.driver_solve import check_rank

SOURCE = "Pinheiro and Chao 2006, J Comput Graph Stat 15:58; Laplace's approximation"
_LOWEST, _HIGHEST = -6.0, 2.5
_NONE = 0.02


@dataclass(frozen=True)
class NestedFit:
    """Logistic model with normal random intercepts.

    Attributes
    ----------
    coefficient : numpy.ndarray, shape (p,)
        Log odds ratios given the intercepts; further from 0 than those of a marginal model.
    covariance : numpy.ndarray, shape (p, p)
        Covariance given the standard deviations.
    inner_sd, outer_sd : float
        Standard deviations of inner and outer intercepts, log-odds; 0 where none is found.
    log_likelihood : float
        Without the binomial constants.
    nodes : int
        Quadrature points a level; 1 is Laplace's approximation.
    """

    coefficient: np.ndarray
    covariance: np.ndarray
    inner_sd: float
    outer_sd: float
    log_likelihood: float
    nodes: int


def nested_fit(
    cases: npt.ArrayLike,
    size: npt.ArrayLike,
    x: npt.ArrayLike,
    inner: npt.ArrayLike,
    outer: npt.ArrayLike | None = None,
    *,
    nodes: int = 1,
) -> NestedFit:
    """Fit a logistic model with intercepts of inner codes nested in outer codes.

    Parameters
    ----------
    cases, size : array_like, shape (rows,)
        Cases out of answers.
    x : array_like, shape (rows, p)
        Design, the constant included.
    inner : array_like of int, shape (rows,)
        Workers.
    outer : array_like of int, shape (rows,), optional
        Teams.
    nodes : int
        Quadrature points a level; one has an exact gradient and is quick with tens of thousands of answers.

    Returns
    -------
    NestedFit
        The fit.

    Raises
    ------
    Refused
        If the design is singular, the marginal model is refused, or nothing converges.
    """
    rows = rows_of(cases, size, x, inner, outer)
    check_rank(rows.x, rows.size)
    marginal = fit_groups(rows.cases, rows.x, rows.inner, link="logit", size=rows.size)
    # Coefficients move along upright directions in units of their errors, so that one step size suits all.
    scale = np.linalg.cholesky(marginal.bread)
    p, two = len(scale), outer is not None
    warm = (np.zeros(rows.levels), np.zeros(len(rows.outer_of)))

    def at(theta: np.ndarray) -> tuple[np.ndarray, float, float, Modes]:
        nonlocal warm
        beta = marginal.coefficient + scale @ theta[:p]
        s, t = float(np.exp(theta[p])), float(np.exp(theta[p + 1])) if two else 0.0
        modes = modes_of(rows, rows.x @ beta, s, t, warm)
        warm = (modes.a, modes.b)
        return beta, s, t, modes

    def loss(theta: np.ndarray) -> float:
        beta, s, t, modes = at(theta)
        return minus_log_likelihood(rows, rows.x @ beta, s, t, modes, nodes)

    def loss_and_slope(theta: np.ndarray) -> tuple[float, np.ndarray]:
        beta, s, t, modes = at(theta)
        by_beta, by_s, by_t = _laplace_slope(rows, s, t, modes)
        slope = np.r_[by_beta @ scale, s * by_s, *([t * by_t] if two else [])]
        return minus_log_likelihood(rows, rows.x @ beta, s, t, modes, 1), slope

    bounds = [(-30.0, 30.0)] * p + [(_LOWEST, _HIGHEST)] * (1 + two)
    start = np.r_[np.zeros(p), 0.0, *([-1.5] if two else [])]
    rule: dict[str, Any] = {"method": "L-BFGS-B", "bounds": bounds}
    found = minimize(loss_and_slope, start, jac=True, options={"ftol": 1e-12, "gtol": 1e-4}, **rule)
    if nodes > 1:
        # Slopes of finer rules are taken by differences, which need a start close by.
        found = minimize(loss, found.x, jac="3-point", options={"ftol": 1e-13}, **rule)
    beta, s, t, modes = at(found.x)
    if not found.success or found.x[p] >= _HIGHEST:
        why = f"the model with random intercepts did not converge (spread of workers {s:.1f})"
        raise Refused(
            Refusal("The sensitivity with random intercepts", why, "More answers of the same workers")
        )
    covariance = np.linalg.inv(_information(rows, s, t, modes))
    inner_sd, outer_sd = (0.0 if sd < _NONE else sd for sd in (s, t))
    return NestedFit(beta, covariance, inner_sd, outer_sd, -float(found.fun), nodes)


def _laplace_slope(rows: Rows, s: float, t: float, at: Modes) -> tuple[np.ndarray, float, float]:
    """Return the derivative of Laplace's minus log-likelihood by coefficients and standard deviations.

    ``h(u) + log|H(u)| / 2`` at the modes u: the first part needs no derivative of u; that of the second
    enters through one solve with H (the adjoint).
    """
    tie = at.cross / at.inner
    lean = (t - s * tie) / at.outer[rows.outer_of]
    # Variance of t a + s b of a worker, and its covariance with b and with a.
    with_b = s / at.inner - tie * lean
    spread = t * lean + s * with_b
    push = 0.5 * spread[rows.inner] * at.slope
    up, down = at.solve(rows, t * rows.by_outer(rows.by_inner(push)), s * rows.by_inner(push))
    moved = (t * up[rows.outer] + s * down[rows.inner]) * at.weight
    row = push - at.rest - moved
    pull = rows.by_inner(at.rest)
    by_s = row @ at.b[rows.inner] + at.own @ with_b + down @ pull
    by_t = row @ at.a[rows.outer] + at.own @ lean + up @ rows.by_outer(pull)
    return rows.x.T @ row, float(by_s), float(by_t)


def _information(rows: Rows, s: float, t: float, at: Modes) -> np.ndarray:
    """Return the fixed part's Schur complement of the joint Hessian at the modes."""
    weighted = rows.x * at.weight[:, None]
    own = np.stack([rows.by_inner(column) for column in weighted.T], -1)
    lean = t - s * at.cross / at.inner
    teams = np.stack([rows.by_outer(lean * column) for column in own.T], -1)
    found = weighted.T @ rows.x - (own * (s * s / at.inner)[:, None]).T @ own
    return found - (teams / at.outer[:, None]).T @ teams


def nested_effect(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    step: float | None = None,
    nodes: int = 1,
) -> Effect:
    """Return the odds ratio per step given a worker's and a team's own level.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held fixed.
    step : float, optional
        Step.
    nodes : int
        Quadrature points a level.

    Returns
    -------
    Effect
        A conditional odds ratio: never to be put beside a marginal one. No difference in points.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    check_answers(data, exposure)
    size, unit = step_of(exposure, step)
    steps = [size, *(step_of(other)[0] for other in beside)]
    design = design_of(data, (exposure, *beside), adjust, steps=steps)
    fit = nested_fit(data.case, np.ones(len(data)), design.x, data.person, data.team, nodes=nodes)
    found = t_estimate(float(fit.coefficient[1]), float(np.sqrt(fit.covariance[1, 1])), float("inf"))
    words = (
        f"logistic model with normal intercepts of workers (spread {fit.inner_sd:.2f}) within teams"
        f" ({fit.outer_sd:.2f}), normal distribution; an odds ratio given a worker's own level"
    )
    return Effect(
        "random intercepts", exposure, size, unit,
        float(np.exp(found.value)), float(np.exp(found.low)), float(np.exp(found.high)),
        None, None, None, found.p, found.df,
        len(data), data.people, data.teams, "odds ratio", words, SOURCE,
    )  # fmt: skip
