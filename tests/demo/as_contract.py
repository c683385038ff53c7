"""Clean sheets in the contracts' own notation, mapped by the profile's TOML and by nothing of etl.

A second reading of the profiles: what the loader makes of them is checked elsewhere, so that a fault common
to loader and schema cannot hide.
"""

import csv
import datetime as dt
import tomllib
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

from demo_data.sheets import Sheet

# Factors to the contract's unit: N, s, g, mm, h.
TO_UNIT = {"kgf": 9.80665, "N": 1.0, "ms": 0.001, "s": 1.0, "g": 1.0, "cm": 10.0, "mm": 1.0, "h": 1.0}
FORMATS = {"date_format": "%Y-%m-%d", "datetime_format": "%Y-%m-%dT%H:%M:%S", "month_format": "%Y-%m"}
DATES = {"valid_from", "valid_to", "observed_on", "planned", "started", "completed"}
INSTANTS = {"start", "end"}


def _reader(name: str, one: dict, toml: dict) -> Callable[[str], str]:
    def form(key: str) -> str:
        return FORMATS[key] if toml.get(key, "iso") == "iso" else toml[key]

    def read(text: str) -> str:
        text = one.get("map", {}).get(text, text)
        text = text.upper() if one.get("upper") else text
        if not text:
            return text
        if "unit" in one:
            return f"{float(text.replace(',', '.')) * TO_UNIT[one['unit']]:.6g}"
        if name in DATES:
            return f"{dt.datetime.strptime(text, form('date_format')):%Y-%m-%d}"
        if name == "month":
            return f"{dt.datetime.strptime(text, form('month_format')):%Y-%m}"
        if name in INSTANTS:
            local = dt.datetime.strptime(text, form("datetime_format"))
            return local.replace(tzinfo=ZoneInfo(toml["time_zone"])).isoformat()
        return text

    return read


def mapped(sheet: Sheet, rows: int) -> list[dict[str, str]]:
    """Return the first rows of a sheet under contract names."""
    toml = tomllib.loads(sheet.dialect.path.read_text(encoding="utf-8"))
    fields = sheet.dialect.fields(sheet.source)
    readers = {name: _reader(name, one, toml) for name, one in fields.items()}
    return [
        {
            name: read(fields[name].get("value") or row[fields[name]["column"]] or "")
            for name, read in readers.items()
        }
        for row in sheet.table.slice(0, rows).to_pylist()
    ]


def write(rows: list[dict[str, str]], names: list[str], path: Path) -> None:
    """Write rows as plain CSV in the order of a schema's fields."""
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, names, restval="")
        writer.writeheader()
        writer.writerows(rows)
