"""Invented monthly answers of teams with shocks and a known effect: ground for power and error rates."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logit, ndtri

from models.team_sums import TeamSums, sums_of_shares


@dataclass(frozen=True)
class Ground:
    """How a site's answers hang together.

    Attributes
    ----------
    prevalence : float
        Share of answers with discomfort in the long run.
    steady : float
        Share of a person's leaning that never changes (agreement of a person's answers over years).
    persistence : float
        Month-to-month correlation of the part of a person's leaning that wanders.
    answering : float
        Chance that a person answers in a month.
    turnover : float
        Chance a month that a person leaves and is replaced.
    team_sd : float
        Spread of the teams' long-run log-odds.
    shock_sd : float
        Spread of the teams' monthly shocks, log-odds; 0.2 is 3.75 points at a prevalence of 25 %.
    shock_persistence : float
        Month-to-month correlation of the shocks.
    """

    prevalence: float = 0.25
    steady: float = 0.5
    persistence: float = 0.6
    answering: float = 0.75
    turnover: float = 0.01
    team_sd: float = 0.4
    shock_sd: float = 0.2
    shock_persistence: float = 0.6


GROUND = Ground()


@dataclass(frozen=True)
class World:
    """Drawn answers, arrays of shape (months, worlds, teams, seats).

    Attributes
    ----------
    case, answered : numpy.ndarray of bool
        Discomfort, and whether the answer was given.
    holder : numpy.ndarray of int
        How often the seat has changed hands.
    """

    case: np.ndarray
    answered: np.ndarray
    holder: np.ndarray

    def cells(self, every: int = 1) -> tuple[np.ndarray, np.ndarray]:
        """Return the shares with discomfort and the answers of each team and period.

        Parameters
        ----------
        every : int
            Months in a period; months beyond whole periods are dropped.

        Returns
        -------
        tuple of numpy.ndarray
            Each of shape (worlds, teams, periods); the share is NaN where nobody answered.
        """
        months = len(self.case) // every * every
        hit = (self.case & self.answered)[:months].sum(-1)
        said = self.answered[:months].sum(-1)
        hit, said = (a.reshape(-1, every, *a.shape[1:]).sum(1) for a in (hit, said))
        share = np.where(said > 0, hit / np.maximum(said, 1), np.nan)
        return np.moveaxis(share, 0, -1), np.moveaxis(said, 0, -1)

    def sums(self, start: int, *, first: int = 0) -> TeamSums:
        """Return before and after of a start for the people in their seats at that time.

        Parameters
        ----------
        start : int
            First month after.
        first : int
            First month of the baseline.

        Returns
        -------
        TeamSums
            Leading axis: worlds.
        """
        same = self.answered & (self.holder == self.holder[start])
        share, here = [], np.ones(self.case.shape[1:], bool)
        for months in (slice(first, start), slice(start, None)):
            n = same[months].sum(0)
            share.append((self.case & same)[months].sum(0) / np.maximum(n, 1))
            here &= n > 0
        return sums_of_shares(share[0], share[1], here)


def draw_world(
    rng: np.random.Generator,
    sizes: npt.ArrayLike,
    months: int,
    ground: Ground,
    *,
    effect: npt.ArrayLike = 0.0,
    worlds: int = 1,
) -> World:
    """Draw answers of teams whose people keep their symptoms.

    A person has discomfort where a standard normal leaning, ``sqrt(steady) * person + sqrt(1 - steady) *
    AR(1)``, exceeds the quantile of ``expit(team + shock) + effect``; the share is exact, so an effect in
    points means what it says.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    sizes : array_like of int, shape (teams,)
        People on each team.
    months : int
        Months drawn.
    ground : Ground
        How answers hang together.
    effect : array_like, broadcast to (teams, months)
        Added to the share with discomfort.
    worlds : int
        Independent worlds drawn at once.

    Returns
    -------
    World
        The answers.
    """
    return draw_worlds(rng, sizes, months, ground, effects=(effect,), worlds=worlds)[0]


def draw_worlds(
    rng: np.random.Generator,
    sizes: npt.ArrayLike,
    months: int,
    ground: Ground,
    *,
    effects: Sequence[npt.ArrayLike],
    worlds: int = 1,
) -> tuple[World, ...]:
    """Draw the same people under several effects: what differs between the results is the effect alone.

    Parameters
    ----------
    rng, sizes, months, ground
        As for `draw_world`.
    effects : sequence of array_like, each broadcast to (teams, months)
        Added to the share with discomfort.
    worlds : int
        Independent worlds drawn at once.

    Returns
    -------
    tuple of World
        One element an effect; leanings, answering and turnover are shared.
    """
    size = np.asarray(sizes, int)
    shape = (worlds, len(size), int(size.max()))
    added = [np.broadcast_to(np.asarray(effect, float), (len(size), months)) for effect in effects]
    seat = np.arange(shape[2]) < size[:, None]
    level = logit(ground.prevalence) + ground.team_sd * rng.standard_normal(shape[:2])
    person, mood = _normal(rng, shape), _normal(rng, shape)
    shock = ground.shock_sd * rng.standard_normal(shape[:2])
    fresh, jolt = np.sqrt(1 - ground.persistence**2), np.sqrt(1 - ground.shock_persistence**2)
    cases, answered = np.empty((len(added), months, *shape), bool), np.empty((months, *shape), bool)
    holder = np.zeros((months, *shape), np.int16)
    for month in range(months):
        if month:
            mood = ground.persistence * mood + fresh * _normal(rng, shape)
            shock = ground.shock_persistence * shock
            shock = shock + jolt * ground.shock_sd * rng.standard_normal(shape[:2])
            holder[month] = holder[month - 1]
            if ground.turnover:
                leaves = rng.random(shape, np.float32) < ground.turnover
                person = np.where(leaves, _normal(rng, shape), person)
                holder[month] += leaves
        chance = expit(level + shock)
        leaning = np.sqrt(ground.steady) * person + np.sqrt(1 - ground.steady) * mood
        for case, more in zip(cases, added, strict=True):
            case[month] = leaning > -ndtri(np.clip(chance + more[:, month], 0.005, 0.995))[..., None]
        answered[month] = seat & (rng.random(shape, np.float32) < ground.answering)
    return tuple(World(case, answered, holder) for case in cases)


def _normal(rng: np.random.Generator, shape: tuple[int, ...]) -> np.ndarray:
    return rng.standard_normal(shape, np.float32)
