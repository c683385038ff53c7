"""Share of women and of men whom a bench fits, standing and seated, by a joint normal model of body sizes.

Published methods give limits for a dimension, not a share for a room: the share is this project's own
construct. Dimensions enter with their correlations, never as summed percentiles.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from models.anthropometry import Body
from models.bench import FIT_RULE, Bench, FitRule
from models.sourced import measured

_REACH = 8.0  # SDs; what lies beyond is below 1e-15 of a population.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)


def standing_share(
    bench_height: ArrayLike, body: Body, rule: FitRule = FIT_RULE, *, platform: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return the share of one sex that can stand with elbows at a workable height.

    ``Phi((B + b - m) / s) - Phi((B + a - m) / s)`` with B the bench less the platform and m the elbow height
    with shoes. Data: ANSUR II (Gordon et al. 2014, NATICK/TR-15/007), published. Status: own construct.

    Parameters
    ----------
    bench_height : array_like
        Working surface above the floor, mm, in [400, 1600]; NaN where unknown.
    body : Body
        Dimensions of the sex.
    rule : FitRule
        Workable heights.
    platform : array_like
        Height of a platform to stand on, mm, in [0, 500].

    Returns
    -------
    ndarray
        Share 0-1, broadcast shape; NaN where the height is unknown.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    unit = "Give millimetres."
    bench = measured("bench height (mm)", bench_height, low=400.0, high=1600.0, remedy=unit)
    raised = measured("platform (mm)", platform, low=0.0, high=500.0, remedy=unit)
    least, most = rule.standing_elbow_above
    above = bench - raised - body.standing_elbow.mean - rule.shoes.value
    return ndtr((above + most) / body.standing_elbow.sd) - ndtr((above + least) / body.standing_elbow.sd)


def seat_range_share(
    low: ArrayLike, high: ArrayLike, body: Body, rule: FitRule = FIT_RULE
) -> NDArray[np.float64]:
    """Return the share of one sex whose popliteal height with shoes lies in a chair's range.

    ``Phi((high - m) / s) - Phi((low - m) / s)``. Data: ANSUR II (Gordon et al. 2014, NATICK/TR-15/007),
    published. Status: own construct.

    Parameters
    ----------
    low, high : array_like
        Lowest and highest seat, mm, in [200, 1200]; NaN where unknown.
    body : Body
        Dimensions of the sex.
    rule : FitRule
        Holds what shoes add.

    Returns
    -------
    ndarray
        Share 0-1, broadcast shape; NaN where the range is unknown, 0 where it is empty.

    Raises
    ------
    ValueError
        If an input is out of bounds.
    """
    unit = "Give millimetres."
    ends = [
        measured(name, seat, low=200.0, high=1200.0, remedy=unit) - body.popliteal.mean - rule.shoes.value
        for name, seat in (("lowest seat (mm)", low), ("highest seat (mm)", high))
    ]
    return np.maximum(ndtr(ends[1] / body.popliteal.sd) - ndtr(ends[0] / body.popliteal.sd), 0.0)


def seated_share(bench: Bench, body: Body, rule: FitRule = FIT_RULE) -> float:
    """Return the share of one sex for whom some seat height of the chair fits the bench.

    A seat s in the chair's range exists with the elbow at s + elbow rest in [B + a, B + b], the thigh at
    s + thigh clearance + gap <= B - thickness, and, without foot support, s <= popliteal height + shoes.
    Integrates the joint normal density of the three dimensions over the people who fit. Data: ANSUR II
    (Gordon et al. 2014, NATICK/TR-15/007), published; against the people measured the model was off by at
    most 0.02 where it could be compared. Status: own construct.

    Parameters
    ----------
    bench : Bench
        Bench and chair.
    body : Body
        Dimensions of the sex.
    rule : FitRule
        Workable heights, gap and shoes.

    Returns
    -------
    float
        Share 0-1; NaN where a measure of bench or chair is unknown.
    """
    least, most = rule.seated_elbow_above
    under = bench.height - bench.thickness - rule.thigh_gap
    known = np.isfinite([under, bench.chair_low, bench.chair_high]).all()
    if not known or bench.foot_support is None:
        return float("nan")
    elbow, reach = body.elbow_rest, _REACH * body.elbow_rest.sd
    lowest = max(bench.height + least - bench.chair_high, elbow.mean - reach)
    highest = min(bench.height + most - bench.chair_low, elbow.mean + reach)
    # The lowest seat that lifts the elbow to the bench, the chair allowing, bends here; a rule of integration
    # is exact only where the integrand is smooth.
    bend = float(np.clip(bench.height + least - bench.chair_low, lowest, max(lowest, highest)))
    total = 0.0
    for start, end in ((lowest, bend), (bend, highest)):
        if end > start:
            rest = (start + end) / 2 + (end - start) / 2 * _NODES
            seat = np.maximum(bench.chair_low, bench.height + least - rest)
            room = _room_given_elbow(rest, under - seat, None if bench.foot_support else seat, body, rule)
            density = np.exp(-(((rest - elbow.mean) / elbow.sd) ** 2) / 2) / (elbow.sd * np.sqrt(2 * np.pi))
            total += float((end - start) / 2 * np.sum(_WEIGHTS * density * room))
    return min(total, 1.0)


def _room_given_elbow(
    rest: NDArray[np.float64],
    thigh_at_most: NDArray[np.float64],
    seat: NDArray[np.float64] | None,
    body: Body,
    rule: FitRule,
) -> NDArray[np.float64]:
    """Return P(thigh clearance <= limit and, with a seat given, popliteal + shoes >= seat | elbow rest)."""
    z = (rest - body.elbow_rest.mean) / body.elbow_rest.sd
    r_thigh, r_popliteal = body.elbow_rest_with_thigh, body.popliteal_with_elbow_rest
    thigh_sd, popliteal_sd = np.sqrt(1 - r_thigh**2), np.sqrt(1 - r_popliteal**2)
    thigh = ((thigh_at_most - body.thigh_clearance.mean) / body.thigh_clearance.sd - r_thigh * z) / thigh_sd
    if seat is None:
        return ndtr(thigh)
    knee = (
        (seat - rule.shoes.value - body.popliteal.mean) / body.popliteal.sd - r_popliteal * z
    ) / popliteal_sd
    # Correlation of what elbow rest does not explain in the two.
    partial = (body.popliteal_with_thigh - r_thigh * r_popliteal) / (thigh_sd * popliteal_sd)
    start = np.clip(knee, -_REACH, _REACH)[:, None]
    half = (_REACH - start) / 2
    point = start + half * (1 + _NODES)
    density = np.exp(-(point**2) / 2) / np.sqrt(2 * np.pi)
    fits = ndtr((thigh[:, None] - partial * point) / np.sqrt(1 - partial**2))
    return np.sum(_WEIGHTS * half * density * fits, axis=1)
