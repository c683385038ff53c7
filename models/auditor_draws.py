"""Small questions about a world: which draws fit it, and which flips bring a value about."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from models.auditor_model import Unknowns


def class_range(u: Unknowns, count: np.ndarray, cells: np.ndarray) -> tuple[int, int]:
    """Return the classes of one shared draw that fit some counts.

    Parameters
    ----------
    u : Unknowns
        The programme.
    count : ndarray of int, shape (C,)
        Unknown part of every count.
    cells : ndarray of int
        Cells that share the draw.

    Returns
    -------
    tuple of int
        Lowest and highest class; lowest above highest where none fits.
    """
    above = count[cells] - u.shift[cells]
    low = max(0, int(np.where(u.top[cells], 0, above).max(initial=0)))
    high = min(int(u.base[cells][0]) - 1, int((above + u.base[cells] - 1).min()))
    return low, high


def wanted_flips(u: Unknowns, x: np.ndarray, variables: Iterable[int], value: int) -> list[int]:
    """Return the unknowns to flip so that a value (the OR of some unknowns) becomes 0 or 1.

    Parameters
    ----------
    u : Unknowns
        The programme.
    x : ndarray of int8, shape (V,)
        Present world.
    variables : iterable of int
        Unknowns the value is the OR of.
    value : int
        Value wanted.

    Returns
    -------
    list of int
        Flips; empty when the value is already so.
    """
    variables = list(variables)
    on = [v for v in variables if x[v]]
    if value:
        return [] if on else variables[:1]
    return on
