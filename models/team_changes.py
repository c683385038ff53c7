"""Effect of a change from before and after of few teams: one common start, or teams chosen on the outcome.

Cluster-robust errors are of no use with few teams. Here each team's change carries the variance of its own
people, teams differ by a variance of their own, and the error is judged by t with few degrees of freedom.
"""

from dataclasses import dataclass
from itertools import combinations
from math import comb
from typing import Any

import numpy as np
import numpy.typing as npt

from models.meta_regression import MetaFit, hartung_knapp
from models.team_sums import TeamSums

ENUMERATED = 20_000
"""Reassignments counted one by one; more are drawn at random."""

DRAWN = 1_999
_TURNS = 6


@dataclass(frozen=True)
class ChangeEffect:
    """Effect of a change on the share of answers with discomfort; below 0 is less discomfort.

    Attributes
    ----------
    effect, low, high, error : float
        Difference of changes, its 95 % interval and standard error, as shares.
    p : float
        Two-sided p value.
    df : int
        Degrees of freedom.
    tau2 : float
        Variance between teams' changes beyond their people's.
    """

    effect: float
    low: float
    high: float
    error: float
    p: float
    df: int
    tau2: float


@dataclass(frozen=True)
class Randomised:
    """Randomisation test.

    Attributes
    ----------
    p : float
        Share of reassignments with a statistic as large as the one found.
    smallest : float
        Smallest p that this design can give.
    reassignments : int
        Distinct reassignments of the change to teams.
    """

    p: float
    smallest: float
    reassignments: int


def change_fit(sums: TeamSums, dose: npt.ArrayLike) -> MetaFit:
    """Regress the teams' changes on what was done to them.

    Parameters
    ----------
    sums : TeamSums
        Before and after of the teams.
    dose : array_like, shape (..., teams)
        1 where changed, 0 elsewhere; or the share of the team that works the new way.

    Returns
    -------
    MetaFit
        Coefficient 1 is the effect.
    """
    x = np.asarray(dose, float)
    return hartung_knapp(sums.change, sums.variance(), np.stack([np.ones_like(x), x], -1))


def adjusted_fit(sums: TeamSums, dose: npt.ArrayLike) -> MetaFit:
    """Regress the teams' after on what was done to them and on their before (ANCOVA).

    A team chosen for its high baseline falls back by itself; the slope on the baseline, learnt from the
    teams not changed, takes that fall out. The variance of people is that of ``after - slope * before``, so
    slope and variances are found in turn.

    Parameters
    ----------
    sums : TeamSums
        Before and after of the teams.
    dose : array_like, shape (..., teams)
        1 where changed, 0 elsewhere.

    Returns
    -------
    MetaFit
        Coefficient 1 is the effect, coefficient 2 the slope on the baseline.
    """
    x = np.broadcast_to(np.asarray(dose, float), sums.before.shape)
    centred = sums.before - sums.before.mean(-1, keepdims=True)
    design = np.stack([np.ones_like(x), x, centred], -1)
    slope = np.full(x.shape[:-1], 0.5)
    fit = hartung_knapp(sums.after, sums.variance(slope), design)
    for _ in range(_TURNS):
        # A slope outside 0 to 1 is noise of few teams and would blow the variances up.
        slope = np.clip(fit.coefficient[..., 2], 0.0, 1.0)
        fit = hartung_knapp(sums.after, sums.variance(slope), design)
    return fit


def effect_of(fit: MetaFit, place: int = 1) -> ChangeEffect:
    """Return a coefficient of one fitted regression as a record.

    Parameters
    ----------
    fit : MetaFit
        A fit without leading axes.
    place : int
        Which coefficient.

    Returns
    -------
    ChangeEffect
        The record.
    """
    low, high = fit.interval(place)
    return ChangeEffect(
        float(fit.coefficient[place]), float(low), float(high), float(fit.error[place]),
        float(fit.p(place)), fit.df, float(fit.tau2),
    )  # fmt: skip


def leave_one_out(sums: TeamSums, changed: npt.ArrayLike, *, adjust: bool = False) -> np.ndarray:
    """Return the effect without each team in turn.

    Parameters
    ----------
    sums : TeamSums
        Before and after of the teams.
    changed : array_like of bool, shape (teams,)
        Which were changed.
    adjust : bool
        Adjust for the baseline.

    Returns
    -------
    numpy.ndarray
        One effect a team; NaN where no changed or no other team would be left.
    """
    mask = np.asarray(changed, bool)
    found = np.full(len(mask), np.nan)
    for place in range(len(mask)):
        kept = np.delete(mask, place)
        if kept.any() and not kept.all() and len(kept) > 2 + adjust:
            fit = (adjusted_fit if adjust else change_fit)(sums.without(place), kept)
            found[place] = fit.coefficient[1]
    return found


def smallest_p(teams: int, changed: int) -> float:
    """Return the smallest p value a randomisation of whole teams can give: one over the choices.

    With as many changed as others, each choice and its opposite give the same size of statistic, so 2.

    Parameters
    ----------
    teams, changed : int
        Teams in all, and of those changed.

    Returns
    -------
    float
        1 where there is no choice.
    """
    if not 0 < changed < teams:
        return 1.0
    return (2 if 2 * changed == teams else 1) / comb(teams, changed)


def randomise(
    sums: TeamSums, changed: npt.ArrayLike, rng: np.random.Generator, *, adjust: bool = False
) -> Randomised:
    """Test by giving the change to other teams: the t value of every reassignment.

    The t value, not the raw difference, because small teams vary more; ties count as being as large.

    Parameters
    ----------
    sums : TeamSums
        Before and after of the teams.
    changed : array_like of bool, shape (teams,)
        Which were changed.
    rng : numpy.random.Generator
        Used where there are too many reassignments to count.
    adjust : bool
        Adjust for the baseline.

    Returns
    -------
    Randomised
        p, the smallest p there can be, and how many reassignments there are.
    """
    mask = np.asarray(changed, bool)
    teams, k = len(mask), int(mask.sum())
    fitted = adjusted_fit if adjust else change_fit
    here = abs(float(fitted(sums, mask).t(1)))
    total = comb(teams, k)
    if total <= ENUMERATED:
        chosen = np.array([*combinations(range(teams), k)])
    else:
        chosen = np.array([rng.permutation(teams)[:k] for _ in range(DRAWN)])
    dose = np.zeros((len(chosen), teams))
    np.put_along_axis(dose, chosen, 1.0, axis=1)
    shape = (len(chosen), teams)
    parts: Any = [np.broadcast_to(a, shape) for a in _arrays(sums)]
    spread = TeamSums(*parts)
    as_large = int((np.abs(fitted(spread, dose).t(1)) >= here * (1 - 1e-9)).sum())
    p = as_large / total if total <= ENUMERATED else (as_large + 1) / (DRAWN + 1)
    return Randomised(p, smallest_p(teams, k), total)


def _arrays(sums: TeamSums) -> tuple[np.ndarray, ...]:
    means = (sums.people, sums.before, sums.after)
    return (*means, sums.before_spread, sums.after_spread, sums.shared_spread)
