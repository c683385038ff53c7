"""What a team's people answered before and after a change: the sums that an evaluation rests on."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

LEAST_PEOPLE = 2
"""Fewer people who answered on both sides say nothing about how much people differ; the team is left out."""

FLOOR = 0.25
"""Least share of the pooled variance that a team's own variance may have."""


@dataclass(frozen=True)
class TeamSums:
    """Before and after of teams, over the people who answered on both sides; leading axes are worlds.

    Attributes
    ----------
    people : numpy.ndarray, shape (..., teams)
        People with answers before and after.
    before, after : numpy.ndarray, shape (..., teams)
        Mean over people of each person's share of answers with discomfort.
    before_spread, after_spread, shared_spread : numpy.ndarray, shape (..., teams)
        Sums over people of squared deviations before, after, and of their products.
    teams : tuple of str
        Names in the order of the arrays; empty for drawn worlds.
    left_out : tuple of str
        Teams without enough people on both sides.
    """

    people: np.ndarray
    before: np.ndarray
    after: np.ndarray
    before_spread: np.ndarray
    after_spread: np.ndarray
    shared_spread: np.ndarray
    teams: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def change(self) -> np.ndarray:
        """After less before."""
        return self.after - self.before

    @property
    def residual_df(self) -> np.ndarray:
        """People less teams: what the variances within teams rest on."""
        return (self.people - 1).sum(-1)

    def variance(self, slope: npt.ArrayLike = 1.0) -> np.ndarray:
        """Return the sampling variance of each team's ``after - slope * before``.

        The variance of people's own differences over their number, with a floor of a quarter of the pooled
        one: a small team whose people happen to agree would otherwise carry nearly all weight.

        Parameters
        ----------
        slope : array_like, shape (...)
            1 for the plain change.

        Returns
        -------
        numpy.ndarray
            Shape (..., teams).
        """
        b = np.asarray(slope, float)[..., None]
        spread = self.after_spread - 2 * b * self.shared_spread + b**2 * self.before_spread
        df = self.people - 1
        pooled = spread.sum(-1, keepdims=True) / np.maximum(df.sum(-1, keepdims=True), 1)
        # Nobody differing from anybody would claim certainty; a tenth of one answer in ten people does not.
        pooled = np.maximum(pooled, 1e-4)
        own = np.where(df > 0, spread / np.maximum(df, 1), pooled)
        return np.maximum(own, FLOOR * pooled) / np.maximum(self.people, 1)

    def without(self, place: int) -> "TeamSums":
        """Return the sums without one team."""
        keep = np.arange(self.people.shape[-1]) != place
        arrays = (self.people, self.before, self.after)
        spreads = (self.before_spread, self.after_spread, self.shared_spread)
        kept = [part[..., keep] for part in (*arrays, *spreads)]
        return TeamSums(*kept, teams=tuple(n for n, k in zip(self.teams, keep, strict=False) if k))


def sums_of_shares(before: npt.ArrayLike, after: npt.ArrayLike, here: npt.ArrayLike) -> TeamSums:
    """Return the sums of drawn worlds from each person's shares.

    Parameters
    ----------
    before, after : array_like, shape (..., teams, people)
        Each person's share of answers with discomfort.
    here : array_like of bool, same shape
        Whether the seat holds a person who answered on both sides.

    Returns
    -------
    TeamSums
        One element a team.
    """
    mask = np.asarray(here, bool)
    x, y = np.where(mask, before, 0.0), np.where(mask, after, 0.0)
    n = mask.sum(-1)
    divisor = np.maximum(n, 1)
    mean_x, mean_y = x.sum(-1) / divisor, y.sum(-1) / divisor
    dx = np.where(mask, x - mean_x[..., None], 0.0)
    dy = np.where(mask, y - mean_y[..., None], 0.0)
    return TeamSums(n, mean_x, mean_y, (dx**2).sum(-1), (dy**2).sum(-1), (dx * dy).sum(-1))


def sums_of_answers(
    person: npt.ArrayLike, team: npt.ArrayLike, after: npt.ArrayLike, case: npt.ArrayLike
) -> TeamSums:
    """Return the sums of answers in long form, one a person and month.

    The same people stand on both sides: only who answered before and after **on the same team** counts, so
    that neither joiners nor leavers nor movers make a change of their own.

    Parameters
    ----------
    person, team : array_like, shape (answers,)
        Who answered, on which team.
    after : array_like of bool, shape (answers,)
        Whether the answer lies after the change; answers of the months between are left out beforehand.
    case : array_like of bool, shape (answers,)
        Discomfort at or above the threshold.

    Returns
    -------
    TeamSums
        Teams in order of name; those with too few people are named in `left_out`.
    """
    names, place = np.unique(np.asarray(team, dtype=object).astype(str), return_inverse=True)
    who, person_place = np.unique(np.asarray(person, dtype=object).astype(str), return_inverse=True)
    side = np.asarray(after, bool).astype(int)
    hit = np.asarray(case, float)
    pair, cell = np.unique(place * max(len(who), 1) + person_place, return_inverse=True)
    of = pair // max(len(who), 1)
    count = np.zeros((2, len(pair)))
    cases = np.zeros((2, len(pair)))
    np.add.at(count, (side, cell), 1.0)
    np.add.at(cases, (side, cell), hit)
    both = (count > 0).all(0)
    share = cases[:, both] / count[:, both]
    of = of[both]
    n = np.bincount(of, minlength=len(names))
    mean = [np.bincount(of, weights=part, minlength=len(names)) / np.maximum(n, 1) for part in share]
    rest = [part - centre[of] for part, centre in zip(share, mean, strict=True)]
    spread = [
        np.bincount(of, weights=product, minlength=len(names))
        for product in (rest[0] ** 2, rest[1] ** 2, rest[0] * rest[1])
    ]
    keep = n >= LEAST_PEOPLE
    return TeamSums(
        n[keep], mean[0][keep], mean[1][keep], spread[0][keep], spread[1][keep], spread[2][keep],
        tuple(names[keep]), tuple(names[~keep]),
    )  # fmt: skip
