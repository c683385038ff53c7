"""What is known of each person before a month: what may drive whether they answer."""

import numpy as np
import numpy.typing as npt


def history_columns(score: npt.ArrayLike, answered: npt.ArrayLike, month: int) -> np.ndarray:
    """Return what is known of each person before a month, as columns for `models.weights.answer_weights`.

    Parameters
    ----------
    score : array_like, shape (people, months)
        Ratings; those not answered are not read.
    answered : array_like of bool, shape (people, months)
        Who answered when.
    month : int
        Month to be weighted; only earlier months are read.

    Returns
    -------
    numpy.ndarray
        Shape (people, 7): constant, never answered, last recorded rating if last month's, the same if
        older, months since (at most 6), mean recorded rating, share of months answered.
    """
    said = np.asarray(answered, dtype=bool)[:, :month]
    rating = np.where(said, np.asarray(score, dtype=float)[:, :month], 0.0)
    people, times = said.shape[0], said.sum(1)
    ever = times > 0
    last = month - 1 - np.argmax(said[:, ::-1], axis=1) if month else np.zeros(people, int)
    gap = np.where(ever, month - last, 6).clip(1, 6)
    newest = np.where(ever, rating[np.arange(people), last], 0.0) if month else np.zeros(people)
    mean = rating.sum(1) / np.maximum(times, 1)
    fresh = gap == 1
    columns = [np.ones(people), ~ever, newest * fresh, newest * ~fresh, gap, mean, times / max(month, 1)]
    return np.column_stack(columns).astype(float)
