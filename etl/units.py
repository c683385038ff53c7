"""Units a profile may declare, each as an exact multiple of the contract's base unit.

Base units: newton, millimetre, gram, second. Factors are the exact definitions of NIST Special
Publication 811 (2008), appendix B.8: standard gravity 9.80665 m/s2, pound 453.59237 g, inch 25.4 mm.
"""

from decimal import Decimal

_G = Decimal("9.80665")
_POUND_G = Decimal("453.59237")

UNITS: dict[str, dict[str, Decimal]] = {
    "force": {
        "N": Decimal(1),
        "mN": Decimal("0.001"),
        "cN": Decimal("0.01"),
        "kgf": _G,
        "gf": _G / 1000,
        "lbf": _POUND_G / 1000 * _G,
        "ozf": _POUND_G / 16000 * _G,
    },
    "length": {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")},
    "mass": {"g": Decimal(1), "kg": Decimal(1000), "lb": _POUND_G, "oz": _POUND_G / 16},
    "duration": {
        "s": Decimal(1),
        "ms": Decimal("0.001"),
        "min": Decimal(60),
        "h": Decimal(3600),
    },
}


def convert(value: Decimal, dimension: str, unit: str, target: str) -> Decimal:
    """Convert a quantity between two units of one dimension.

    Parameters
    ----------
    value : Decimal
        The number in `unit`.
    dimension : str
        ``force``, ``length``, ``mass`` or ``duration``.
    unit, target : str
        Names from ``UNITS[dimension]``.

    Returns
    -------
    Decimal
        The number in `target`: ``value * factor(unit) / factor(target)``.

    Raises
    ------
    KeyError
        If the dimension has no such unit.
    """
    factors = UNITS[dimension]
    return value * factors[unit] / factors[target]
