"""Shape of an association: straight line, spline, and a test of whether there is a bend at all."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import f as f_distribution

from models.curve_shapes import SPLINE_QUANTILES, spline_columns
from models.driver_data import DriverData
from models.driver_design import check_answers, design_of, step_of
from models.driver_fit import GroupFit, fit_groups
from models.driver_records import Kind, Refusal, Refused
from models.driver_solve import Link
from models.driver_windows import patterns

EDGES = (0.025, 0.975)
"""Quantiles of exposure between which curves are drawn: outside stand single people."""

Columns = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Shaped:
    """A model whose exposure enters by some columns, with what is needed to draw it.

    Attributes
    ----------
    exposure, unit : str
        What runs along x.
    kind : Kind
        Which curve it is.
    columns : callable
        Exposure of shape (n,) to columns of shape (n, k).
    knots : tuple of float
        Knots.
    observed : tuple of float
        Exposure the curve covers.
    fit : GroupFit
        Constant, columns, the rest.
    rest : numpy.ndarray, shape (patterns, p - k - 1)
        The other columns, each pattern once.
    mass : numpy.ndarray, shape (patterns,)
        Share of answers of each pattern.
    """

    exposure: str
    unit: str
    kind: Kind
    columns: Columns
    knots: tuple[float, ...]
    observed: tuple[float, float]
    fit: GroupFit
    rest: np.ndarray
    mass: np.ndarray


@dataclass(frozen=True)
class Curvature:
    """Test of a bend: the spline's non-linear terms together.

    Attributes
    ----------
    f : float
        F value.
    p : float
        p value.
    df : tuple of float
        Degrees of freedom above and below.
    """

    f: float
    p: float
    df: tuple[float, float]


def spline_knots(values: np.ndarray) -> tuple[float, ...]:
    """Return four knots at the 5, 35, 65 and 95 % quantiles.

    Harrell 2015, Regression Modeling Strategies, 2nd edition, section 2.4.6.

    Parameters
    ----------
    values : numpy.ndarray, shape (answers,)
        Exposure.

    Returns
    -------
    tuple of float
        Knots.

    Raises
    ------
    Refused
        If knots coincide.
    """
    knots = np.quantile(values, SPLINE_QUANTILES)
    if (np.diff(knots) <= 1e-9 * max(np.ptp(values), 1e-300)).any():
        why = "a third of the answers or more have one and the same exposure"
        raise Refused(Refusal("The shape", why, "Exposure measured more finely, or more varied"))
    return tuple(knots.tolist())


def shaped_fit(
    data: DriverData,
    exposure: str,
    kind: Kind,
    columns: Columns,
    knots: tuple[float, ...],
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    link: Link = "log",
) -> Shaped:
    """Fit a model whose exposure enters by some columns.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    kind : Kind
        What to call the curve.
    columns : callable
        Exposure to columns.
    knots : tuple of float
        Knots, for the record.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held as they are.
    link : Link
        Link.

    Returns
    -------
    Shaped
        The fit.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    check_answers(data, exposure)
    values = data.column(exposure).astype(float)
    rest = design_of(data, beside, adjust).x[:, 1:]
    x = np.hstack([np.ones((len(data), 1)), columns(values), rest])
    fit = fit_groups(data.case, x, data.team, link=link)
    first, _, count = patterns(rest) if rest.shape[1] else (np.zeros(1, int), None, np.ones(1))
    low, high = np.quantile(values, EDGES)
    observed = (float(low), float(high))
    unit = step_of(exposure)[1]
    return Shaped(exposure, unit, kind, columns, knots, observed, fit, rest[first], count / count.sum())


def line_fit(data: DriverData, exposure: str, adjust: Sequence[str] = (), **options) -> Shaped:
    """Fit a straight line (on the scale of the link).

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    **options
        ``beside`` and ``link`` of `shaped_fit`.

    Returns
    -------
    Shaped
        The fit.
    """
    step = step_of(exposure)[0]
    return shaped_fit(data, exposure, "line", lambda x: x[:, None] / step, (), adjust, **options)


def spline_fit(data: DriverData, exposure: str, adjust: Sequence[str] = (), **options) -> Shaped:
    """Fit a restricted cubic spline with four knots.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    **options
        ``beside`` and ``link`` of `shaped_fit`.

    Returns
    -------
    Shaped
        The fit.

    Raises
    ------
    Refused
        If knots coincide, or the data cannot answer.
    """
    knots = spline_knots(data.column(exposure))
    step = step_of(exposure)[0]
    return shaped_fit(
        data, exposure, "spline", lambda x: spline_columns(x, knots) / step, knots, adjust, **options
    )


def curvature(spline: Shaped) -> Curvature:
    """Test whether the spline's non-linear terms are all nothing.

    Hotelling's form for few clusters: ``F = (d - q + 1)/(d q) b' V^-1 b`` on q and d - q + 1 degrees of
    freedom, d = clusters - 1; as in Pustejovsky and Tipton 2018, J Bus Econ Stat 36:672, with plain d.

    Parameters
    ----------
    spline : Shaped
        A fitted spline.

    Returns
    -------
    Curvature
        The test.

    Raises
    ------
    Refused
        With too few teams for the test.
    """
    q = len(spline.knots) - 2
    own = slice(2, 2 + q)
    d = spline.fit.groups - 1.0
    if d < q + 1:
        why = f"{spline.fit.groups} teams are too few to test for a bend"
        raise Refused(Refusal("The shape", why, f"Answers from at least {q + 2} teams"))
    beta, covariance = spline.fit.coefficient[own], spline.fit.covariance[own, own]
    f = float((d - q + 1) / (d * q) * (beta @ np.linalg.solve(covariance, beta)))
    return Curvature(f, float(f_distribution.sf(f, q, d - q + 1)), (float(q), d - q + 1))
