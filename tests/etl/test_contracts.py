"""The published schemas are valid Table Schemas and agree with the store and with clean files."""

import json
import re
from pathlib import Path

import pytest
from frictionless import Resource, Schema, system

from etl.contracts import CONTRACTS, LOAD_ORDER, write_schemas
from etl.home import Home
from etl.reasons import REASONS
from etl.store import open_store
from tests.support.load_files import everything, write_csv

ROOT = Path(__file__).parents[2]


def all_columns(rows: list[dict[str, str]], descriptor: dict) -> list[dict[str, str]]:
    """Return rows with every column of the schema, empty where a row says nothing."""
    return [{field["name"]: row.get(field["name"], "") for field in descriptor["fields"]} for row in rows]


@pytest.mark.parametrize("name", CONTRACTS)
def test_frictionless_accepts_the_schema_and_a_clean_table(tmp_path, name):
    path = {one.name.split(".")[0]: one for one in write_schemas(tmp_path)}[name]
    descriptor = json.loads(path.read_text(encoding="utf-8"))
    report = Schema.validate_descriptor(descriptor)
    assert report.valid, report.flatten(["message"])
    write_csv(tmp_path / f"{name}.csv", all_columns(everything()[name], descriptor))
    # Times are published with an offset; the small institute's bouts are local.
    descriptor["fields"] = [
        one | {"format": "%Y-%m-%d %H:%M" if one["name"] == "start" else "%Y-%m-%d %H:%M:%S"}
        if name == "bouts" and one["type"] == "datetime" else one for one in descriptor["fields"]
    ]  # fmt: skip
    descriptor.pop("foreignKeys", None)
    with system.use_context(trusted=True):
        checked = Resource(
            path=str(tmp_path / f"{name}.csv"), schema=Schema.from_descriptor(descriptor)
        ).validate()
    assert checked.valid, checked.flatten(["rowNumber", "fieldName", "message"])


def test_frictionless_finds_a_defect(tmp_path):
    write_schemas(tmp_path)
    rows = everything()["surveys"]
    rows[0]["score"] = "11"
    descriptor = json.loads((tmp_path / "surveys.schema.json").read_text(encoding="utf-8"))
    write_csv(tmp_path / "surveys.csv", all_columns(rows, descriptor))
    descriptor.pop("foreignKeys")
    with system.use_context(trusted=True):
        checked = Resource(
            path=str(tmp_path / "surveys.csv"), schema=Schema.from_descriptor(descriptor)
        ).validate()
    assert checked.flatten(["rowNumber", "fieldName", "type"]) == [[2, "score", "constraint-error"]]


def test_references_are_loaded_before_what_refers_to_them():
    for name, contract in CONTRACTS.items():
        for field in contract.fields:
            if field.refers_to:
                table, column = field.refers_to.split(".")
                assert LOAD_ORDER.index(table) < LOAD_ORDER.index(name)
                assert CONTRACTS[table].field(column).required


def test_every_field_has_its_store_column_and_every_key_is_required(tmp_path):
    with open_store(Home(tmp_path), write=True) as con:
        for name, contract in CONTRACTS.items():
            columns = dict(
                con.execute(
                    "select column_name, is_nullable from duckdb_columns() where database_name = 'store'"
                    " and schema_name = 'core' and table_name = ?",
                    [name],
                ).fetchall()
            )
            fields = {field.store_column: field for field in contract.fields}
            assert set(columns) - {"file_id", "row_number", "tz"} == set(fields)
            filled = {column for column, nullable in columns.items() if not nullable}
            assert filled - {"file_id", "row_number", "tz"} \
                == {column for column, field in fields.items() if field.required}  # fmt: skip
            assert all(contract.field(key).required for key in contract.key)


def test_every_reason_code_in_the_code_is_explained_and_every_one_explained_is_used():
    used: set[str] = set()
    for path in (ROOT / "etl").rglob("*"):
        if path.suffix in (".py", ".sql") and path.name != "reasons.py":
            used |= set(re.findall(r"[\"']([DEWX]_[A-Z]+)[\"']", path.read_text(encoding="utf-8")))
    assert used - set(REASONS) == set()
    assert set(REASONS) - used == set()


def test_meanings_and_remedies_are_plain_sentences():
    for code, reason in REASONS.items():
        assert re.fullmatch(r"[DEWX]_[A-Z]+", code)
        assert reason.meaning[0].islower()
        assert not reason.meaning.endswith(".")
        assert reason.remedy.endswith(".")
