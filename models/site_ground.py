"""A site's own variance from its answers: what a plan must reckon with."""

import numpy as np
import numpy.typing as npt

from models.binary_agreement import leaning_correlation, phi_of
from models.change_world import Ground

LEAST_PAIRS = 200
"""Fewer pairs of answers of one person say nothing about a lag."""

_STEADY = np.linspace(0.05, 0.95, 19)
_PERSISTENCE = np.linspace(0.0, 0.95, 20)
_MOST_LAG = 12


def site_ground(
    case: npt.ArrayLike, team: npt.ArrayLike, invited: float | None = None, turnover: float = 0.0
) -> Ground:
    """Estimate how a site's answers hang together.

    Lasting and wandering parts of people's leanings by least squares on the correlations of their answers 1
    to 12 months apart (within team and month), weighted by pairs; team spread and monthly shocks by moments:
    what teams and team-months vary beyond their people.

    How long shocks last cannot be told from some 16 teams and 36 months: a true .6 or .8 was estimated as .1
    to .2, which promised effects up to 9 % too small. It is therefore held at the default or more; the
    smallest effect found came to 98 to 107 % of the true one in four simulated sites.

    Parameters
    ----------
    case : array_like, shape (people, months)
        1 with discomfort, 0 without, NaN where not answered.
    team : array_like of int, shape (people,)
        Team of each person.
    invited : float, optional
        Person-months asked; by default all cells between a person's first and last answer.
    turnover : float
        Chance a month that a person leaves the team; unknown from answers alone.

    Returns
    -------
    Ground
        Parts without enough pairs keep their defaults.

    Raises
    ------
    ValueError
        If nobody, or everybody, ever had discomfort.
    """
    y, of = np.asarray(case, float), np.asarray(team, int)
    known = np.isfinite(y)
    prevalence = float(y[known].mean()) if known.any() else 0.0
    if not 0 < prevalence < 1:
        raise ValueError("all answers are alike: they say nothing about how discomfort varies")
    share, said = _team_months(y, known, of)
    rest = np.where(known, y - share[of], 0.0)
    steady, persistence = _leanings(rest, known, prevalence)
    inside = np.maximum.accumulate(known, 1) & np.maximum.accumulate(known[:, ::-1], 1)[:, ::-1]
    asked = invited if invited is not None else float(inside.sum())
    team_sd, shock_sd, carried = _teams(share, said, prevalence, steady, persistence)
    return Ground(
        prevalence, steady, persistence, min(float(known.sum() / asked), 1.0), turnover,
        team_sd, shock_sd, carried,
    )  # fmt: skip


def _team_months(y: np.ndarray, known: np.ndarray, of: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    teams = int(of.max()) + 1
    said, hit = np.zeros((teams, y.shape[1])), np.zeros((teams, y.shape[1]))
    np.add.at(said, of, known)
    np.add.at(hit, of, np.where(known, y, 0.0))
    return np.where(said > 0, hit / np.maximum(said, 1), 0.0), said


def _leanings(rest: np.ndarray, known: np.ndarray, prevalence: float) -> tuple[float, float]:
    lags = range(1, min(_MOST_LAG, rest.shape[1] - 1) + 1)
    pairs = np.array([(known[:, lag:] & known[:, :-lag]).sum() for lag in lags], float)
    product = np.array([(rest[:, lag:] * rest[:, :-lag]).sum() for lag in lags])
    use = pairs >= LEAST_PAIRS
    if use.sum() < 3:
        default = Ground()
        return default.steady, default.persistence
    seen = product[use] / pairs[use] / ((rest**2).sum() / known.sum())
    lag = np.array([*lags], float)[use]
    loss = [
        ((phi_of(leaning_correlation(lag, s, a), prevalence) - seen) ** 2 * pairs[use]).sum()
        for s in _STEADY
        for a in _PERSISTENCE
    ]
    best = int(np.argmin(loss))
    return float(_STEADY[best // len(_PERSISTENCE)]), float(_PERSISTENCE[best % len(_PERSISTENCE)])


def _teams(
    share: np.ndarray, said: np.ndarray, prevalence: float, steady: float, persistence: float
) -> tuple[float, float, float]:
    default, plain = Ground(), prevalence * (1 - prevalence)
    enough = said.min(1) > 0
    if enough.sum() < 4:
        return default.team_sd, default.shock_sd, default.shock_persistence
    cells, few = share[enough], float((1 / said[enough]).mean())
    teams, months = cells.shape
    lag = np.abs(np.subtract.outer(np.arange(months), np.arange(months)))
    agree = np.where(lag == 0, 1.0, phi_of(leaning_correlation(lag, steady, persistence), prevalence))
    between = max(float(cells.mean(1).var(ddof=1)) - plain * few * float(agree.mean()), 0.0)
    rest = cells - cells.mean(1, keepdims=True) - cells.mean(0) + cells.mean()
    # What people's own coming and going puts into the residuals, at 0 and 1 month apart, is taken off.
    centre = np.eye(months) - 1 / months
    people = plain * few * (centre @ agree @ centre)
    near = [
        float((rest[:, k:] * rest[:, : months - k]).mean()) * teams / (teams - 1)
        - np.diagonal(people, k).mean()
        for k in (0, 1)
    ]
    beyond = max(near[0], 0.0)
    least = default.shock_persistence
    carried = float(np.clip(near[1] / beyond, least, 0.9)) if beyond > 0 else least
    return float(np.sqrt(between)) / plain, float(np.sqrt(beyond)) / plain, carried
