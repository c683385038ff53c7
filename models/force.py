"""Thumb force of pipetting: units, force budget of a stroke, force-time and peak, in whole numbers.

Forces are whole millinewtons (mN), durations whole milliseconds (ms), force-time their product (mN ms),
so that sums do not depend on the order of adding. Forces are those somebody measured on the instrument; a
missing measurement leaves the figure unknown (masked, or None), never a default.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation

import numpy as np

# Exact by definition: kilogram-force from standard gravity (ISO 80000-4, item kgf; 3rd CGPM 1901);
# pound-force from that and the avoirdupois pound of 0.45359237 kg (international agreement of 1959).
NEWTON_PER_UNIT = {"N": Decimal(1), "kgf": Decimal("9.80665"), "lbf": Decimal("4.4482216152605")}


@dataclass(frozen=True)
class ForceBudget:
    """Thumb load of one instrument per stroke cycle and per tip.

    Attributes
    ----------
    stroke_mn_ms : int or None
        (plunger + blow-out) x press time, mN ms; None where a measurement is missing.
    tip_mn_ms : int or None
        Ejection x eject time, mN ms; None where a measurement is missing.
    peak_mn : int or None
        Largest of plunger, blow-out and ejection force, mN; None unless all three are measured.
    """

    stroke_mn_ms: int | None
    tip_mn_ms: int | None
    peak_mn: int | None


def millinewtons(value: int | float | str | Decimal, unit: str) -> int:
    """Convert a force to whole millinewtons.

    The conversion is exact decimal arithmetic; the one rounding is the last, half to even. A float counts
    as the shortest decimal that reads back as it (4.1 is 4.1, not its binary neighbour).

    Parameters
    ----------
    value : int, float, str or Decimal
        Force, not negative.
    unit : str
        ``N``, ``kgf`` or ``lbf``.

    Returns
    -------
    int
        Force in mN.

    Raises
    ------
    ValueError
        If the unit is unknown, or the value is not a number, not finite or negative.
    """
    if unit not in NEWTON_PER_UNIT:
        raise ValueError(f"Force unit {unit!r} is unknown; use one of {', '.join(NEWTON_PER_UNIT)}")
    try:
        force = Decimal(str(value))
    except InvalidOperation as error:
        raise ValueError(f"Force {value!r} is not a number") from error
    if not force.is_finite() or force < 0:
        raise ValueError(f"Force {value!r} must be finite and not negative")
    exact = force * NEWTON_PER_UNIT[unit] * 1000
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))


def newtons(force_mn: float) -> float:
    """Convert millinewtons to newtons for showing.

    Parameters
    ----------
    force_mn : float
        Force, mN.

    Returns
    -------
    float
        Force, N.
    """
    return force_mn / 1000


def masked_integers(values: Sequence[int | None] | np.ndarray) -> np.ma.MaskedArray:
    """Turn numbers with gaps into a masked array of 64-bit integers.

    Parameters
    ----------
    values : sequence of int or None, or array
        Whole numbers; None (or a float NaN) where nobody measured.

    Returns
    -------
    numpy.ma.MaskedArray, shape (n,)
        int64, masked where the value is missing.
    """
    if isinstance(values, np.ma.MaskedArray):
        return np.ma.MaskedArray(values, dtype=np.int64)
    # One by one, for a float array could not hold every 64-bit integer; only NaN differs from itself.
    known = [None if value is None or value != value else int(value) for value in values]
    filled = np.array([0 if value is None else value for value in known], dtype=np.int64)
    return np.ma.MaskedArray(filled, mask=np.array([value is None for value in known], dtype=bool))


def stroke_force_time(
    plunger_mn: np.ndarray, blow_out_mn: np.ndarray, press_ms: np.ndarray
) -> np.ma.MaskedArray:
    """Thumb force-time of one stroke cycle: (plunger + blow-out) x press time.

    A cycle presses twice: to the first stop when drawing up, through to the second when blowing out.

    Parameters
    ----------
    plunger_mn, blow_out_mn : array, shape (n,)
        Measured forces, mN; masked where missing.
    press_ms : array, shape (n,)
        Time the thumb presses each time, ms; masked where missing.

    Returns
    -------
    numpy.ma.MaskedArray, shape (n,)
        mN ms; masked where any of the three is missing.
    """
    plunger, blow_out, press = map(masked_integers, (plunger_mn, blow_out_mn, press_ms))
    total = (plunger.filled(0) + blow_out.filled(0)) * press.filled(0)
    return np.ma.MaskedArray(total, mask=_any_missing(plunger, blow_out, press))


def force_time(
    strokes: np.ndarray, tips: np.ndarray, stroke_mn_ms: np.ndarray, tip_mn_ms: np.ndarray
) -> np.ma.MaskedArray:
    """Thumb force-time of bouts: strokes x stroke budget + tips x tip budget.

    A budget is needed only where something was done: no strokes need no plunger force. An unknown number
    of tips leaves the sum unknown.

    Parameters
    ----------
    strokes, tips : array, shape (n,)
        Stroke cycles and ejected tips of each bout; masked where unknown.
    stroke_mn_ms, tip_mn_ms : array, shape (n,)
        Budgets per stroke and per tip of the bout's instrument, mN ms; masked where unknown.

    Returns
    -------
    numpy.ma.MaskedArray, shape (n,)
        mN ms; masked where anything needed is missing.
    """
    parts = []
    for count, budget in ((strokes, stroke_mn_ms), (tips, tip_mn_ms)):
        times, each = masked_integers(count), masked_integers(budget)
        unknown = np.ma.getmaskarray(times) | (np.ma.getmaskarray(each) & (times.filled(1) != 0))
        parts.append(np.ma.MaskedArray(times.filled(0) * each.filled(0), mask=unknown))
    return parts[0] + parts[1]


def peak_force(plunger_mn: np.ndarray, blow_out_mn: np.ndarray, ejection_mn: np.ndarray) -> np.ma.MaskedArray:
    """Peak thumb force of instruments: the largest of plunger, blow-out and ejection force.

    Parameters
    ----------
    plunger_mn, blow_out_mn, ejection_mn : array, shape (n,)
        Measured forces, mN; masked where missing.

    Returns
    -------
    numpy.ma.MaskedArray, shape (n,)
        mN; masked where any of the three is missing, for the missing one may be the largest.
    """
    forces = [masked_integers(force) for force in (plunger_mn, blow_out_mn, ejection_mn)]
    largest = np.maximum.reduce([force.filled(0) for force in forces])
    return np.ma.MaskedArray(largest, mask=_any_missing(*forces))


def force_budget(
    plunger_mn: int | None,
    blow_out_mn: int | None,
    ejection_mn: int | None,
    press_ms: int | None,
    eject_ms: int | None,
) -> ForceBudget:
    """Force budget of one instrument from its measured forces and durations.

    Parameters
    ----------
    plunger_mn, blow_out_mn, ejection_mn : int or None
        Measured forces, mN.
    press_ms, eject_ms : int or None
        Durations of a press and of an ejection, ms.

    Returns
    -------
    ForceBudget
        Per stroke, per tip, and the peak; each None where a measurement it needs is missing.
    """
    plunger, blow_out, ejection, press, eject = (
        masked_integers([value]) for value in (plunger_mn, blow_out_mn, ejection_mn, press_ms, eject_ms)
    )
    return ForceBudget(
        stroke_mn_ms=stroke_force_time(plunger, blow_out, press).tolist()[0],
        tip_mn_ms=(ejection * eject).tolist()[0],
        peak_mn=peak_force(plunger, blow_out, ejection).tolist()[0],
    )


def _any_missing(*arrays: np.ma.MaskedArray) -> np.ndarray:
    return np.logical_or.reduce([np.ma.getmaskarray(array) for array in arrays])
