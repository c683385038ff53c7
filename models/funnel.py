"""Which teams stand apart from the spread of all? A yearly funnel with over-dispersion, and no ranking.

Teams differ for many reasons that nobody measured. The limits are therefore widened by the spread that
the teams show among themselves, so that a team is named only when it stands outside that spread as well.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri
from scipy.stats import binom

from models.over_dispersion import Spread, over_dispersion

EXACT_BELOW = 20
"""Smaller teams take exact tails; the transformation is poor there."""

LEAST_TEAMS = 5
"""Fewer teams give no spread worth a name. Own convention."""

APART, OUTSIDE, ALIKE, HIGHER, LOWER, TOO_SMALL = (
    2.0,
    3.0,
    "within the spread",
    "higher",
    "lower",
    "too few answers",
)


@dataclass(frozen=True)
class Funnel:
    """A funnel, arrays of shape (teams,) in the order given.

    Attributes
    ----------
    target : float
        Share over all teams together.
    spread : Spread
        Over-dispersion.
    z : numpy.ndarray
        Adjusted z-scores; 0 where a team is too small.
    standing : tuple of str
        ``within the spread``, ``higher`` or ``lower`` (beyond 3), or ``too few answers``.
    near : tuple of bool
        Whether beyond 2 but not 3.
    low, high : numpy.ndarray
        Shares at the 3-sigma limits of each team's size.
    """

    target: float
    spread: Spread
    z: np.ndarray
    standing: tuple[str, ...]
    near: tuple[bool, ...]
    low: np.ndarray
    high: np.ndarray


def proportion_funnel(cases: npt.ArrayLike, n: npt.ArrayLike, *, least_n: float = 1.0) -> Funnel:
    """Compare proportions of teams with the spread of all.

    ``y = arcsin(sqrt(p))``, ``s = 1/(2 sqrt(n))``, ``z = (y - y_target)/sqrt(s**2 + tau2)``. Below 20
    answers z is the normal score of the exact binomial mid-tail, drawn in by the same
    ``s / sqrt(s**2 + tau2)``.

    Parameters
    ----------
    cases, n : array_like, shape (teams,)
        Cases and (effective) answers of each team; repeat answers of the same people must be discounted
        before.
    least_n : float
        Answers below which a team is not judged.

    Returns
    -------
    Funnel
        Standings in the order given; everybody ``too few answers`` with fewer than five teams to judge.
    """
    x, size = np.asarray(cases, dtype=float), np.asarray(n, dtype=float)
    if x.shape != size.shape or (x < 0).any() or (x > size).any():
        raise ValueError("cases and answers differ in shape, or a team has more cases than answers")
    judged = size >= max(least_n, 1e-9)
    whole, half_pi = size[judged].sum(), np.pi / 2
    target = float(x[judged].sum() / whole) if whole else 0.0
    error = 0.5 / np.sqrt(np.where(judged, size, 1.0))
    share = np.where(judged, x / np.where(judged, size, 1.0), target)
    centre = np.arcsin(np.sqrt(target))
    z = (np.arcsin(np.sqrt(share)) - centre) / error
    small = judged & (size < EXACT_BELOW)
    z[small] = _exact_scores(x[small], size[small], target)
    enough = judged.sum() >= LEAST_TEAMS
    spread = over_dispersion(z[judged], error[judged], consistent=True) if enough else Spread(1.0, 0.0)
    wide = np.sqrt(error**2 + spread.tau2)
    z = np.where(judged & enough, z * error / wide, 0.0)
    edge = [np.sin(np.clip(centre + sign * OUTSIDE * wide, 0, half_pi)) ** 2 for sign in (-1, 1)]
    words = tuple(_word(score, bool(ok and enough)) for score, ok in zip(z, judged, strict=True))
    near = tuple(bool(APART <= abs(score) < OUTSIDE) for score in z)
    return Funnel(target, spread, z, words, near, edge[0], edge[1])


def _word(score: float, judged: bool) -> str:
    if not judged:
        return TOO_SMALL
    return ALIKE if abs(score) < OUTSIDE else HIGHER if score > 0 else LOWER


def _exact_scores(cases: np.ndarray, n: np.ndarray, target: float) -> np.ndarray:
    """Return normal scores of the binomial mid-tail; halves of answers are rounded."""
    size, x = np.rint(n), np.rint(cases)
    x = np.minimum(x, size)
    below = binom.cdf(x - 1, size, target) + 0.5 * binom.pmf(x, size, target)
    return ndtri(np.clip(below, 1e-12, 1 - 1e-12))
