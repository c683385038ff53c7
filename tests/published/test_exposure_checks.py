"""Every row of exposure_checks.csv: published values, and values worked out from published formulas or data.

Each row carries its source and status. Rows "computed from the formula" show that code equals formula; that
the formula is the right one rests on the source named.
"""

import csv
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from models.anthropometry import MEN, WOMEN
from models.bench import Bench, FitRule
from models.bench_fit import seat_range_share, seated_share, standing_share
from models.effort import maximum_acceptable_effort, mean_load
from models.fatigue import cycles_to_failure, relative_fatigue_damage
from models.hand_activity import EDITIONS, hand_activity_level, hand_activity_limits, normalised_peak_force
from models.load_distribution import LoadLevels, load_standing
from models.pinch_norms import pinch_strength
from models.rates import garwood, rate
from models.strain_index import composite_strain_index, strain_index
from models.strain_multipliers import (
    duration_multiplier,
    efforts_multiplier,
    hours_multiplier,
    intensity_multiplier,
    posture_multiplier,
)
from models.strength import percent_of_maximum, strength_percentile

TABLE = Path(__file__).with_name("exposure_checks.csv")
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))

Values = dict[str, np.ndarray]
Texts = dict[str, str]


def _strength_percentiles(v: Values, t: Texts) -> np.ndarray:
    youngest, oldest = (int(age) for age in v["ages"])
    norm = pinch_strength(t["pinch"], t["sex"], (youngest, oldest))
    return strength_percentile(v["p"], 1.0, women=norm, men=norm)


def _limits(edition: str) -> Callable[[Values, Texts], Sequence[float]]:
    def lines(v: Values, t: Texts) -> Sequence[float]:
        limits = hand_activity_limits(v["HAL"][0], EDITIONS[edition], floored=False)
        return (float(limits.threshold), float(limits.action))

    return lines


def _rate_interval(v: Values, t: Texts) -> Sequence[float]:
    found = rate(int(v["N"][0]), v["hours"][0])
    assert found is not None
    return (found.value, found.low, found.high)


def _standing(v: Values, t: Texts) -> list:
    rule = FitRule(standing_elbow_above=(v["a"][0], v["b"][0]))
    return [standing_share(v["B"][0], body, rule) for body in (WOMEN, MEN)]


def _seated(v: Values, t: Texts) -> list:
    bench = Bench(v["B"][0], v["t"][0], v["lo"][0], v["hi"][0], bool(v["foot"][0]))
    return [seated_share(bench, body) for body in (WOMEN, MEN)]


METHODS: dict[str, Callable[[Values, Texts], object]] = {
    "rsi.IM": lambda v, t: intensity_multiplier(v["I"]),
    "rsi.EM": lambda v, t: efforts_multiplier(v["E"]),
    "rsi.DM": lambda v, t: duration_multiplier(v["D"]),
    "rsi.PM.flexion": lambda v, t: posture_multiplier(v["P"]),
    "rsi.PM.extension": lambda v, t: posture_multiplier(v["P"]),
    "rsi.HM": lambda v, t: hours_multiplier(v["H"]),
    "rsi.score": lambda v, t: strain_index(v["I"], v["E"], v["D"], v["P"], v["H"]),
    "rsi.COSI": lambda v, t: composite_strain_index(v["I"], v["E"], v["D"], v["P"], v["H"][0]).value,
    "hal.frequency": lambda v, t: hand_activity_level(v["F"], v["D"]),
    "hal.npf": lambda v, t: normalised_peak_force(v["P"]),
    "tlv2018.line": _limits("2018"),
    "tlv2001.line": _limits("2001"),
    "mae": lambda v, t: maximum_acceptable_effort(v["DC"]),
    "mean_load": lambda v, t: mean_load(v["F"], v["T"]),
    "jonsson": lambda v, t: list(
        load_standing(LoadLevels(v["static"][0], v["median"][0], v["peak"][0])).values()
    ),
    "strength": _strength_percentiles,
    "strength.percent": lambda v, t: percent_of_maximum(v["F"], _strength_percentiles(v, t)),
    "strength.ceiling": lambda v, t: percent_of_maximum(v["F"] * 9.80665, v["S"] * 9.80665),
    "fatigue.cycles": lambda v, t: cycles_to_failure(v["S"]),
    "fatigue.damage": lambda v, t: relative_fatigue_damage(v["S"], v["n"]),
    "bench.standing": _standing,
    "bench.seated": _seated,
    "bench.seat_range": lambda v, t: [seat_range_share(v["lo"], v["hi"], body)[0] for body in (WOMEN, MEN)],
    "incidence_rate_200k": lambda v, t: _rate_interval(v, t)[0],
    "garwood95": lambda v, t: garwood(int(v["x"][0])),
    "rate_ci_200k": _rate_interval,
}

UNCHECKED: dict[str, str] = {}
"""Methods of the table without code, each with the reason; empty while every method is built."""


def parse(text: str) -> tuple[Values, Texts]:
    """Read ``name=value;...``, where a value is one number, several set apart by blanks, or a word."""
    pairs = dict(part.split("=", 1) for part in text.split(";"))
    numbers = {}
    for name, value in pairs.items():
        try:
            numbers[name] = np.array([float(Fraction(word)) for word in value.split()])
        except ValueError:
            continue  # A word, such as the kind of pinch; it stays in the texts.
    return numbers, pairs


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_row(row: dict[str, str]) -> None:
    assert row["method"] in METHODS or row["method"] in UNCHECKED, "method without code and without a reason"
    if row["method"] in UNCHECKED:
        pytest.skip(UNCHECKED[row["method"]])
    found = METHODS[row["method"]](*parse(row["inputs"]))
    expected = row["expected"].split(";")
    if row["method"] == "jonsson":
        assert found == expected
    else:
        # A hair more than the tolerance: the expected values are rounded, so halves sit on its edge.
        numbers = np.array([float(word) for word in expected])
        assert np.ravel(found) == pytest.approx(numbers, rel=0, abs=float(row["tolerance"]) * (1 + 1e-9))


def test_table_is_whole() -> None:
    assert len({row["id"] for row in ROWS}) == len(ROWS) >= 110
    assert all(row["source"] and row["status"] for row in ROWS)
    assert {row["method"] for row in ROWS} >= set(METHODS)
    assert not set(UNCHECKED) & set(METHODS)


def test_a_wrong_value_is_seen() -> None:
    """The comparison must be able to fail."""
    row = dict(next(row for row in ROWS if row["id"] == "rsi.HM:H=4h"), expected="0.7700")
    with pytest.raises(AssertionError):
        test_row(row)
