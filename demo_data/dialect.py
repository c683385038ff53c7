"""How a site writes: its column names, codes, numbers, dates and units, read from its own profile.

The generator turns each profile around: what the profile maps onto a contract is what the export must hold.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from demo_data.institute import KGF_IN_N

PROFILES = Path(__file__).parent / "profiles"
# Site -> its profile.
PROFILE_OF = {"INSTITUTE": "institute", "NORTH": "north", "BRACK": "lakes", "QUILL": "lakes"}
_PER_BASE = {
    "N": 1.0, "kgf": 1 / KGF_IN_N, "mm": 1.0, "cm": 0.1, "g": 1.0, "s": 0.001, "ms": 1.0, "h": 1.0,
}  # fmt: skip
# Arrow makes its functions at import, which type checkers do not see.
_JOIN = pc.__dict__["binary_join_element_wise"]
_ISO = {"date_format": "%Y-%m-%d", "datetime_format": "%Y-%m-%dT%H:%M:%S", "month_format": "%Y-%m"}


@dataclass(frozen=True)
class Dialect:
    """One site's way of writing, taken from its profile's TOML.

    Attributes
    ----------
    path : Path
        The profile.
    toml : dict
        Its content.
    """

    path: Path
    toml: dict

    def fields(self, source: str) -> dict[str, dict]:
        """Return the mapping of a source, always in its long form."""
        given = self.toml["sources"][source]["fields"]
        return {name: {"column": one} if isinstance(one, str) else one for name, one in given.items()}

    def _format(self, key: str) -> str:
        found = self.toml.get(key, "iso")
        return _ISO[key] if found == "iso" else found

    @property
    def delimiter(self) -> str:
        """Sign between cells."""
        return self.toml.get("delimiter", ",")

    def number(self, values: np.ndarray, digits: int) -> list[str | None]:
        """Write numbers with a fixed number of decimals; nan becomes an empty cell."""
        comma = self.toml.get("decimal", ".") == ","
        texts = [None if np.isnan(value) else f"{value:.{digits}f}" for value in np.asarray(values, float)]
        return [text.replace(".", ",") if comma and text else text for text in texts]

    def quantity(self, source: str, field: str, values: np.ndarray) -> list[str | None]:
        """Write base-unit values (N, mm, g, ms, h) in the unit the profile declares."""
        unit = self.fields(source)[field]["unit"]
        digits = {"N": 1, "kgf": 2, "cm": 1, "s": 3, "h": 1}.get(unit, 0)
        return self.number(np.asarray(values, float) * _PER_BASE[unit], digits)

    def dates(self, days: np.ndarray) -> list[str | None]:
        """Write calendar days; NaT becomes an empty cell."""
        pattern = self._format("date_format")
        return [None if np.isnat(day) else f"{day.astype(object):{pattern}}" for day in days]

    def months(self, months: np.ndarray) -> pa.Array:
        """Write months, datetime64[M]."""
        first = int(months.min().astype(int)) if months.size else 0
        count = int(months.max().astype(int)) - first + 1 if months.size else 0
        known = np.datetime64(first, "M") + np.arange(count)
        texts = [
            f"{month.astype('datetime64[D]').astype(object):{self._format('month_format')}}"
            for month in known
        ]
        return pa.array(texts, pa.string()).take(pa.array(months.astype(int) - first))

    def instants(self, seconds: np.ndarray, millis: np.ndarray | None = None) -> pa.Array:
        """Write local wall-clock seconds since 1970 as the profile's date and time, vectorised."""
        pattern = self._format("datetime_format")
        join = "T" if "T" in pattern else " "
        day_pattern, time_pattern = pattern.split(join)
        day, clock = seconds // 86_400, seconds % 86_400
        first = int(day.min())
        days = [_stamp(number * 86_400, day_pattern) for number in range(first, int(day.max()) + 1)]
        step = 1 if "%S" in time_pattern else 60
        clocks = _clocks(time_pattern, step)
        parts = [pa.array(days).take(pa.array(day - first)), clocks.take(pa.array(clock // step))]
        text = _JOIN(*parts, join)
        if millis is None:
            return text
        tails = pa.array([f"{number:03d}" for number in range(1000)]).take(pa.array(millis))
        return _JOIN(text, tails, ".")

    def coded(self, source: str, field: str, names: tuple[str, ...]) -> list[str]:
        """Return the site's own words for contract codes."""
        one = self.fields(source)[field]
        own = {code: text for text, code in one.get("map", {}).items()}
        return [own.get(name, name.lower() if one.get("upper") else name) for name in names]

    def code(self, source: str, field: str, names: tuple[str, ...], index: np.ndarray) -> pa.Array:
        """Write codes given by their number."""
        return pa.array(self.coded(source, field, names), pa.string()).take(pa.array(index))

    def headed(self, source: str, columns: Mapping[str, object]) -> pa.Table:
        """Put the site's headers over contract fields, in the profile's order; every cell is text."""
        mapping = self.fields(source)
        return pa.table(
            {
                mapping[name]["column"]: pa.chunked_array([pa.array(columns[name], pa.string())])
                for name in mapping
                if name in columns
            }
        )


def _stamp(seconds: int, pattern: str) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime(pattern)


@cache
def _clocks(pattern: str, step: int) -> pa.Array:
    return pa.array([_stamp(number * step, pattern) for number in range(86_400 // step)])


@cache
def dialect(site: str) -> Dialect:
    """Return how a site writes.

    Parameters
    ----------
    site : str
        A site code, or ``INSTITUTE`` for the central registers.

    Returns
    -------
    Dialect
        Its profile turned around.
    """
    path = PROFILES / f"{PROFILE_OF[site]}.toml"
    return Dialect(path, tomllib.loads(path.read_text(encoding="utf-8")))
