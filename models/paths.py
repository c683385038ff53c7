"""Ways to give the starts of a change to other teams: what a randomisation test counts."""

from collections.abc import Iterator
from itertools import combinations
from math import factorial, prod

import numpy as np
import numpy.typing as npt

DRAWN = 1_999
ENUMERATED = 5_040


def count_paths(starts: npt.ArrayLike) -> int:
    """Return in how many distinct ways the starts can be given to the teams.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        Starts; equal ones are exchangeable.

    Returns
    -------
    int
        ``teams! / product of (teams with each start)!``.
    """
    counts = np.unique(np.asarray(starts), return_counts=True)[1]
    return factorial(int(counts.sum())) // prod(factorial(int(c)) for c in counts)


def draw_paths(starts: npt.ArrayLike, rng: np.random.Generator, drawn: int = DRAWN) -> np.ndarray:
    """Return reassignments: which team stands at each place of the design; the first is the one made.

    Parameters
    ----------
    starts : array_like of int, shape (teams,)
        Starts as made.
    rng : numpy.random.Generator
        Source of reassignments where there are too many to count.
    drawn : int
        How many to draw then.

    Returns
    -------
    numpy.ndarray of int, shape (reassignments, teams)
        All distinct ones if at most `ENUMERATED`, else the one made and `drawn` random ones.
    """
    start = np.asarray(starts, int)
    teams = len(start)
    if count_paths(start) > ENUMERATED:
        return np.array([np.arange(teams), *(rng.permutation(teams) for _ in range(drawn))])
    groups = [np.flatnonzero(start == value) for value in np.unique(start)]
    groups.sort(key=len)
    dealt = np.array([*_shared_out(groups, tuple(range(teams)))])
    paths = np.empty_like(dealt)
    paths[:, np.concatenate(groups)] = dealt
    made = (paths == np.arange(teams)).all(1)
    return np.concatenate([paths[made], paths[~made]])


def _shared_out(groups: list[np.ndarray], left: tuple[int, ...]) -> Iterator[np.ndarray]:
    """Give the teams left to the places of the groups, each way once: within a group in rising order."""
    if len(groups) == 1:
        yield np.array(left)
        return
    for chosen in combinations(left, len(groups[0])):
        rest = tuple(team for team in left if team not in chosen)
        for others in _shared_out(groups[1:], rest):
            yield np.concatenate([np.array(chosen, int), others])
