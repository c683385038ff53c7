"""A curve that never falls, beside line and spline."""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import nnls

from models.driver_curve import POINTS, design_at
from models.driver_data import DriverData
from models.driver_records import Curve, Refusal, Refused
from models.driver_shape import Shaped, shaped_fit
from models.driver_solve import Link, mean_of

QUANTILES = (0.025, 0.2, 0.4, 0.6, 0.8, 0.975)
DRAWS = 400


def ramp_columns(x: np.ndarray, knots: Sequence[float]) -> np.ndarray:
    """Return ramps that rise from 0 to 1 between neighbouring knots.

    Parameters
    ----------
    x : numpy.ndarray, shape (n,)
        Exposure.
    knots : sequence of float
        Rising.

    Returns
    -------
    numpy.ndarray, shape (n, knots - 1)
        With weights of 0 or more their sum never falls.
    """
    at, t = np.asarray(x, float)[:, None], np.asarray(knots, float)
    return np.clip((at - t[:-1]) / np.diff(t), 0.0, 1.0)


def monotone_curve(
    data: DriverData,
    exposure: str,
    rng: np.random.Generator,
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    link: Link = "log",
    draws: int = DRAWS,
) -> Curve:
    """Return the standardised prevalence along exposure under the assumption that it never falls.

    Ramps between quantiles are fitted freely and then brought to the nearest coefficients without a falling
    ramp, distance measured by the information (the constrained estimate's limit; Silvapulle and Sen 2005,
    Constrained Statistical Inference, section 4.9). The band does the same with draws from the free fit's
    multivariate t. Where the free curve falls, this one is flat: it is no evidence for a rise.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    rng : numpy.random.Generator
        Draws of the band.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held as they are.
    link : Link
        Link.
    draws : int
        Draws.

    Returns
    -------
    Curve
        Of kind ``monotone``, in percent.

    Raises
    ------
    Refused
        If quantiles coincide, or the data cannot answer.
    """
    values = data.column(exposure)
    knots = tuple(np.quantile(values, QUANTILES).tolist())
    if (np.diff(knots) <= 1e-9 * max(float(np.ptp(values)), 1e-300)).any():
        why = "a fifth of the answers or more have one and the same exposure"
        raise Refused(Refusal("The monotone curve", why, "Exposure measured more finely, or more varied"))
    free = shaped_fit(
        data, exposure, "monotone", lambda x: ramp_columns(x, knots), knots, adjust, beside=beside, link=link
    )
    ramps = len(knots) - 1
    near = _rising(free.fit.coefficient, free, ramps)
    exact = _exact(data, free, near[1 : 1 + ramps] > 0, adjust, beside)
    # Nearest is exact close to the free fit only: the estimate is fitted anew without the ramps that fell,
    # and the draws keep their distance from it.
    drawn = np.array([_rising(beta, free, ramps) for beta in _draws(free, rng, draws)]) - near + exact
    held = np.vstack([exact, drawn])
    held[:, 1 : 1 + ramps] = np.maximum(held[:, 1 : 1 + ramps], 0)
    grid = np.linspace(*free.observed, POINTS)
    share = np.stack([mean_of(link, design_at(free, x) @ held.T).T @ free.mass for x in grid.tolist()], -1)
    low, high = 100 * np.quantile(share[1:], (0.025, 0.975), axis=0)
    return Curve(
        exposure, free.unit, tuple(grid.tolist()), tuple((100 * share[0]).tolist()), tuple(low.tolist()),
        tuple(np.minimum(high, 100.0).tolist()), "monotone", free.observed, knots,
    )  # fmt: skip


def _exact(
    data: DriverData, free: Shaped, rising: np.ndarray, adjust: Sequence[str], beside: Sequence[str]
) -> np.ndarray:
    """Return the coefficients fitted with rising ramps alone; a ramp that falls after all is left out too."""
    while True:
        kept = shaped_fit(
            data, free.exposure, "monotone", lambda x, on=rising: ramp_columns(x, free.knots)[:, on],
            free.knots, adjust, beside=beside, link=free.fit.link,
        ).fit.coefficient  # fmt: skip
        own = kept[1 : 1 + rising.sum()]
        if (own >= 0).all():
            full = np.zeros(len(kept) + (~rising).sum())
            full[np.r_[True, rising, np.ones(len(kept) - 1 - len(own), bool)]] = kept
            return full
        rising = rising.copy()
        rising[np.flatnonzero(rising)[own < 0]] = False


def _draws(free: Shaped, rng: np.random.Generator, draws: int) -> np.ndarray:
    values, vectors = np.linalg.eigh(free.fit.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0))
    df = free.fit.groups - 1
    noise = rng.normal(size=(draws, len(values))) @ root.T
    return free.fit.coefficient + noise * np.sqrt(df / rng.chisquare(df, draws))[:, None]


def _rising(beta: np.ndarray, free: Shaped, ramps: int) -> np.ndarray:
    """Return the nearest coefficients whose ramps do not fall; the others follow as they go together."""
    own = slice(1, 1 + ramps)
    block = free.fit.bread[own, own]
    root = np.linalg.cholesky(np.linalg.inv(block))
    nearest = nnls(root.T, root.T @ beta[own])[0]
    return beta + free.fit.bread[:, own] @ np.linalg.solve(block, nearest - beta[own])
