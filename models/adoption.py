"""Weights of estimators for teams that start at different times; every estimate is a weighted sum of cells.

Two-way fixed effects over all cells compares late starters with early ones that already improve and can turn
the sign round. Both estimators here compare with cells before any start only.
"""

import numpy as np
import numpy.typing as npt

NEVER = -1
"""Start of a team that never starts within the data."""


def treated_cells(starts: npt.ArrayLike, periods: int) -> np.ndarray:
    """Return which cells lie after the start of their team.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        First period after the start; `NEVER` for teams that do not start.
    periods : int
        Number of periods.

    Returns
    -------
    numpy.ndarray of bool, shape (teams, periods)
        True from the start on.
    """
    start = np.asarray(starts, int)
    return (start[:, None] != NEVER) & (np.arange(periods) >= start[:, None])


def imputation_weights(
    starts: npt.ArrayLike, periods: int, wanted: npt.ArrayLike | None = None
) -> np.ndarray:
    """Return the weights of the imputation estimator.

    Team and period effects are fitted on untreated cells only, ``y = a_g + c_t``; the effect is the mean over
    treated cells of ``y - (a_g + c_t)``. As a weighted sum: ``d / n`` on treated cells and ``-Z (Z'Z)^+ z``
    on the others, z the mean design row of the wanted cells. Borusyak, Jaravel and Spiess 2024, Rev Econ Stud
    91:3253; every wanted cell counts alike.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        First period after the start; `NEVER` for teams that do not start.
    periods : int
        Number of periods.
    wanted : array_like of bool, shape (teams, periods), optional
        Treated cells averaged; by default all that can be imputed.

    Returns
    -------
    numpy.ndarray, shape (teams, periods)
        Weights; the effect is the sum of weights times shares.

    Raises
    ------
    ValueError
        If no treated cell can be imputed: no team has not started by then, or a team starts at once.
    """
    treated = treated_cells(starts, periods)
    open_period = (~treated).any(0)
    open_team = np.asarray((~treated).any(1))
    use = treated & open_period & open_team[:, None]
    if wanted is not None:
        use &= np.asarray(wanted, bool)
    if not use.any():
        raise ValueError("no treated cell has a team that has not started by then")
    teams = len(treated)
    row, column = np.indices(treated.shape)
    design = np.zeros((treated.size, teams + periods))
    design[np.arange(treated.size), row.ravel()] = 1.0
    design[np.arange(treated.size), teams + column.ravel()] = 1.0
    untreated = ~treated.ravel()
    z = design[use.ravel()].mean(0)
    weights = np.zeros(treated.size)
    known = design[untreated]
    weights[untreated] = -known @ (np.linalg.pinv(known.T @ known) @ z)
    weights[use.ravel()] = 1 / use.sum()
    return weights.reshape(treated.shape)


def event_weights(starts: npt.ArrayLike, periods: int, event: int) -> np.ndarray | None:
    """Return the weights of the effect `event` periods after the start, last period before it as reference.

    ``mean over teams that started at s of (y[s + e] - y[s - 1])`` less the same difference of teams not yet
    started at ``max(s + e, s - 1)``; team by team, then averaged. The group-time effect of Callaway and
    Sant'Anna 2021, J Econometrics 225:200, not-yet-treated teams as comparison, universal reference.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        First period after the start; `NEVER` for teams that do not start.
    periods : int
        Number of periods.
    event : int
        Periods since the start; negative before it.

    Returns
    -------
    numpy.ndarray or None
        Weights of shape (teams, periods); None where no team has that period and a comparison.
    """
    start = np.asarray(starts, int)
    weights, used = np.zeros((len(start), periods)), 0
    for team, begin in enumerate(start):
        now, reference = begin + event, begin - 1
        if begin == NEVER or reference < 0 or not 0 <= now < periods:
            continue
        waiting = (start == NEVER) | (start > max(now, reference))
        waiting[team] = False
        if not waiting.any():
            continue
        used += 1
        weights[team, now] += 1
        weights[team, reference] -= 1
        weights[waiting, now] -= 1 / waiting.sum()
        weights[waiting, reference] += 1 / waiting.sum()
    return weights / used if used else None


def untreated_residuals(shares: npt.ArrayLike, starts: npt.ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Return residuals of the two-way fit on untreated cells.

    Parameters
    ----------
    shares : array_like, shape (teams, periods)
        Outcome.
    starts : array_like of int, shape (teams,)
        First period after the start, or `NEVER`.

    Returns
    -------
    tuple of numpy.ndarray
        Residuals, 0 on treated cells, and which cells were used; both of shape (teams, periods).
    """
    y = np.asarray(shares, float)
    used = ~treated_cells(starts, y.shape[1])
    row, column = np.nonzero(used)
    design = np.zeros((len(row), sum(y.shape)))
    design[np.arange(len(row)), row] = 1.0
    design[np.arange(len(row)), y.shape[0] + column] = 1.0
    found, *_ = np.linalg.lstsq(design, y[used], rcond=None)
    rest = np.zeros_like(y)
    rest[used] = y[used] - design @ found
    return rest, used
