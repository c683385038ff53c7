"""Files held back because their numbers as a whole look like another unit or a reversed scale.

Such a mistake shows in no single row. It shows against what was loaded before, or, where there is nothing
yet, against what is plausible at all. Nothing is corrected: a person looks, and corrects the file or the
profile, or confirms that the numbers are right.
"""

import math
from collections.abc import Collection
from decimal import Decimal
from pathlib import Path

import duckdb

from etl.contracts import Field
from etl.filechecks import refuse
from etl.late import Note
from etl.sqlfiles import sql
from etl.staging import Staged
from etl.units import UNITS, convert

CONFIRMATIONS = ("units", "scale", "series")
# Smallest factor between units that sites mix up: newton for pound-force, minutes for hours or seconds.
# A median differs between files for honest reasons too, so four fifths of the factor will do.
LEAST_FACTOR = {"force": 4.448, "duration": 60.0}
SLACK = 0.8
LEAST_VALUES = 3
# Medians that are plausible for a whole file, in the contract's unit; own convention, wide on purpose.
PLAUSIBLE: dict[str, tuple[float, float]] = {
    "plunger_force": (1.5, 60.0),
    "blow_out_force": (1.5, 80.0),
    "tip_mount_force": (2.0, 120.0),
    "ejection_force": (2.0, 120.0),
    "volume_change_force": (0.3, 40.0),
    "press_duration": (0.05, 4.0),
    "eject_duration": (0.05, 4.0),
    "hours_worked": (30.0, 15_000.0),
}
# Scores of the same persons agree from one survey to the next; a strong inverse is a turned scale.
LEAST_PAIRS = 30
TURNED_CORRELATION = -0.5
MIDDLE, TOP = 5.0, 10.0
CLEAR_OF_MIDDLE = 1.5
NEAR_MIRROR = 1.0


def hold_units(
    con: duckdb.DuckDBPyConnection, staged: Staged, confirmed: Collection[str], path: Path
) -> list[Note]:
    """Hold a file of which a force or duration looks like another unit.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, after the checks of rows.
    staged : Staged
        What was staged.
    confirmed : collection of str
        ``units`` where a person says that they are right.
    path : Path
        The file, for messages.

    Returns
    -------
    list of tuple
        ``W_UNIT``, column and rows of each field that was confirmed against appearance.

    Raises
    ------
    FileRefused
        E_UNIT.
    """
    notes: list[Note] = []
    for name in staged.fields:
        one = staged.contract.field(name)
        if one.dimension not in LEAST_FACTOR:
            continue
        value = f'"{name}__v"'
        median, count = con.execute(
            f"select median({value}), count({value}) from typed where ok and {value} > 0"
            " and id not in (select id from issues)"
        ).fetchall()[0]
        before, known = con.execute(
            f"select median({one.store_column}), count(*) from core.{staged.contract.name}"
            f" where {one.store_column} > 0"
        ).fetchall()[0]
        if not count:
            continue
        said = _doubt(one, _shown(one, median), count, _shown(one, before or 0), known)
        column = staged.columns.get(name, name)
        if said and "units" not in confirmed:
            raise refuse(
                "E_UNIT", f"The median of column {column} is {said}", path,
                "Correct the unit in the file or profile; if it is right, load with --confirm-units.",
            )  # fmt: skip
        if said:
            notes.append(("W_UNIT", column, count))
    return notes


def _shown(one: Field, stored: float) -> float:
    factors = UNITS[one.dimension]
    return float(stored) * float(factors[one.store_unit] / factors[one.unit])


def _doubt(one: Field, median: float, count: int, before: float, known: int) -> str:
    """Say what is doubtful about a median, in the contract's unit; empty where nothing is."""
    now = f"{median:.3g} {one.unit}"
    if count >= LEAST_VALUES and known >= LEAST_VALUES:
        ratio = max(median / before, before / median)
        if ratio >= SLACK * LEAST_FACTOR[one.dimension]:
            return f"{now}, that of files loaded before {before:.3g} {one.unit}{_pair(one, ratio)}"
    low, high = PLAUSIBLE.get(one.name, (0.0, math.inf))
    if not low <= median <= high:
        return f"{now}, where {low:g} to {high:g} {one.unit} is plausible"
    return ""


def _pair(one: Field, ratio: float) -> str:
    """Name the two units whose factor is nearest to a ratio."""
    factors = {
        (large, small): float(convert(Decimal(1), one.dimension, large, small))
        for large in UNITS[one.dimension] for small in UNITS[one.dimension]
        if UNITS[one.dimension][large] > UNITS[one.dimension][small]
    }  # fmt: skip
    (large, small), factor = min(factors.items(), key=lambda item: abs(math.log(item[1] / ratio)))
    return f"; {factor:.4g} lies between {large} and {small}"


def hold_scale(
    con: duckdb.DuckDBPyConnection, staged: Staged, confirmed: Collection[str], path: Path
) -> list[Note]:
    """Hold a survey file whose scores run the other way than those loaded before.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Connection of the load, after the checks of rows.
    staged : Staged
        What was staged.
    confirmed : collection of str
        ``scale`` where a person says that the scores are right.
    path : Path
        The file, for messages.

    Returns
    -------
    list of tuple
        ``W_SCALE``, column and rows where confirmed against appearance.

    Raises
    ------
    FileRefused
        E_SCALE.
    """
    if staged.contract.name != "surveys" or "score" not in staged.fields:
        return []
    count, mean = _mean(con, "score__v", "typed where ok and id not in (select id from issues)")
    said = _turned(con, count, mean) if count >= LEAST_PAIRS else ""
    if said and "scale" not in confirmed:
        raise refuse(
            "E_SCALE", said, path,
            "Check that 0 is no discomfort, and turn the scores in the export; if they are right, load with"
            " --confirm-scale.",
        )  # fmt: skip
    return [("W_SCALE", staged.columns.get("score", "score"), count)] if said else []


def _mean(con: duckdb.DuckDBPyConnection, column: str, rows: str) -> tuple[int, float]:
    count, mean = con.execute(f"select count({column}), avg({column}) from {rows}").fetchall()[0]
    return int(count), float(mean or 0)


def _turned(con: duckdb.DuckDBPyConnection, count: int, mean: float) -> str:
    """Say why scores look turned; empty where they do not."""
    known, before = _mean(con, "score", "core.surveys")
    if known < LEAST_PAIRS:
        clear = mean >= TOP - CLEAR_OF_MIDDLE - NEAR_MIRROR
        return f"The mean of {count:,} scores is {mean:.1f}, near the worst possible" if clear else ""
    pairs, correlation = con.execute(sql("load/080_score_pairs")).fetchall()[0]
    if pairs >= LEAST_PAIRS and correlation is not None and correlation < TURNED_CORRELATION:
        said = f"{pairs:,} scores go against the last ones of the same persons"
        return f"{said} (rank correlation {correlation:.2f})"
    if abs(before - MIDDLE) >= CLEAR_OF_MIDDLE and abs(mean - (TOP - before)) <= NEAR_MIRROR:
        return (
            f"The mean score is {mean:.1f}, that of files loaded before {before:.1f}: turned about {MIDDLE:g}"
        )
    return ""
