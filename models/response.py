"""Who answered: response, questions left out, and answers missing for the symptom's own sake."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.counts import TOO_FEW
from models.prevalence import Interval, wilson

DELTAS = (-1.0, -0.5, 0.0, 0.5, 1.0)
"""Log-odds by which those who did not answer may differ from those who did."""


@dataclass(frozen=True)
class Response:
    """Share of those asked who answered.

    Attributes
    ----------
    invited, answered : int
        People asked, and people who answered anything.
    share : float or None
        Share; None where nobody was asked.
    reason : str or None
        Why there is no share.
    """

    invited: int
    answered: int
    share: float | None
    reason: str | None = None


@dataclass(frozen=True)
class Sensitivity:
    """Prevalence of everybody asked, under an assumption about those who did not answer.

    Attributes
    ----------
    delta : float
        Log-odds by which those without an answer differ.
    share : float
        Prevalence of all who were asked.
    """

    delta: float
    share: float


def response(invited: int, answered: int) -> Response:
    """Return the response to one survey.

    Parameters
    ----------
    invited, answered : int
        People asked, and of those the ones who answered anything.

    Returns
    -------
    Response
        Share between 0 and 1; a hold, not a number, where nobody was asked.

    Raises
    ------
    ValueError
        If more answered than were asked.
    """
    if not 0 <= answered <= invited:
        raise ValueError(f"{answered} answered of {invited} asked")
    if invited == 0:
        return Response(0, 0, None, "nobody was asked")
    return Response(invited, answered, answered / invited)


def item_non_response(asked: npt.ArrayLike, answered: npt.ArrayLike) -> np.ndarray:
    """Return the share of people who left a question out, of those who answered the survey at all.

    Parameters
    ----------
    asked : array_like of bool, shape (people, items)
        Whether the question was put.
    answered : array_like of bool, shape (people, items)
        Whether it was answered.

    Returns
    -------
    numpy.ndarray
        Shape (items,); -1 for an item that nobody was asked, which is no share at all.
    """
    put, got = np.asarray(asked, dtype=bool), np.asarray(answered, dtype=bool)
    took_part = np.any(put & got, axis=1)
    base = (put & took_part[:, None]).sum(0)
    left_out = (put & ~got & took_part[:, None]).sum(0)
    return np.where(base > 0, left_out / np.maximum(base, 1), -1.0)


def non_ignorable(
    share: float, answered: int, invited: int, deltas: tuple[float, ...] = DELTAS
) -> tuple[Sensitivity, ...]:
    """Return the prevalence of all who were asked, if those silent differ by a log-odds.

    ``r p + (1 - r) expit(logit(p) + delta)`` with r the response; a pattern-mixture model (Little 1993, J
    Am Stat Assoc 88:125, from memory). No weighting can tell which delta holds.

    Parameters
    ----------
    share : float
        Prevalence among those who answered (weighted or not).
    answered, invited : int
        People who answered, and people asked.
    deltas : tuple of float
        Log-odds differences.

    Returns
    -------
    tuple of Sensitivity
        One element a delta, in the order given.

    Raises
    ------
    ValueError
        If the share lies outside 0 to 1 or nobody was asked.
    """
    if not 0 <= share <= 1 or invited <= 0 or not 0 <= answered <= invited:
        raise ValueError(f"share {share}, {answered} answered of {invited}")
    rate = answered / invited
    # Odds, not logit: a share of 0 or 1 then stays where it is instead of becoming a missing number.
    silent = [share * np.exp(d) / (1 - share + share * np.exp(d)) for d in deltas]
    return tuple(
        Sensitivity(float(d), float(rate * share + (1 - rate) * s))
        for d, s in zip(deltas, silent, strict=True)
    )


def worst_bounds(cases: int, answered: int, invited: int, level: float = 0.95) -> Interval:
    """Return the prevalence if all silent people were free of discomfort, and if none were.

    Parameters
    ----------
    cases, answered, invited : int
        People with discomfort, people who answered, people asked.
    level : float
        Confidence level.

    Returns
    -------
    Interval
        The whole range where nobody was asked.
    """
    return Interval(
        wilson(cases, invited, level).low, wilson(cases + invited - answered, invited, level).high
    )


def held(people: int, least: int) -> str | None:
    """Return the words where too few answered, else None.

    Parameters
    ----------
    people : int
        People who answered.
    least : int
        Fewest people.

    Returns
    -------
    str or None
        ``too few answers`` or None.
    """
    return TOO_FEW if people < least else None
