"""Wild cluster bootstrap with every flip of sign counted: a second opinion with few teams on either side."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

MOST_CLUSTERS = 14
LEAST_EACH_SIDE = 4
"""Fewer changed or other teams than this, and the method fails; own limit after MacKinnon and Webb 2017."""


@dataclass(frozen=True)
class WildTest:
    """Restricted wild cluster bootstrap.

    Attributes
    ----------
    coefficient, t : float
        Estimate, and its t value against the null with cluster-robust errors.
    p : float
        Two-sided p, ties counting half.
    p_ties_out, p_ties_in : float
        p with ties left out and counted in full.
    flips : int
        Flips counted, ``2**clusters``.
    """

    coefficient: float
    t: float
    p: float
    p_ties_out: float
    p_ties_in: float
    flips: int


def wild_test(
    outcome: npt.ArrayLike, design: npt.ArrayLike, cluster: npt.ArrayLike, place: int, null: float = 0.0
) -> WildTest:
    """Test a coefficient with Rademacher weights on whole clusters, the null imposed.

    Residuals of the fit with the coefficient held at its null are flipped cluster by cluster, all
    ``2**clusters`` ways; each gives a t value with errors ``G/(G-1) (n-1)/(n-k)`` robust to clusters.
    Cameron, Gelbach and Miller 2008, Rev Econ Stat 90:414. The flip that changes nothing and its opposite
    tie with the value found, so the tie rule is stated.

    Parameters
    ----------
    outcome : array_like, shape (n,)
        Outcome.
    design : array_like, shape (n, k)
        Regressors.
    cluster : array_like, shape (n,)
        Cluster of each row.
    place : int
        Column tested.
    null : float
        Value tested.

    Returns
    -------
    WildTest
        The test.

    Raises
    ------
    ValueError
        If there are more clusters than can be counted, or fewer than two.
    """
    y, x = np.asarray(outcome, float), np.asarray(design, float)
    names, of = np.unique(np.asarray(cluster), return_inverse=True)
    groups = len(names)
    if not 2 <= groups <= MOST_CLUSTERS:
        raise ValueError(f"{groups} clusters; between 2 and {MOST_CLUSTERS} can be counted")
    held = y - null * x[:, place]
    others = np.delete(x, place, 1)
    fitted = others @ np.linalg.lstsq(others, held, rcond=None)[0]
    rest = held - fitted
    signs = 1.0 - 2.0 * ((np.arange(2**groups)[:, None] >> np.arange(groups)) & 1)
    drawn = fitted + null * x[:, place] + signs[:, of] * rest
    coefficient, error = cluster_robust(np.concatenate([y[None], drawn]), x, of, place)
    t = (coefficient - null) / error
    size, own = np.abs(t[1:]), abs(t[0])
    near = np.isclose(size, own, rtol=1e-7, atol=1e-12)
    beyond = float(((size > own) & ~near).mean())
    ties = float(near.mean())
    return WildTest(float(coefficient[0]), float(t[0]), beyond + ties / 2, beyond, beyond + ties, 2**groups)


def wild_interval(
    outcome: npt.ArrayLike, design: npt.ArrayLike, cluster: npt.ArrayLike, place: int, level: float = 0.95
) -> tuple[float, float]:
    """Return the values that the test does not reject.

    Parameters
    ----------
    outcome, design, cluster, place
        As for `wild_test`.
    level : float
        Confidence level.

    Returns
    -------
    tuple of float
        Limits; infinite where nothing is rejected on that side.
    """
    y, x = np.asarray(outcome, float), np.asarray(design, float)
    of = np.unique(np.asarray(cluster), return_inverse=True)[1]
    centre, error = cluster_robust(y[None], x, of, place)
    limits = []
    for sign in (-1.0, 1.0):
        inside, outside = float(centre[0]), float(centre[0] + sign * 2 * error[0])
        for _ in range(12):
            if wild_test(y, x, of, place, outside).p <= 1 - level:
                break
            inside, outside = outside, float(centre[0]) + 2 * (outside - float(centre[0]))
        else:
            limits.append(sign * np.inf)
            continue
        for _ in range(40):
            middle = (inside + outside) / 2
            keep = wild_test(y, x, of, place, middle).p > 1 - level
            inside, outside = (middle, outside) if keep else (inside, middle)
        limits.append(outside)
    return limits[0], limits[1]


def cluster_robust(
    outcomes: npt.ArrayLike, design: npt.ArrayLike, cluster: npt.ArrayLike, place: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return a least-squares coefficient and its error robust to clusters, for many outcomes of one design.

    ``G/(G-1) (n-1)/(n-k) (X'X)^-1 sum_g X_g'e_g e_g'X_g (X'X)^-1``; Liang and Zeger 1986, Biometrika 73:13.

    Parameters
    ----------
    outcomes : array_like, shape (outcomes, n)
        Outcomes.
    design : array_like, shape (n, k)
        Regressors.
    cluster : array_like, shape (n,)
        Cluster of each row.
    place : int
        Column wanted.

    Returns
    -------
    tuple of numpy.ndarray
        Coefficients and errors, shape (outcomes,).
    """
    rows, x = np.asarray(outcomes, float), np.asarray(design, float)
    names, of = np.unique(np.asarray(cluster), return_inverse=True)
    groups, (n, k) = len(names), x.shape
    inverse = np.linalg.inv(x.T @ x)
    beta = rows @ x @ inverse
    rest = rows - beta @ x.T
    member = (of == np.arange(groups)[:, None]) * (x @ inverse[place])
    score = rest @ member.T
    factor = groups / (groups - 1) * (n - 1) / (n - k)
    return beta[:, place], np.sqrt(np.maximum(factor * (score**2).sum(1), 1e-300))
