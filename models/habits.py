"""How an institute's own answers hang together over months: what set-up calibrates the flags with."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri, owens_t

from models.answering import Habits

LAGS = (1, 2, 3, 6, 9)
LEAST_PAIRS = 200
"""Pairs of answers of the same people at the shortest lag below which the defaults stand."""


def both_above(threshold: float, correlation: float) -> float:
    """Return the chance that two standard normal values both exceed a threshold.

    ``P(X > h) - 2 T(h, sqrt((1-r)/(1+r)))`` with Owen's T; Owen 1956, Ann Math Stat 27:1075.

    Parameters
    ----------
    threshold, correlation : float
        Threshold h and correlation r, -1 < r < 1.

    Returns
    -------
    float
        Chance.
    """
    slope = np.sqrt((1 - correlation) / (1 + correlation))
    return float(ndtr(-threshold) - 2 * owens_t(threshold, slope))


def latent_correlation(share: float, both: float) -> float:
    """Return the correlation of the leanings behind two answers of equal prevalence.

    Parameters
    ----------
    share : float
        Prevalence, strictly between 0 and 1.
    both : float
        Share of pairs with discomfort in both.

    Returns
    -------
    float
        Between 0 and 0.99 (tetrachoric correlation).
    """
    threshold = -float(ndtri(share))
    if both <= share**2:
        return 0.0
    if both >= both_above(threshold, 0.99):
        return 0.99
    low, high = 0.0, 0.99
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if both_above(threshold, middle) < both else (low, middle)
    return low


def fit_habits(case: npt.ArrayLike, answered: npt.ArrayLike, base: Habits | None = None) -> Habits:
    """Return how answers hang together, for the simulation that sets the flags' limit.

    The tetrachoric correlation of the same people's answers k months apart is fitted by
    ``steady + (1 - steady) * persistence**k`` (least squares over lags 1 to 9). Teams' own levels count as
    steadiness of their people.

    Parameters
    ----------
    case : array_like of bool, shape (people, months)
        Discomfort; not read where not answered.
    answered : array_like of bool, shape (people, months)
        Who answered when.
    base : Habits, optional
        What is kept where the answers are too few or all alike.

    Returns
    -------
    Habits
        `base` with prevalence, steadiness, persistence and answering replaced.
    """
    start = base or Habits()
    said = np.asarray(answered, dtype=bool)
    hit = np.asarray(case, dtype=bool) & said
    total = int(said.sum())
    if total == 0 or not 0 < hit.sum() < total:
        return start
    share = float(hit.sum() / total)
    lags, found = [], []
    for lag in LAGS:
        if lag >= said.shape[1]:
            break
        pairs = said[:, :-lag] & said[:, lag:]
        if pairs.sum() < LEAST_PAIRS:
            break
        pair_share = (hit[:, :-lag] & pairs).sum() + (hit[:, lag:] & pairs).sum()
        own = float(pair_share / (2 * pairs.sum()))
        both = float((hit[:, :-lag] & hit[:, lag:]).sum() / pairs.sum())
        if 0 < own < 1:
            lags.append(lag)
            found.append(latent_correlation(own, both))
    # Asked is from a person's first answer to the last; before and after, the person may not have been there.
    asked = np.maximum.accumulate(said, 1) & np.maximum.accumulate(said[:, ::-1], 1)[:, ::-1]
    here = replace(start, prevalence=share, answering=float(total / asked.sum()))
    if not lags:
        return here
    steady, persistence = np.meshgrid(np.arange(0, 0.96, 0.02), np.arange(0, 0.96, 0.02))
    curve = steady[..., None] + (1 - steady[..., None]) * persistence[..., None] ** np.array(lags)
    best = np.unravel_index(((curve - np.array(found)) ** 2).sum(-1).argmin(), steady.shape)
    return replace(here, steady=float(steady[best]), persistence=float(persistence[best]))
