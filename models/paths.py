"""Ways to give the starts of a change to other teams: what a randomisation test counts."""

from math import factorial, prod

import numpy as np
import numpy.typing as npt

from models.adoption import NEVER

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
    order = np.argsort(start, kind="stable")
    found: list[tuple[int, ...]] = []

    def fill(place: int, chosen: tuple[int, ...]) -> None:
        if place == teams:
            found.append(chosen)
            return
        here = start[order[place]]
        # Among places with one start the teams stand in rising order, so that each way is met once.
        after = chosen[-1] if place and start[order[place - 1]] == here else -1
        for team in range(after + 1, teams):
            if team not in chosen:
                fill(place + 1, (*chosen, team))

    fill(0, ())
    paths = np.empty((len(found), teams), int)
    paths[:, order] = np.array(found)
    made = (np.sort(paths[:, start == NEVER], 1) == np.flatnonzero(start == NEVER)).all(1)
    for value in np.unique(start[start != NEVER]):
        made &= (np.sort(paths[:, start == value], 1) == np.flatnonzero(start == value)).all(1)
    return np.concatenate([paths[made], paths[~made]])
