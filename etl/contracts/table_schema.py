"""Contracts as Frictionless Table Schema descriptors (the open standard, version 1)."""

import json
from pathlib import Path
from typing import Any

from etl.contracts.model import CODE_PATTERN, PERSON_PATTERN, Contract, Field

_TYPES = {
    "code": "string", "codes": "string", "person": "string", "choice": "string", "text": "string",
    "integer": "integer", "mark": "number", "decimal": "number", "quantity": "number", "boolean": "boolean",
    "date": "date", "month": "string", "instant": "datetime",
}  # fmt: skip
_PATTERNS = {
    "code": CODE_PATTERN,
    "person": PERSON_PATTERN,
    "month": r"^\d{4}-(0[1-9]|1[0-2])$",
}


def _constraints(field: Field) -> dict[str, Any]:
    found: dict[str, Any] = {"required": field.required and field.default is None}
    for name in ("minimum", "maximum"):
        bound = getattr(field, name)
        if bound is not None:
            found[name] = int(bound) if field.kind in {"integer", "mark"} else bound
    if field.kind in _PATTERNS:
        found["pattern"] = _PATTERNS[field.kind]
    if field.kind == "choice":
        found["enum"] = list(field.choices)
    if field.kind == "codes":
        one = f"({'|'.join(field.choices)})"
        found["pattern"] = f"^{one}(;{one})*$"
    if field.kind == "text":
        found["maxLength"] = field.max_length
    return found


def _describe(field: Field) -> dict[str, Any]:
    described: dict[str, Any] = {
        "name": field.name,
        "type": _TYPES[field.kind],
        "description": field.description,
        "constraints": _constraints(field),
    }
    if field.kind in {"date", "instant"}:
        described["format"] = "default"
    if field.kind == "boolean":
        described |= {"trueValues": ["true", "1", "yes"], "falseValues": ["false", "0", "no"]}
    if field.unit:
        described["unit"] = field.unit
    return described


def table_schema(contract: Contract) -> dict[str, Any]:
    """Describe a contract as a Table Schema.

    Instants are ISO 8601 with an offset, dates ISO 8601, months ``YYYY-MM``, numbers with a decimal
    point, quantities in the unit given by the additional property ``unit``.

    Parameters
    ----------
    contract : Contract
        The contract.

    Returns
    -------
    dict
        The descriptor, ready for JSON.
    """
    foreign = [
        {
            "fields": [field.name],
            "reference": {
                "resource": field.refers_to.split(".")[0],
                "fields": [field.refers_to.split(".")[1]],
            },
        }
        for field in contract.fields
        if field.refers_to
    ]
    schema: dict[str, Any] = {
        "name": contract.name,
        "title": contract.title,
        "description": contract.description,
        "fields": [_describe(field) for field in contract.fields],
        "primaryKey": list(contract.key),
        "missingValues": [""],
    }
    if foreign:
        schema["foreignKeys"] = foreign
    return schema


def write_schema_files(contracts: dict[str, Contract], folder: Path) -> list[Path]:
    """Write one descriptor file a contract.

    Parameters
    ----------
    contracts : dict of str to Contract
        Contracts by name.
    folder : Path
        Created where missing.

    Returns
    -------
    list of Path
        The files written, in load order.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, contract in contracts.items():
        path = folder / f"{name}.schema.json"
        path.write_text(json.dumps(table_schema(contract), indent=2) + "\n", encoding="utf-8")
        written.append(path)
    return written
