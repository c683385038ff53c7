"""Prevalence over several periods, where the same people answer again and again.

A plain interval on repeat answers covers far too seldom: twelve people who answer twelve times are nearer
to 12 answers than to 144. The number of answers is therefore divided by the design effect of people.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri, stdtrit

from models.counts import TOO_FEW

LEAST_PEOPLE = 5
"""Fewer people than this give no pooled figure. Own convention."""


@dataclass(frozen=True)
class Pooled:
    """Pooled prevalence of one group.

    Attributes
    ----------
    share, low, high : float or None
        Share of answers with the property and its interval; None where `reason` says why.
    answers, people : int
        Answers, and people who gave them.
    effective_n : float
        Independent answers that would carry as much.
    design_effect : float
        Answers over effective answers, at least 1.
    reason : str or None
        ``too few answers`` where nothing is shown.
    """

    share: float | None
    low: float | None
    high: float | None
    answers: int
    people: int
    effective_n: float
    design_effect: float
    reason: str | None = None


@dataclass(frozen=True)
class PooledGroups:
    """Pooled prevalences of many groups; arrays of shape (groups,).

    Attributes
    ----------
    share, low, high : numpy.ndarray
        Share and interval; 0 and the whole range where nobody answered.
    answers, people : numpy.ndarray of int
        Answers, and people who gave them.
    effective_n : numpy.ndarray
        Independent answers that would carry as much.
    """

    share: np.ndarray
    low: np.ndarray
    high: np.ndarray
    answers: np.ndarray
    people: np.ndarray
    effective_n: np.ndarray


def wilson_limits(
    share: npt.ArrayLike, n: npt.ArrayLike, level: float = 0.95
) -> tuple[np.ndarray, np.ndarray]:
    """Return Wilson limits of many shares at once; ``n`` need not be whole, and 0 gives the whole range.

    Parameters
    ----------
    share, n : array_like, same shape
        Shares between 0 and 1, and the answers they rest on.
    level : float
        Confidence level.

    Returns
    -------
    tuple of numpy.ndarray
        Lower and upper limits.
    """
    p, size = np.broadcast_arrays(np.asarray(share, dtype=float), np.asarray(n, dtype=float))
    z2 = float(ndtri(0.5 + level / 2)) ** 2
    some = np.where(size > 0, size, 1.0)
    centre = p + z2 / (2 * some)
    half = np.sqrt(z2 * (p * (1 - p) / some + z2 / (4 * some**2)))
    low = np.where(p <= 0, 0.0, (centre - half) / (1 + z2 / some))
    high = np.where(p >= 1, 1.0, (centre + half) / (1 + z2 / some))
    return np.where(size > 0, low, 0.0).clip(0, 1), np.where(size > 0, high, 1.0).clip(0, 1)


def pooled_groups(
    case: npt.ArrayLike, person: npt.ArrayLike, group: npt.ArrayLike, groups: int, level: float = 0.95
) -> PooledGroups:
    """Return pooled prevalences of many groups, people being the clusters.

    ``v = m/(m-1) sum_i (y_i - p n_i)**2 / N**2`` over the m people of a group (linearised ratio);
    ``deff = v N / (p(1-p))``, at least 1; ``n = N/deff (z/t(m-1))**2``, at least 1 and at most N (Korn and
    Graubard 1998, Survey Methodology 24:193, from memory); then Wilson's interval on ``p`` and ``n``. Where
    nobody or everybody has it, the variance says nothing and n is the number of people.

    Parameters
    ----------
    case : array_like of bool, shape (answers,)
        Whether the answer has the property.
    person : array_like of int, shape (answers,)
        Code of the person, 0 or more.
    group : array_like of int, shape (answers,)
        Code of the group, 0 to ``groups - 1``.
    groups : int
        Number of groups.
    level : float
        Confidence level.

    Returns
    -------
    PooledGroups
        One element a group.
    """
    hit, who, where = np.asarray(case, float), np.asarray(person, np.int64), np.asarray(group, np.int64)
    width = int(who.max(initial=-1)) + 1
    key, cell = np.unique(where * max(width, 1) + who, return_inverse=True)
    n_i = np.bincount(cell, minlength=len(key)).astype(float)
    y_i = np.bincount(cell, weights=hit, minlength=len(key))
    of = key // max(width, 1)
    answers = np.bincount(of, weights=n_i, minlength=groups)
    people = np.bincount(of, minlength=groups)
    share = np.bincount(of, weights=y_i, minlength=groups) / np.maximum(answers, 1)
    rest = (y_i - share[of] * n_i) ** 2
    m = np.maximum(people, 2)
    variance = m / (m - 1) * np.bincount(of, weights=rest, minlength=groups) / np.maximum(answers, 1) ** 2
    plain = share * (1 - share) / np.maximum(answers, 1)
    settled = (plain <= 0) | (variance <= 0)
    effect = np.maximum(variance / np.where(settled, 1.0, plain), 1.0)
    shrink = (ndtri(0.5 + level / 2) / stdtrit(m - 1, 0.5 + level / 2)) ** 2
    effective = np.where(plain <= 0, people, answers / np.where(settled, 1.0, effect) * shrink)
    effective = np.minimum(np.maximum(effective, np.minimum(answers, 1)), answers)
    low, high = wilson_limits(share, effective, level)
    return PooledGroups(share, low, high, answers.astype(int), people, effective)


def pooled_prevalence(
    case: npt.ArrayLike, person: npt.ArrayLike, *, least_people: int = LEAST_PEOPLE, level: float = 0.95
) -> Pooled:
    """Return the pooled prevalence of one group with its interval over people.

    Parameters
    ----------
    case : array_like of bool, shape (answers,)
        Whether the answer has the property.
    person : array_like, shape (answers,)
        Who gave it; any labels.
    least_people : int
        People below which nothing is said.
    level : float
        Confidence level.

    Returns
    -------
    Pooled
        See :func:`pooled_groups` for the formula; ``too few answers`` below `least_people`.

    Raises
    ------
    ValueError
        If the two arrays differ in length.
    """
    labels = np.asarray(person)
    hit = np.asarray(case, dtype=bool)
    if hit.shape != labels.shape or hit.ndim != 1:
        raise ValueError(f"answers and people differ in shape: {hit.shape} and {labels.shape}")
    codes = np.unique(labels, return_inverse=True)[1] if len(labels) else np.zeros(0, np.int64)
    found = pooled_groups(hit, codes, np.zeros(len(hit), np.int64), 1, level)
    people, answers, n = int(found.people[0]), int(found.answers[0]), float(found.effective_n[0])
    effect = answers / n if n else 1.0
    if people < max(least_people, 2):
        return Pooled(None, None, None, answers, people, n, effect, TOO_FEW)
    return Pooled(
        float(found.share[0]), float(found.low[0]), float(found.high[0]), answers, people, n, effect
    )
