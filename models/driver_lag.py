"""Exposure of earlier months: a lag curve held smooth by a polynomial, and its sum."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from models.driver_data import DriverData
from models.driver_design import check_answers, design_of, step_of
from models.driver_effect import MEASURES, prevalence_effect
from models.driver_fit import fit_groups
from models.driver_records import Effect, LagPicture, Refusal, Refused
from models.driver_solve import Link
from models.driver_windows import ExposureHistory, lag_windows

LAGS = 6
"""Months back."""

DEGREE = 2
"""Degree of the polynomial along the lag."""


def lag_basis(lags: int, degree: int) -> np.ndarray:
    """Return an orthonormal polynomial basis over lags 0 to `lags`.

    Parameters
    ----------
    lags : int
        Last lag.
    degree : int
        Degree; with ``degree == lags`` the curve is free.

    Returns
    -------
    numpy.ndarray, shape (lags + 1, degree + 1)
        Columns of rising degree.

    Raises
    ------
    ValueError
        If the degree exceeds the last lag.
    """
    if not 0 <= degree <= lags:
        raise ValueError(f"degree {degree} is outside 0 to {lags}")
    place = np.linspace(-1, 1, lags + 1) if lags else np.zeros(1)
    return np.linalg.qr(np.vander(place, degree + 1, increasing=True))[0]


def lag_picture(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    history: ExposureHistory | None = None,
    lags: int = LAGS,
    degree: int = DEGREE,
    step: float | None = None,
    link: Link = "log",
) -> LagPicture:
    """Return the ratio per step at each lag, and for a step more in all months.

    ``log prevalence = ... + sum_l b_l exposure_(t-l)`` with ``b = C theta``, C a polynomial of low degree
    (Almon 1965, Econometrica 33:178; distributed lags: Gasparrini and others 2010, Stat Med 29:2224). Only
    answers whose months are all known. Teams as clusters, Mancl-DeRouen errors, t with teams - 1.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        ``hours`` or ``force``.
    adjust : sequence of str
        Covariates of the declared set.
    history : ExposureHistory, optional
        Exposure of all months.
    lags, degree : int
        Months back and degree of the polynomial.
    step : float, optional
        Step.
    link : Link
        ``log`` for prevalence ratios.

    Returns
    -------
    LagPicture
        The curve and its sum.

    Raises
    ------
    Refused
        If no window is complete, exposure never changes in time, or the data cannot answer.
    """
    check_answers(data, exposure)
    kept, window = lag_windows(data, exposure, lags, history)
    used = data.where(kept)
    check_answers(used, exposure)
    size, unit = step_of(exposure, step)
    basis = lag_basis(lags, degree)
    if lags and np.ptp(window, axis=1).max() == 0:
        why = f"{exposure} is the same in all {lags + 1} months of every answer"
        raise Refused(Refusal("The lag picture", why, f"Months in which {exposure} of a person differs"))
    rest = design_of(used, (), adjust)
    own = basis.shape[1]
    x = np.hstack([rest.x[:, :1], window @ basis / size, rest.x[:, 1:]])
    fit = fit_groups(used.case, x, used.team, link=link)
    pad = np.zeros((lags + 1, x.shape[1]))
    pad[:, 1 : own + 1] = basis
    curve = np.array([[e.value, e.low, e.high] for e in map(fit.estimate, pad)])
    ratio, low, high = np.exp(curve.T)
    total = fit.estimate(pad.sum(0))
    words = (
        f"distributed lag over {lags} months, polynomial of degree {degree}, {MEASURES[link]},"
        f" teams as clusters, Mancl-DeRouen errors, t with {fit.groups - 1} degrees of freedom"
    )
    return LagPicture(
        exposure, unit, size, tuple(range(lags + 1)),
        tuple(ratio.tolist()), tuple(low.tolist()), tuple(high.tolist()),
        float(np.exp(total.value)), float(np.exp(total.low)), float(np.exp(total.high)), total.p, total.df,
        len(used), used.people, used.teams, len(data) - len(used), words,
    )  # fmt: skip


def window_effects(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    history: ExposureHistory | None = None,
    lags: int = LAGS,
    step: float | None = None,
    link: Link = "log",
) -> tuple[Effect, Effect]:
    """Return the same month's association among all answers and among those with a complete window.

    Where the two differ, the lag picture speaks about other people than the headline.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        ``hours`` or ``force``.
    adjust : sequence of str
        Covariates of the declared set.
    history : ExposureHistory, optional
        Exposure of all months.
    lags : int
        Months back.
    step : float, optional
        Step.
    link : Link
        Link.

    Returns
    -------
    everybody, complete : Effect
        The associations.

    Raises
    ------
    Refused
        If no window is complete, or the data cannot answer.
    """
    kept, _ = lag_windows(data, exposure, lags, history)
    everybody, complete = (
        prevalence_effect(part, exposure, adjust, step=step, link=link) for part in (data, data.where(kept))
    )
    return everybody, replace(complete, question="prevalence, complete windows")
