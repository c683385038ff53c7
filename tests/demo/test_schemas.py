"""The published Table Schemas: current, and kept by the demo's clean data (Frictionless, open standard)."""

import json
from pathlib import Path

import pytest
from frictionless import Package, Resource, Schema

from demo_data.sheets import Sheet
from demo_data.world import clean_sheets, streams, world
from etl.contracts import LOAD_ORDER, write_schemas
from tests.demo.as_contract import mapped, write
from tests.demo.conftest import SEED

ROWS = 250


@pytest.fixture(scope="module")
def published(repository: Path) -> Path:
    return repository / "demo_data" / "schemas"


@pytest.fixture(scope="module")
def rows() -> dict[str, list[dict[str, str]]]:
    """Return clean rows by contract: all of the registers, the first of each log and of the long survey."""
    rng = streams(SEED)
    sheets: list[Sheet] = list(clean_sheets(world("small", rng), rng))
    found: dict[str, list[dict[str, str]]] = {name: [] for name in LOAD_ORDER}
    for sheet in sheets:
        if sheet.answers == 1:
            found[sheet.contract] += mapped(sheet, ROWS)
    return found


def descriptor(folder: Path, contract: str) -> dict:
    return json.loads((folder / f"{contract}.schema.json").read_text(encoding="utf-8"))


def package(rows: dict[str, list[dict[str, str]]], published: Path, folder: Path) -> Package:
    resources = []
    for contract in LOAD_ORDER:
        schema = descriptor(published, contract)
        write(rows[contract], [field["name"] for field in schema["fields"]], folder / f"{contract}.csv")
        resources.append(
            Resource(
                name=contract,
                path=f"{contract}.csv",
                basepath=str(folder),
                schema=Schema.from_descriptor(schema),
            )
        )
    return Package(resources=resources, basepath=str(folder))


def problems(rows: dict[str, list[dict[str, str]]], published: Path, folder: Path) -> list[tuple[str, str]]:
    report = package(rows, published, folder).validate()
    return [(task.name, error.type) for task in report.tasks for error in task.errors]


def test_published_schemas_are_current(published: Path, tmp_path: Path) -> None:
    fresh = {path.name: path.read_bytes() for path in write_schemas(tmp_path)}
    assert {path.name: path.read_bytes() for path in published.iterdir()} == fresh


def test_clean_data_of_every_contract_keeps_its_schema_and_references(
    rows: dict[str, list[dict[str, str]]], published: Path, tmp_path: Path
) -> None:
    assert all(len(rows[contract]) > 5 for contract in LOAD_ORDER)
    assert problems(rows, published, tmp_path) == []


@pytest.mark.parametrize(
    ("contract", "field", "text", "kind"),
    [
        ("surveys", "score", "11", "constraint-error"),
        ("bouts", "strokes", "many", "type-error"),
        ("bouts", "person", "k1:NOBODY", "foreign-key"),
        ("instruments", "kind", "SPOON", "constraint-error"),
        ("people", "team", "", "constraint-error"),
    ],
)
def test_a_spoilt_cell_is_found(
    rows: dict[str, list[dict[str, str]]], published: Path, tmp_path: Path,
    contract: str, field: str, text: str, kind: str,
) -> None:  # fmt: skip
    spoilt = dict(rows)
    spoilt[contract] = [rows[contract][0] | {field: text}, *rows[contract][1:]]
    assert (contract, kind) in problems(spoilt, published, tmp_path)
