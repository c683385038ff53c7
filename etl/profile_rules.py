"""Rules a profile must keep before any file is read."""

import codecs
import re
from collections.abc import Mapping
from typing import Any, Self
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel, ConfigDict, model_validator

from etl.contracts import Contract
from etl.units import UNITS

NAMED_FORMATS = ("iso", "excel-1900", "excel-1904", "epoch-s", "epoch-ms", "date", "index")
WIDE_ITEMS = ("hindered", "trouble_7d", "trouble_12m", "hindered_12m")
"""Items of a wide survey that each asked column may have a column of."""
TOKENS = {
    "%d": r"\d{1,2}", "%m": r"\d{1,2}", "%Y": r"\d{4}", "%y": r"\d{2}", "%H": r"\d{1,2}", "%M": r"\d{2}",
    "%S": r"\d{2}", "%f": r"\d{1,6}", "%I": r"\d{1,2}", "%p": r"[AaPp][Mm]", "%b": r"[A-Za-z]{3}",
}  # fmt: skip
_OF_KIND = {
    "date": ("iso", "excel-1900", "excel-1904"),
    "month": ("iso", "excel-1900", "excel-1904", "date", "index"),
    "instant": ("iso", "epoch-s", "epoch-ms"),
}


def check_format(pattern: str) -> None:
    """Refuse a date, time or month format that is not understood.

    Parameters
    ----------
    pattern : str
        A named format or a pattern of ``%`` tokens.

    Raises
    ------
    ValueError
        If a token is unknown or there is none.
    """
    if pattern in NAMED_FORMATS:
        return
    tokens = re.findall(r"%.?", pattern)
    unknown = [token for token in tokens if token not in TOKENS]
    if unknown or not tokens:
        raise ValueError(f"format {pattern!r} is not one of {', '.join(NAMED_FORMATS)} or a pattern of "
                         f"{' '.join(TOKENS)}")  # fmt: skip


def format_regex(pattern: str) -> str:
    """Return the regular expression of texts that have the shape of a pattern.

    Parameters
    ----------
    pattern : str
        A pattern of ``%`` tokens.

    Returns
    -------
    str
        An anchored expression that both Python and RE2 understand.
    """
    parts = re.split(r"(%.)", pattern)
    return "^" + "".join(TOKENS.get(part) or re.escape(part) for part in parts) + "$"


class Conventions(BaseModel):
    """How one source writes text, numbers and dates."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    time_zone: str
    encoding: str
    delimiter: str
    decimal: str
    thousands: str
    missing: tuple[str, ...]
    date_format: str
    datetime_format: str
    month_format: str

    @model_validator(mode="after")
    def _known(self) -> Self:
        for key in ("date_format", "datetime_format", "month_format"):
            check_format(getattr(self, key))
        try:
            ZoneInfo(self.time_zone)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError(
                f"time_zone {self.time_zone!r} is not an IANA zone such as Europe/Zurich"
            ) from None
        try:
            "a".encode(codecs.lookup(self.encoding).name)
        except LookupError:
            raise ValueError(f"encoding {self.encoding!r} is not a text encoding Python knows") from None
        if self.delimiter not in (",", ";", "|", "\t"):
            raise ValueError("delimiter must be one of , ; | or a tab")
        if self.decimal not in (".", ","):
            raise ValueError("decimal must be . or ,")
        if self.thousands not in ("", ".", ",", "'", " ") or self.thousands == self.decimal:
            raise ValueError("thousands must be empty, . , ' or a blank, and differ from decimal")
        return self


def check_fields(contract: Contract, fields: Mapping[str, Any], *, wide: bool) -> None:
    """Refuse a field mapping that the contract cannot take.

    Parameters
    ----------
    contract : Contract
        The contract of the source.
    fields : mapping of str to FieldMap
        The mapping.
    wide : bool
        Whether region, side, score and its items come from a wide survey's columns.

    Raises
    ------
    ValueError
        If a field is unknown, missing, mapped twice, or a quantity has no known unit.
    """
    known = {field.name: field for field in contract.fields}
    melted = {"region", "side", "score", *WIDE_ITEMS} if wide else set()
    for name, one in fields.items():
        if name not in known:
            raise ValueError(f"fields.{name} is not a field of {contract.name}: {', '.join(known)}")
        if name in melted:
            raise ValueError(f"fields.{name} comes from the wide columns; map it there only")
        field = known[name]
        if field.kind == "quantity" and one.column is not None:
            units = UNITS[field.dimension]
            if one.unit_column is None and one.unit is None:
                raise ValueError(f"fields.{name} needs a unit, one of {', '.join(units)}")
            if one.unit is not None and one.unit not in units:
                raise ValueError(f"fields.{name}.unit {one.unit!r} is not one of {', '.join(units)}")
        elif one.unit is not None or one.unit_column is not None:
            raise ValueError(f"fields.{name} takes no unit")
        if one.format in NAMED_FORMATS and one.format not in _OF_KIND.get(field.kind, ()):
            raise ValueError(f"fields.{name}.format {one.format!r} does not suit a {field.kind}")
        if one.format == "index" and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", one.origin or ""):
            raise ValueError(f"fields.{name}.origin must be a month such as 2026-01")
    absent = [
        name
        for name, field in known.items()
        if field.required and field.default is None and name not in fields and name not in melted
    ]
    if absent:
        raise ValueError(f"fields.{absent[0]} is missing and {contract.name} requires it")
