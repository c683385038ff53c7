"""Where would a single break lie, if there were one? Descriptive only, never an alarm.

Series of the same people wander without any break; most methods then find one. The chance given here allows
for that wandering, and the result is still only a description.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import xlogy

LEAST_SIDE = 3
"""Periods that must lie on either side of a break."""


@dataclass(frozen=True)
class Break:
    """The best single break of a series.

    Attributes
    ----------
    index : int or None
        First period after the break; None where the series is too short.
    before, after : float
        Level on either side: share, rate or mean.
    gain : float
        Twice the log-likelihood gained, for `normal` the squares saved.
    chance : float or None
        Share of series without a break, as wandering as this one, that gain as much; None if not asked for.
    """

    index: int | None
    before: float
    after: float
    gain: float
    chance: float | None = None


def _profile(total: np.ndarray, size: np.ndarray, kind: str) -> np.ndarray:
    """Return the log-likelihood of segments with these totals, up to terms common to all splits."""
    with np.errstate(divide="ignore", invalid="ignore"):
        level = np.where(size > 0, total / np.where(size > 0, size, 1), 0.0)
    if kind == "binomial":
        return xlogy(total, level) + xlogy(size - total, 1 - level)
    if kind == "poisson":
        return xlogy(total, level) - total
    return 0.5 * total * level


def gains(values: npt.ArrayLike, size: npt.ArrayLike, kind: str, least_side: int = LEAST_SIDE) -> np.ndarray:
    """Return the gain of a break before each period; minus infinity where a side would be too short.

    Parameters
    ----------
    values : array_like, shape (..., periods)
        Cases, events, or values.
    size : array_like, shape (..., periods)
        Answers, exposure, or ones.
    kind : str
        ``binomial``, ``poisson`` or ``normal``.
    least_side : int
        Periods on either side.

    Returns
    -------
    numpy.ndarray
        Shape (..., periods).

    Raises
    ------
    ValueError
        If `kind` is unknown.
    """
    if kind not in ("binomial", "poisson", "normal"):
        raise ValueError(f"unknown kind {kind!r}")
    x, n = np.asarray(values, dtype=float), np.asarray(size, dtype=float)
    left, left_n = np.cumsum(x, -1), np.cumsum(n, -1)
    whole, whole_n = left[..., -1:], left_n[..., -1:]
    both = _profile(left, left_n, kind) + _profile(whole - left, whole_n - left_n, kind)
    out = np.full(x.shape, -np.inf)
    out[..., 1:] = 2 * (both - _profile(whole, whole_n, kind))[..., :-1]
    periods = x.shape[-1]
    out[..., : min(least_side, periods)] = -np.inf
    out[..., max(periods - least_side + 1, 0) :] = -np.inf
    return out


def single_break(
    values: npt.ArrayLike,
    size: npt.ArrayLike | None = None,
    kind: str = "binomial",
    *,
    least_side: int = LEAST_SIDE,
    rng: np.random.Generator | None = None,
    draws: int = 499,
) -> Break:
    """Return where a single break would lie.

    Likelihood-ratio scan over all places (Hinkley and Hinkley 1970, Biometrika 57:477, binomial; from
    memory). With `rng`, the gain is set against series without a break whose shares follow AR(1) with this
    series' spread and lag-1 correlation, the latter corrected for its bias (binomial only).

    Parameters
    ----------
    values : array_like, shape (periods,)
        Cases, events, or values.
    size : array_like, shape (periods,), optional
        Answers or exposure; ones by default.
    kind : str
        ``binomial``, ``poisson`` or ``normal``.
    least_side : int
        Periods on either side.
    rng : numpy.random.Generator, optional
        Source of chance for the comparison.
    draws : int
        Series drawn.

    Returns
    -------
    Break
        Best break.
    """
    x = np.asarray(values, dtype=float)
    n = np.ones_like(x) if size is None else np.asarray(size, dtype=float)
    if len(x) < 2 * least_side or n.sum() <= 0:
        level = float(x.sum() / n.sum()) if n.sum() > 0 else 0.0
        return Break(None, level, level, 0.0)
    gained = gains(x, n, kind, least_side)
    index = int(gained.argmax())
    before, after = (float(x[s].sum() / max(n[s].sum(), 1e-12)) for s in (slice(index), slice(index, None)))
    best = float(gained[index])
    if rng is None or kind != "binomial":
        return Break(index, before, after, best)
    alike = gains(_without_break(x, n, rng, draws), n, kind, least_side).max(-1)
    return Break(index, before, after, best, float((1 + (alike >= best - 1e-9).sum()) / (draws + 1)))


def _without_break(cases: np.ndarray, n: np.ndarray, rng: np.random.Generator, draws: int) -> np.ndarray:
    share, periods = cases.sum() / n.sum(), len(n)
    if not 0 < share < 1:
        return np.broadcast_to(cases, (draws, periods)).copy()
    off = np.where(n > 0, cases / np.maximum(n, 1) - share, 0.0)
    spread = float((off**2).mean())
    first = float((off[1:] * off[:-1]).sum() / (off**2).sum())
    # Short series understate how much they wander (Kendall 1954, Biometrika 41:403).
    rho = min(0.9, max(0.0, first + (1 + 4 * first) / periods))
    state = np.sqrt(spread) * rng.standard_normal(draws)
    out = np.empty((draws, periods))
    for period in range(periods):
        out[:, period] = n[period] * np.clip(share + state, 0.0, 1.0)
        state = rho * state + np.sqrt(spread * (1 - rho**2)) * rng.standard_normal(draws)
    return out
