"""Disclosure control of group numbers: bands, keyed random rounding and percentages.

Nothing here looks at who a person is. Contributors enter as opaque labels, and only to key the
rounding, so that the same people and the same count always give the same published number: a
table repeated for the same people teaches nothing that the first did not.
"""

import hashlib
import hmac
from collections.abc import Iterable
from dataclasses import dataclass

HEALTH_FLOOR_TEAM = 10
"""Fewest contributors behind a team's quarterly discomfort number."""

HEALTH_FLOOR_MONTH = 20
"""Fewest contributors behind a monthly discomfort number (organisation, cluster)."""

EXPOSURE_FLOOR = 5
"""Fewest people behind an exposure number."""

CLUSTER_FLOOR = 20
"""Fewest people in a cluster."""

ROUNDING_BASE = 5
"""Base of the random rounding: resists ``base - 2`` = 3 members who pool what they know."""

LARGEST_SHARE = 0.50
"""Largest share of a group's hours that one person may have."""

TWO_LARGEST_SHARE = 0.75
"""Largest share of a group's hours that two people may have together."""

FINE_PERCENT_FROM = 100
"""From this many contributors on, percentages are shown to 1 point, below it to 5 points."""

TOO_SMALL = "not shown: group too small"
DOMINATED = "not shown: one or two people do most of it"

_DRAW_BITS = 53
_UNIT_SEPARATOR = "\x1f"
_GROUP_SEPARATOR = "\x1e"

# (first n, width): the relative width stays between a tenth and a third, so a band says how much
# a number can carry without being a headcount.
_BAND_WIDTHS = ((500, 100), (200, 50), (100, 20), (50, 10), (0, 5))


@dataclass(frozen=True)
class Band:
    """A range of headcounts.

    Attributes
    ----------
    low, high : int
        Smallest and largest headcount of the band, both included.
    """

    low: int
    high: int

    def __str__(self) -> str:
        return f"{self.low}-{self.high}"


def band(n: int) -> Band:
    """Return the band a headcount falls in.

    Bands are 5 wide below 50 people (10-14, 15-19, ...), 10 wide to 99, 20 wide to 199, 50 wide to
    499 and 100 wide above. Own convention.

    Parameters
    ----------
    n : int
        Headcount, zero or more.

    Returns
    -------
    Band
        The band, both ends included.

    Raises
    ------
    ValueError
        If `n` is negative.
    """
    if n < 0:
        raise ValueError(f"a headcount cannot be negative: {n}")
    width = next(width for first, width in _BAND_WIDTHS if n >= first)
    low = n // width * width
    return Band(low, low + width - 1)


def band_text(n: int, floor: int = EXPOSURE_FLOOR) -> str:
    """Return the words for a headcount: its band, or ``under <floor>``.

    Parameters
    ----------
    n : int
        Headcount.
    floor : int
        Headcounts below this share one text, so that no band narrows a small group down.

    Returns
    -------
    str
        For example ``10-14`` or ``under 5``.
    """
    return f"under {floor}" if n < floor else str(band(n))


def rounding_draw(key: bytes, contributors: Iterable[str], region: str, table_kind: str) -> int:
    """Return the secret draw of one cell as a whole number of 2**-53 steps.

    ``u = HMAC-SHA256(key, sorted contributors || region || table kind)`` scaled to [0, 1). The period
    is not part of the message on purpose. Fraser and Wooton's cell-key idea (same records, same
    noise), with the contributor set as the key of the cell.

    Parameters
    ----------
    key : bytes
        Secret release key, at least 32 bytes.
    contributors : iterable of str
        Opaque labels of the people counted, each once, in any order.
    region : str
        Body region, or another label of what was counted.
    table_kind : str
        Kind of table, for example ``discomfort/month``.

    Returns
    -------
    int
        ``u * 2**53``, a whole number from 0 to 2**53 - 1.

    Raises
    ------
    ValueError
        If the key is short, a label repeats, or a label holds a separator character.
    """
    if len(key) < 32:
        raise ValueError("the release key must have at least 32 bytes")
    labels = sorted(contributors)
    if len(set(labels)) != len(labels):
        raise ValueError("a contributor is listed twice")
    parts = (*labels, region, table_kind)
    if any(_UNIT_SEPARATOR in part or _GROUP_SEPARATOR in part for part in parts):
        raise ValueError("a label holds a separator character")
    message = _GROUP_SEPARATOR.join((_UNIT_SEPARATOR.join(labels), region, table_kind))
    digest = hmac.new(key, message.encode(), hashlib.sha256).digest()
    return int.from_bytes(digest[:8], "big") >> (64 - _DRAW_BITS)


