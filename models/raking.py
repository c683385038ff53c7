"""Weights whose totals match known head-counts."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt


def rake(
    weight: npt.ArrayLike, margins: Mapping[str, tuple[npt.ArrayLike, Mapping[int, float]]], rounds: int = 100
) -> np.ndarray:
    """Return weights whose totals match known head-counts, one margin at a time until all hold.

    Deming and Stephan 1940, Ann Math Stat 11:427. A category that nobody answered in cannot be met and is
    left out.

    Parameters
    ----------
    weight : array_like, shape (n,)
        Weights to start from; 0 for those who did not answer.
    margins : mapping
        Name to (category codes of shape (n,), head-count of each code).
    rounds : int
        Most passes over all margins.

    Returns
    -------
    numpy.ndarray
        Weights of shape (n,).
    """
    out = np.asarray(weight, dtype=float).copy()
    for _ in range(rounds):
        worst = 0.0
        for codes, counts in margins.values():
            code = np.asarray(codes)
            for value, count in counts.items():
                inside = code == value
                total = out[inside].sum()
                if total > 0:
                    worst = max(worst, abs(count / total - 1))
                    out[inside] *= count / total
        if worst < 1e-10:
            break
    return out
