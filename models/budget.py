"""How many hours a week go with a given rise of discomfort: a benchmark dose in hours."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from models.shape_average import AveragedCurve

RISE = 0.10
"""Rise of prevalence that the budget stands for: 10 points, own convention; with ``EXTRA`` the customary
benchmark response of 10 % extra risk (Crump KS 1984, Fundam Appl Toxicol 4:854)."""

BOUND = 0.05


class Rise(StrEnum):
    """How the rise is counted."""

    ADDED = "added"
    EXTRA = "extra"


@dataclass(frozen=True)
class Budget:
    """Weekly hours at which predicted prevalence has risen by a stated amount.

    Attributes
    ----------
    hours : float or None
        Where the curve has risen so far; None where it does not within what was observed.
    low : float or None
        One-sided 95 % lower bound; None where even that lies beyond what was observed.
    floor, floor_at : float
        Predicted prevalence at the lowest exposure observed, and that exposure.
    reach : float
        Highest exposure observed.
    rise : float
        Rise, as a share.
    kind : Rise
        Points above the floor, or a share of those without discomfort at the floor.
    """

    hours: float | None
    low: float | None
    floor: float
    floor_at: float
    reach: float
    rise: float
    kind: Rise

    @property
    def sentence(self) -> str:
        """What it says, in one sentence."""
        rise = f"{100 * self.rise:.0f}"
        what = f"{rise} points" if self.kind is Rise.ADDED else f"{rise} % of those without"
        over = f"above the {100 * self.floor:.0f} % at {self.floor_at:.1f} h"
        if self.hours is not None:
            least = self.floor_at if self.low is None else self.low
            return (
                f"At {_short(self.hours)} h a week discomfort is {what} {over}; with 95 % confidence not "
                f"before {_short(least)} h."
            )
        if self.low is not None:
            return (
                f"The hours cannot be estimated: within the {self.reach:.1f} h a week observed discomfort "
                f"does not rise by {what} {over}. From {_short(self.low)} h on such a rise is not ruled out."
            )
        return (
            f"The hours cannot be estimated: a rise by {what} {over} is ruled out within the "
            f"{self.reach:.1f} h a week observed, and nothing is known beyond."
        )


def _short(hours: float) -> str:
    return f"{round(hours, 1):g}"


def first_crossing(grid: np.ndarray, values: np.ndarray, level: np.ndarray) -> np.ndarray:
    """Return where curves first reach a level, by straight lines between the points.

    Parameters
    ----------
    grid : numpy.ndarray, shape (points,)
        Rising exposures.
    values : numpy.ndarray, shape (curves, points)
        Curves.
    level : numpy.ndarray, shape (curves,)
        Level of each.

    Returns
    -------
    numpy.ndarray, shape (curves,)
        Exposure; infinite where the level is not reached.
    """
    above = values >= level[:, None]
    reached, first = above.any(axis=1), above.argmax(axis=1)
    before = np.maximum(first - 1, 0)
    rows = np.arange(len(values))
    rise = values[rows, first] - values[rows, before]
    part = np.divide(level - values[rows, before], rise, out=np.ones(len(rise)), where=rise > 0)
    at = grid[before] + np.clip(part, 0, 1) * (grid[first] - grid[before])
    return np.where(reached, np.where(first == 0, grid[0], at), np.inf)


def hours_budget(
    curve: AveragedCurve, *, rise: float = RISE, kind: Rise = Rise.ADDED, bound: float = BOUND
) -> Budget:
    """Return the hours at which a curve has risen by a stated amount above its own floor.

    Added: ``P(h) - P(h0) = rise``. Extra: ``(P(h) - P(h0)) / (1 - P(h0)) = rise``. ``h0`` is the lowest
    exposure of the curve. The lower bound is the `bound` quantile of the same over the draws of the curve,
    each against its own floor; a draw that never rises so far counts as beyond every bound.

    Parameters
    ----------
    curve : AveragedCurve
        Standardised risk with draws.
    rise : float
        Rise, a share above 0 and below 1.
    kind : Rise
        How it is counted.
    bound : float
        Share of draws below the lower bound.

    Returns
    -------
    Budget
        Hours and bound; None where they lie beyond the curve.

    Raises
    ------
    ValueError
        If the rise is no share.
    """
    if not 0 < rise < 1:
        raise ValueError(f"a rise of {rise} is no share between 0 and 1")
    floor = float(curve.risk[0])

    def level(base: np.ndarray) -> np.ndarray:
        return base + rise * (1 if kind is Rise.ADDED else 1 - base)

    found = float(first_crossing(curve.grid, curve.risk[None], level(curve.risk[:1]))[0])
    drawn = np.sort(first_crossing(curve.grid, curve.draws, level(curve.draws[:, 0])))
    # No interpolation: between a number and infinity there is nothing.
    low = float(drawn[int(np.floor(bound * (len(drawn) - 1)))])
    return Budget(
        found if np.isfinite(found) else None,
        min(low, found) if np.isfinite(low) else None,
        floor, float(curve.grid[0]), float(curve.grid[-1]), rise, kind,
    )  # fmt: skip
