"""Is there a level of exposure below which nothing is seen? Said only where the interval supports it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.driver_data import DriverData
from models.driver_fit import GroupFit
from models.driver_records import Refused
from models.driver_shape import Columns, Curvature, curvature, line_fit, shaped_fit, spline_fit
from models.driver_solve import Link

PLACES = tuple(np.linspace(0.2, 0.8, 13).round(2).tolist())
"""Quantiles of exposure at which a threshold is looked for."""

LEVEL = 0.05


@dataclass(frozen=True)
class Threshold:
    """What can be said about a threshold.

    Attributes
    ----------
    low, high : float or None
        Range of places that the data support; None where no threshold is supported.
    bend : Curvature or None
        Test of any bend; None where it could not be tested.
    sentence : str
        What can be said.
    """

    low: float | None
    high: float | None
    bend: Curvature | None
    sentence: str


def threshold(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    link: Link = "log",
) -> Threshold:
    """Say whether the data support a threshold, and where.

    The family "nothing up to t, a straight rise above" holds the straight line at its edge. The best t is
    that of least working deviance. Another place is excluded where the best one adds to it at 5 % (team
    errors); the places left, with the gaps beside them, are the interval (it held the truth in 187 of 192
    simulated worlds with a threshold). A threshold is named only if the spline shows a bend at 5 %, the
    straight line is excluded allowing for all places tried (Bonferroni), and the slope below the best place
    is compatible with nothing but not with the straight line's. Rules of our own.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held as they are.
    link : Link
        Link.

    Returns
    -------
    Threshold
        The range supported, or none, in words.

    Raises
    ------
    Refused
        If the data cannot answer about the straight line either.
    """
    line = line_fit(data, exposure, adjust, beside=beside, link=link)
    seen = f"{line.observed[0]:.1f} to {line.observed[1]:.1f} {line.unit}".strip()
    try:
        bend = curvature(spline_fit(data, exposure, adjust, beside=beside, link=link))
    except Refused as refused:
        why = refused.refusal.why
        return Threshold(None, None, None, f"No threshold is named: {why}. A straight line is shown.")
    if bend.p >= LEVEL:
        words = (
            f"No threshold is named: over {seen} the data do not tell a bent curve from a straight line"
            f" ({_p(bend.p)})."
        )
        return Threshold(None, None, bend, words)
    values = data.column(exposure)
    places = np.unique(np.quantile(values, PLACES)).tolist()
    single = {t: _bent((t,)) for t in places}

    def fitted(columns: Columns, knots: tuple[float, ...]) -> GroupFit:
        return shaped_fit(data, exposure, "line", columns, knots, adjust, beside=beside, link=link).fit

    best = min(places, key=lambda t: fitted(single[t], (t,)).loss)
    both = fitted(lambda x: np.column_stack([x, single[best](x)]), (best,))
    below, change = (both.estimate(unit) for unit in np.eye(len(both.coefficient))[1:3])
    straight = line.fit.coefficient[1] * float(line.columns(np.ones(1))[0, 0])
    found = []
    if change.value > 0 and change.p < LEVEL / len(places) and below.low <= 0 and below.high < straight:
        found = [t for t in places if t == best or _left(fitted(_bent((t, best)), (t, best)))]
    if not found:
        words = (
            f"No threshold is named: the curve bends over {seen} ({_p(bend.p)}), but no level stands out"
            " below which nothing rises."
        )
        return Threshold(None, None, bend, words)
    # Between the last place left and the first excluded nothing was tried: the interval reaches over it.
    low = places[max(places.index(min(found)) - 1, 0)]
    high = places[min(places.index(max(found)) + 1, len(places) - 1)]
    place = f"{low:.1f} to {high:.1f}"
    words = (
        f"The data support a threshold at {place} {line.unit}: no rise is seen below and one is above."
        " It is an association in these groups, not a safe limit."
    )
    return Threshold(low, high, bend, words)


def _bent(knots: tuple[float, ...]) -> Columns:
    return lambda x: np.maximum(x[:, None] - np.array(knots), 0.0)


def _left(fit: GroupFit) -> bool:
    """Return whether a place stands when the best one is put beside it."""
    return fit.estimate(np.eye(len(fit.coefficient))[2]).p >= LEVEL


def _p(p: float) -> str:
    return "p below 0.001" if p < 0.001 else f"p {p:.2f}" if p >= 0.095 else f"p {p:.3f}"
