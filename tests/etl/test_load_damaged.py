"""Workbooks and Parquet files with flipped bytes or a lost end are refused or load rows that add up."""

import random

import duckdb
import openpyxl
import pytest

from etl.reasons import REASONS
from tests.support.load_files import load, registers, write_csv


def _good(folder, ending):
    rows = registers()["teams"]
    path = folder / f"good.{ending}"
    if ending == "xlsx":
        book = openpyxl.Workbook()
        book.active.append(list(rows[0]))
        for row in rows:
            book.active.append(list(row.values()))
        book.save(path)
    else:
        source = write_csv(folder / "good.csv", rows)
        duckdb.execute(f"copy (from read_csv('{source}', all_varchar = true)) to '{path}'")
    return path.read_bytes()


@pytest.mark.parametrize("ending", ["xlsx", "parquet"])
def test_damaged_files_end_in_a_record(tmp_path, ending):
    rng = random.Random(20261)
    good = _good(tmp_path, ending)
    outcomes = []
    for case in range(40):
        damaged = bytearray(good)
        for _ in range(rng.randrange(1, 6)):
            damaged[rng.randrange(4, len(damaged))] = rng.randrange(256)
        if case % 5 == 0:
            del damaged[rng.randrange(5, len(damaged)) :]
        folder = tmp_path / str(case)
        folder.mkdir()
        path = folder / f"teams.{ending}"
        path.write_bytes(damaged)
        record = load(folder, [path]).files[0]
        outcomes.append(record.outcome)
        if record.outcome == "refused":
            assert record.code in REASONS
            assert record.message.isprintable()
        else:
            assert record.rows_in == record.rows_accepted + record.rows_set_aside
    assert outcomes.count("refused") > 20
