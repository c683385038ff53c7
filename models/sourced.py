"""Numbers that carry their unit, source and how sure it is, and the check that inputs are in bounds."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Status = Literal[
    "published",
    "published (quoted)",
    "cross-checked",
    "from memory",
    "common practice, no source",
    "own construct",
    "assumed",
]
"""How sure a value is.

``published``: read in the printed text; ``published (quoted)``: read in a text that quotes the original;
``cross-checked``: remembered and confirmed by an independent text or a sum or continuity test;
``from memory``: remembered only, so the user interface says so; ``common practice, no source``: a working
rule of the trade; ``own construct``: made by this project; ``assumed``: no value could be read, a stated
assumption stands in.
"""


@dataclass(frozen=True)
class Sourced:
    """A number with its unit, source and status.

    Attributes
    ----------
    value : float
        The number.
    unit : str
        Its unit.
    source : str
        Author, year, journal and DOI, or "common practice, no source".
    status : Status
        How sure the value is.
    """

    value: float
    unit: str
    source: str
    status: Status


def measured(
    name: str,
    values: ArrayLike,
    *,
    low: float,
    high: float,
    remedy: str,
    low_allowed: bool = True,
) -> NDArray[np.float64]:
    """Return values as a float array after checking that each known one lies in bounds.

    NaN passes, because an unknown input must stay unknown instead of stopping the known ones beside it.

    Parameters
    ----------
    name : str
        What the values are, with the unit, as it should read in a message.
    values : array_like
        Values of any shape; NaN where unknown.
    low, high : float
        Bounds; `high` is included.
    remedy : str
        What to do about a value out of bounds, as a sentence.
    low_allowed : bool
        Whether `low` itself is in bounds.

    Returns
    -------
    ndarray
        Float64 values, same shape.

    Raises
    ------
    ValueError
        If a value is infinite or out of bounds; the message names the first index and the remedy.
    """
    array = np.asarray(values, dtype=np.float64)
    below = array < low if low_allowed else array <= low
    wrong = below | (array > high) | np.isinf(array)
    if not wrong.any():
        return array
    place = tuple(int(i) for i in np.argwhere(wrong)[0])
    at = f" at index {place[0] if len(place) == 1 else place}" if place else ""
    opening = "[" if low_allowed else "("
    raise ValueError(f"{name} is {array[place]:g}{at}, outside {opening}{low:g}, {high:g}]. {remedy}")
