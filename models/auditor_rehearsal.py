"""Rehearse a release with invented answers: do the contributor sets give stable answers away?

When people's answers do change, the published numbers soon contradict an attacker who takes them for stable,
and an audit under that assumption has nothing left to say. The sets of contributors are then tested with
invented answers that never change, published over the very same sets. No real answer enters, so acting on
the result tells nothing about anybody's health.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from models.audit_records import Key, Ledger, PublishedCell


def rehearse(
    ledger: Ledger, region: str, prevalence: float, rng: np.random.Generator
) -> tuple[Ledger, dict[str, dict[Key, int]]]:
    """Publish invented answers over a region's contributor sets.

    Parameters
    ----------
    ledger : Ledger
        The real ledger; of its cells only periods, contributors and bases are used.
    region : str
        Region.
    prevalence : float
        Share of people with discomfort, for good, 0 to 1.
    rng : numpy.random.Generator
        Invents answers and draws.

    Returns
    -------
    tuple of Ledger and mapping
        The rehearsed ledger and its truth.
    """
    answered = ledger.answered[region]
    own = {token: int(rng.random() < prevalence) for token in sorted(answered)}
    draws: dict[object, int] = {}
    cells = [
        _published(cell, own, draws.setdefault(cell.draw, int(rng.integers(cell.base))))
        for cell in ledger.cells
        if cell.region == region
    ]
    hidden = tuple(h for h in ledger.hidden if h.region == region)
    truth = {(token, month): own[token] for token, months in answered.items() for month in months}
    return Ledger(tuple(cells), {region: answered}, hidden), {region: truth}


def _published(cell: PublishedCell, own: dict[str, int], threshold: int) -> PublishedCell:
    count = sum(own[token] for token in cell.contributors)
    value = count - count % cell.base
    if count % cell.base > threshold and value + cell.base <= cell.n:
        value += cell.base
    return PublishedCell(cell.period, cell.unit, cell.region, cell.contributors, value, cell.base, cell.table)


def structure_leaks(groups: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """People whose value would follow from exact counts of some groups, whatever the counts are.

    A person's value follows for every possible data exactly when the person's unit vector lies in the row
    space of the incidence matrix (groups by people). Rounding protects such people; nothing else does.

    Parameters
    ----------
    groups : sequence of sequence of str
        Contributors of each count.

    Returns
    -------
    tuple of str
        Tokens, sorted.

    Notes
    -----
    Gauss-Jordan elimination modulo two primes near 2**31, whole numbers throughout. The entries are 0 and 1,
    so only a prime that divides a minor could mislead; a person is reported when either prime says so.
    """
    people = sorted({token for group in groups for token in group})
    place = {token: i for i, token in enumerate(people)}
    matrix = np.zeros((len(groups), len(people)), dtype=np.int64)
    for row, group in enumerate(groups):
        matrix[row, [place[token] for token in group]] = 1
    found = set(_unit_rows(matrix, 2_147_483_647)) | set(_unit_rows(matrix, 2_147_483_629))
    return tuple(people[i] for i in sorted(found))


def _unit_rows(matrix: np.ndarray, prime: int) -> list[int]:
    """Columns whose unit vector is a row of the reduced matrix: those in the row space."""
    m = matrix.copy() % prime
    row = 0
    for column in range(m.shape[1]):
        nonzero = np.flatnonzero(m[row:, column])
        if not len(nonzero):
            continue
        pivot = row + int(nonzero[0])
        m[[row, pivot]] = m[[pivot, row]]
        m[row] = m[row] * pow(int(m[row, column]), -1, prime) % prime
        others = np.flatnonzero(m[:, column])
        others = others[others != row]
        # Products stay below 2**62, so int64 is exact.
        m[others] = (m[others] - m[others, column][:, None] * m[row][None, :]) % prime
        row += 1
        if row == len(m):
            break
    units = np.flatnonzero((m[:row] != 0).sum(axis=1) == 1)
    return [int(np.flatnonzero(m[i])[0]) for i in units]
