"""How far a team's average stands above what its own first year lets expect, in standard errors.

A baseline year says only so much: people's discomfort comes and goes, counts are few and rounded. How much
two periods of one team differ for these reasons is learnt from simulated teams in which nothing changed; the
score is the generalised least squares estimate of a rise, over its standard error.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

HANDICAP = (0.8, 0.6, 0.3, 0.0)
"""Standard errors that a rise over one, two, three and four periods has to stand higher. A few rounded counts
have longer tails than a year's; by simulation this finds most within a year without being late."""

_CARRIED = np.arange(0.05, 0.96, 0.05)
_UNKNOWN = 1e6


@dataclass(frozen=True)
class Wander:
    """Covariance of a team's average share between two of its periods.

    ``team + (lasting + wandering * carried**lag) / people``, and within one period ``once / people +
    rounding / people**2`` more.

    Attributes
    ----------
    team : float
        Variance between teams in the long run.
    lasting, wandering, once : float
        Variance a person adds: for good, fading with the lag, and for one period only.
    carried : float
        What is left of the fading part from one period to the next.
    rounding : float
        Variance that rounding adds, times people squared.
    """

    team: float
    lasting: float
    wandering: float
    carried: float
    once: float
    rounding: float


def learn_wander(averages: Sequence[tuple[np.ndarray, np.ndarray]]) -> Wander:
    """Fit the covariance to teams in which nothing changed.

    Non-negative least squares on the products of two periods' averages, weighted by people, over a grid of
    `carried`.

    Parameters
    ----------
    averages : sequence of tuple
        Averages about the organisation's and people, each (teams, periods), of one or more simulations.

    Returns
    -------
    Wander
        The fit.

    Raises
    ------
    ValueError
        If no team is shown.
    """
    periods = averages[0][0].shape[1]
    square, aim = np.zeros((periods, 3, 3)), np.zeros((periods, 3))
    for average, people in averages:
        shown = people > 0
        if not shown.any():
            raise ValueError("no simulated team is large enough to be published")
        about = average - average[shown].mean()
        for first in range(periods):
            for second in range(first, periods):
                both = shown[:, first] & shown[:, second]
                size = np.sqrt(people[both, first] * people[both, second])
                value = size * about[both, first] * about[both, second]
                powers = np.stack([size, np.ones_like(size), 1 / size])
                square[second - first] += powers @ powers.T
                aim[second - first] += powers @ value
    best = min((_fitted(square, aim, float(carried)) for carried in _CARRIED), key=lambda one: one[0])
    return best[1]


def _fitted(square: np.ndarray, aim: np.ndarray, carried: float) -> tuple[float, Wander]:
    """Fit the five variances for one `carried` from sums of products by lag."""
    matrix, target = 1e-9 * np.eye(5), np.zeros(5)
    for lag in range(len(square)):
        same = float(lag == 0)
        # What each variance (team, lasting, wandering, once, rounding) is multiplied by, in powers of people.
        shape = np.array([[1, 0, 0, 0, 0], [0, 1, carried**lag, same, 0], [0, 0, 0, 0, same]])
        matrix += shape.T @ square[lag] @ shape
        target += shape.T @ aim[lag]
    # Factored normal equations are five rows instead of a million and have the same answer.
    lower = np.linalg.cholesky(matrix)
    found, left = nnls(lower.T, np.linalg.solve(lower, target))
    team, lasting, wandering, once, rounding = map(float, found)
    return float(left), Wander(team, lasting, wandering, carried, once, rounding)


def average_shares(
    cases: Sequence[np.ndarray], answers: Sequence[np.ndarray], overall: Sequence[float], used: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return each team's share averaged over its regions, less the organisation's, and its people.

    Parameters
    ----------
    cases, answers : sequence of numpy.ndarray, each (teams, periods)
        Counts by region; 0 answers where hidden.
    overall : sequence of float
        The organisation's share, by region.
    used : numpy.ndarray of bool, shape (regions, teams)
        Regions with enough of a baseline.

    Returns
    -------
    tuple of numpy.ndarray
        Averages and people (mean over regions), shape (teams, periods); 0 where no region is shown.
    """
    x, n = np.stack(cases).astype(float), np.stack(answers).astype(float) * used[:, :, None]
    shown = n > 0
    off = np.divide(x, n, out=np.zeros_like(x), where=shown) - np.asarray(overall)[:, None, None]
    regions = np.maximum(shown.sum(0), 1)
    return (off * shown).sum(0) / regions, n.sum(0) / regions


def rise_scores(
    average: np.ndarray,
    people: np.ndarray,
    wander: Wander,
    *,
    baseline_periods: int,
    handicap: Sequence[float] = HANDICAP,
    when: Sequence[int] | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Return the score of each period and where the rise behind it begins.

    With y the averages of the baseline and of the newest periods, S their covariance and d one in the newest
    k periods, ``z_k = d' S^-1 y / sqrt(d' S^-1 d)``; the score is the largest ``z_k - handicap_k``, at
    least 0.

    Parameters
    ----------
    average, people : numpy.ndarray, shape (teams, periods)
        See :func:`average_shares`.
    wander : Wander
        Covariance.
    baseline_periods : int
        First periods, the baseline.
    handicap : sequence of float
        What a rise over 1, 2, ... periods has to stand higher; its length is the longest rise looked for.
    when : sequence of int, optional
        Place of each period in the calendar; one after the other by default.

    Returns
    -------
    tuple of numpy.ndarray
        Scores and first periods of the rise, shape (teams, periods); 0 in the baseline and where the period
        itself is hidden.
    """
    teams, periods = average.shape
    place = np.arange(periods) if when is None else np.asarray(when)
    score, start = np.zeros((teams, periods)), np.zeros((teams, periods), dtype=int)
    for period in range(baseline_periods, periods):
        first = max(baseline_periods, period + 1 - len(handicap))
        chosen = [*range(baseline_periods), *range(first, period + 1)]
        y, shown = average[:, chosen][:, :, None], people[:, chosen] > 0
        weight = np.linalg.inv(_covariance(people[:, chosen], place[chosen], wander))
        weighted = (weight @ (y * shown[:, :, None]))[:, :, 0]
        for length in range(1, period + 1 - first + 1):
            rise = np.zeros((teams, len(chosen)))
            rise[:, -length:] = shown[:, -length:]
            known = (rise * (weight @ rise[:, :, None])[:, :, 0]).sum(1)
            z = (rise * weighted).sum(1) / np.sqrt(np.maximum(known, 1 / _UNKNOWN)) - handicap[length - 1]
            better = (z > score[:, period]) & shown[:, -1]
            score[better, period] = z[better]
            start[better, period] = period + 1 - length
    return score, start


def _covariance(people: np.ndarray, place: np.ndarray, wander: Wander) -> np.ndarray:
    """Return the covariance of each team's periods; a hidden one is given no weight by a huge variance."""
    lag = np.abs(np.subtract.outer(place, place))
    size, same = np.where(people > 0, people, 1.0), np.eye(people.shape[1])
    person = wander.lasting + wander.wandering * wander.carried**lag + wander.once * same
    own = wander.rounding / size**2 + np.where(people > 0, 0.0, _UNKNOWN)
    return wander.team + person / np.sqrt(size[:, :, None] * size[:, None, :]) + own[:, :, None] * same