def round_count(count: int, n: int, draw: int, base: int = ROUNDING_BASE) -> int:
    """Round a count to a multiple of the base with a given draw.

    ``v = b * floor(c / b)``, plus ``b`` if ``u < (c mod b) / b``; a value that would exceed `n` stays at
    the multiple below. Unbiased over the draws (``E[v] = c``) except where the cap at `n` acts.

    Parameters
    ----------
    count : int
        True count.
    n : int
        People who could have been counted.
    draw : int
        Result of :func:`rounding_draw`.
    base : int
        Rounding base.

    Returns
    -------
    int
        A multiple of `base` from 0 to `n`.

    Raises
    ------
    ValueError
        If the count is negative or more than `n`, or the base is below 2.
    """
    if not 0 <= count <= n:
        raise ValueError(f"count {count} outside 0..{n}")
    if base < 2:
        raise ValueError(f"rounding base {base} is below 2")
    below, rest = count - count % base, count % base
    up = draw * base < rest << _DRAW_BITS
    return below + base if up and below + base <= n else below


def compatible_counts(published: int, n: int, base: int = ROUNDING_BASE) -> tuple[int, int]:
    """Return the smallest and largest true count that can have given a published one.

    Parameters
    ----------
    published : int
        Rounded count.
    n : int
        People who could have been counted.
    base : int
        Rounding base.

    Returns
    -------
    tuple of int
        ``max(0, v - b + 1)`` and ``min(n, v + b - 1)``. A published 0 stands for 0 to ``b - 1``; the top
        multiple below `n` stands for anything up to `n`.

    Raises
    ------
    ValueError
        If `published` is not a multiple of the base between 0 and `n`.
    """
    if published % base or not 0 <= published <= n:
        raise ValueError(f"{published} is no multiple of {base} between 0 and {n}")
    return max(0, published - base + 1), min(n, published + base - 1)


def percent_step(n: int) -> int:
    """Return the step to which percentages of `n` people are shown, in points.

    From 100 people on the step is 1 point, below it 5 points. The finer step gives nothing away: the
    percentage is computed from the published count and `n` alone, and the attackers guarded against
    already know both (everybody's answering is assumed known to them). The 5-point step below 100
    is for honesty only; the rounding itself moves a count there by up to ``400 / n`` points.

    Parameters
    ----------
    n : int
        Contributors.

    Returns
    -------
    int
        1 or 5 percentage points.
    """
    return 1 if n >= FINE_PERCENT_FROM else 5


def percent_of(published: int, n: int) -> int:
    """Return the published percentage of a rounded count.

    Parameters
    ----------
    published : int
        Rounded count, never the true one.
    n : int
        Contributors, more than zero.

    Returns
    -------
    int
        ``100 * v / n`` to the nearest step of :func:`percent_step` (halves up), from 0 to 100.

    Raises
    ------
    ValueError
        If `n` is not positive or the count lies outside 0 to `n`.
    """
    if n <= 0 or not 0 <= published <= n:
        raise ValueError(f"no percentage of {published} in {n}")
    step = percent_step(n)
    return (200 * published + n * step) // (2 * n * step) * step
