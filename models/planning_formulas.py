"""Closed forms for comparing clusters, as cross-checks of power found by simulation."""

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from models.planning import t_power

MOST_CLUSTERS = 1_000


def design_effect(people: float, icc: float) -> float:
    """Return ``1 + (m - 1) icc``, what clustering does to a variance.

    Parameters
    ----------
    people : float
        People in a cluster.
    icc : float
        Correlation of two people of a cluster.

    Returns
    -------
    float
        Factor.
    """
    return 1 + (people - 1) * icc


def two_shares_power(first: float, second: float, people: int, icc: float, clusters: int) -> float:
    """Return the normal-approximation power of comparing two shares between clusters.

    ``Phi(|p1 - p2| / sqrt((p1 q1 + p2 q2) deff / (n m)) - 1.96)``; Donner and Klar 2000.

    Parameters
    ----------
    first, second : float
        Shares.
    people : int
        People in a cluster.
    icc : float
        Correlation within clusters.
    clusters : int
        Clusters in each arm.

    Returns
    -------
    float
        Power.
    """
    variance = (first * (1 - first) + second * (1 - second)) * design_effect(people, icc)
    return float(ndtr(abs(first - second) / np.sqrt(variance / (clusters * people)) - ndtri(0.975)))


def change_variance(people: int, icc: float, cluster_rho: float = 0.0, subject_rho: float = 0.0) -> float:
    """Return the variance of one cluster's after less before, in units of the outcome's variance.

    ``2 deff / m (1 - r)`` with ``r = (m icc cluster_rho + (1 - icc) subject_rho) / deff``; Teerenstra et al.
    2012, Stat Med 31:2169. Both correlations 0 is other people each time and nothing lasting.

    Parameters
    ----------
    people : int
        People in a cluster.
    icc : float
        Correlation within clusters.
    cluster_rho, subject_rho : float
        Correlation of a cluster, and of a person within it, with itself over time.

    Returns
    -------
    float
        Variance.
    """
    deff = design_effect(people, icc)
    r = (people * icc * cluster_rho + (1 - icc) * subject_rho) / deff
    return 2 * deff / people * (1 - r)


def clusters_for_change(
    difference: float, variance: float, people: int, icc: float, *,
    cluster_rho: float = 0.0, subject_rho: float = 0.0, power: float = 0.8,
) -> int:  # fmt: skip
    """Return the clusters in each arm that find a difference of changes, t with ``2 (n - 1)`` df.

    Parameters
    ----------
    difference : float
        Difference of changes.
    variance : float
        Variance of the outcome.
    people : int
        People in a cluster.
    icc, cluster_rho, subject_rho : float
        See `change_variance`.
    power : float
        Power wanted.

    Returns
    -------
    int
        Smallest number.

    Raises
    ------
    ValueError
        If a thousand do not suffice.
    """
    each = variance * change_variance(people, icc, cluster_rho, subject_rho)
    for clusters in range(2, MOST_CLUSTERS):
        if t_power(difference, float(np.sqrt(2 * each / clusters)), 2 * (clusters - 1)) >= power:
            return clusters
    raise ValueError(f"{MOST_CLUSTERS} clusters in each arm do not find {difference}")


def stepped_power(
    starts: npt.ArrayLike, periods: int, effect: float, cell_variance: float, team_variance: float
) -> float:
    """Return the power of a stepped roll-out with calendar time, by the normal approximation.

    Precision of the effect by generalised least squares, ``y = month + team + effect``, a random team effect
    and independent cells; Hussey and Hughes 2007, Contemp Clin Trials 28:182.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        First period with the change; `periods` or more for never.
    periods : int
        Number of periods.
    effect : float
        Effect as a share.
    cell_variance : float
        Variance of a team's share in one period, given the team.
    team_variance : float
        Variance between teams.

    Returns
    -------
    float
        Power at 5 %, two-sided, the far side left out.
    """
    start = np.asarray(starts, int)
    dose = (np.arange(periods) >= start[:, None]).astype(float)
    inverse = np.linalg.inv(cell_variance * np.eye(periods) + team_variance * np.ones((periods, periods)))
    information = np.zeros((periods + 1, periods + 1))
    for row in dose:
        design = np.column_stack([np.eye(periods), row])
        information += design.T @ inverse @ design
    error = np.sqrt(np.linalg.inv(information)[-1, -1])
    return float(ndtr(abs(effect) / error - ndtri(0.975)))
