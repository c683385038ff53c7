"""Brute force over every world of a tiny ledger: what the auditor must agree with, bit for bit.

Written from the rounding rule alone; imports the record types and nothing of the auditor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.audit_periods import months_of
from models.audit_records import Attacker, Key, Ledger


@dataclass(frozen=True)
class Oracle:
    """What enumeration says.

    Parameters
    ----------
    worlds : int
        Worlds that reproduce every published number.
    values : frozenset of (str, str)
        Values looked at, by (token, period).
    determined : dict
        Value -> the only answer it can have.
    hidden : dict
        (unit, period) of withheld groups -> the only count possible.
    """

    worlds: int
    values: frozenset[Key]
    determined: dict[Key, int]
    hidden: dict[Key, int]


def enumerate_worlds(ledger: Ledger, region: str, attacker: Attacker, truth: dict[Key, int]) -> Oracle:
    """Try every assignment.

    Parameters
    ----------
    ledger : Ledger
        Published cells; at most some 16 unknowns.
    region : str
        Region.
    attacker : Attacker
        The attacker.
    truth : dict
        Answers by (token, month), for what colluders told.

    Returns
    -------
    Oracle
        The answer.
    """
    answered = ledger.answered[region]

    def label(token: str, month: str) -> str:
        """The month itself, or the first of the run of equal answers it stands in, or none at all."""
        months = answered[token]
        place = 0 if attacker.stable else months.index(month)
        while attacker.spans and place and truth[token, months[place - 1]] == truth[token, months[place]]:
            place -= 1
        return "" if attacker.stable else months[place]

    cells = [c for c in ledger.cells if c.region == region]
    hidden = [h for h in ledger.hidden if h.region == region]
    keys = sorted(
        {
            (t, label(t, m))
            for c in (*cells, *hidden)
            for t in c.contributors
            if t not in attacker.colluders
            for m in answered[t]
            if m in months_of(c.period)
        }
    )
    place = {key: i for i, key in enumerate(keys)}
    bits = (np.arange(2 ** len(keys))[:, None] >> np.arange(len(keys))) & 1

    def yes(token: str, period: str) -> np.ndarray:
        months = [m for m in answered[token] if m in months_of(period)]
        if token in attacker.colluders:
            return np.full(len(bits), max(truth[token, m] for m in months))
        return bits[:, [place[token, label(token, m)] for m in months]].max(axis=1)

    fits: dict[object, np.ndarray] = {}
    for number, cell in enumerate(cells):
        count = sum(yes(t, cell.period) for t in cell.contributors)
        single = len(months_of(cell.period)) == 1
        who = (cell.contributors, single, cell.table, cell.base) if attacker.shared_draw else number
        u = (np.arange(cell.base) + 0.5) / cell.base  # one draw from each class
        down = count // cell.base * cell.base
        up = (u[None, :] < (count % cell.base / cell.base)[:, None]) & (
            (down + cell.base <= len(cell.contributors))[:, None]
        )
        right = (down[:, None] + cell.base * up) == cell.value
        fits[who] = fits.get(who, np.ones((len(bits), cell.base), dtype=bool)) & right
    possible = np.ones(len(bits), dtype=bool)
    for classes in fits.values():
        possible &= classes.any(axis=1)
    values: dict[Key, np.ndarray] = {key: bits[:, i] for key, i in place.items()}
    for group in (*cells, *hidden):
        for token in group.contributors:
            months = [m for m in answered[token] if m in months_of(group.period)]
            if len({label(token, m) for m in months}) > 1 and token not in attacker.colluders:
                values[token, group.period] = yes(token, group.period)
    counts = {
        (h.unit, h.period): np.asarray(sum(yes(t, h.period) for t in h.contributors))
        for h in hidden
        if not attacker.colluders.issuperset(h.contributors)  # else nothing is left to protect
    }
    return Oracle(
        int(possible.sum()), frozenset(values), _settled(values, possible), _settled(counts, possible)
    )


def _settled(values: dict[Key, np.ndarray], possible: np.ndarray) -> dict[Key, int]:
    seen = {key: set(column[possible].tolist()) for key, column in values.items()}
    return {key: s.pop() for key, s in seen.items() if len(s) == 1}
