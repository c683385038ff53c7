"""One known defect in an otherwise clean row gives exactly its reason code and adds up."""

from collections import Counter

import pandas as pd
import pytest

from etl.home import Home
from etl.store import open_store
from tests.support.dirty_rows import ODD_BUT_RIGHT, ROW_DEFECTS, clean_rows
from tests.support.load_files import bouts, home_before, load_table, surveys


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


@pytest.fixture
def before(templates, tmp_path):
    """Function that prepares a data home for one contract."""
    return lambda contract: home_before(contract, templates, tmp_path)


def _aside(folder, contract):
    with open_store(Home(folder / "home"), write=False) as con:
        return con.execute(
            "select row_number, column_name, reason, counts_as_row from core.set_aside join core.file_ledger"
            " using (file_id) where contract = ? order by all",
            [contract],
        ).fetchall()


CONTRACTS_HIT = sorted({case[0] for case in (*ROW_DEFECTS, *ODD_BUT_RIGHT)})
ROWS = {"bouts": 2_000, "surveys": 360, "teams": 400}


def _cases(contract):
    listed = (*ROW_DEFECTS, *ODD_BUT_RIGHT)
    return [case for case in listed if case[0] == contract]


@pytest.fixture(scope="module")
def loaded(templates, tmp_path_factory):
    """One file a contract with a row for each case among many clean rows: its record and the store."""
    found = {}
    for contract in CONTRACTS_HIT:
        folder = home_before(contract, templates, tmp_path_factory.mktemp(contract))
        rows = clean_rows(contract, ROWS.get(contract, 200))
        for row, (_, cells, *_) in zip(rows, _cases(contract), strict=False):
            row |= cells
        record = load_table(folder, contract, rows).files[0]
        assert record.outcome == "loaded", record.message
        with open_store(Home(folder / "home"), write=False) as con:
            stored = con.execute(f"select * from core.{contract}").fetch_df()
        aside: dict[int, list] = {}
        for number, *reason in _aside(folder, contract):
            aside.setdefault(number, []).append(tuple(reason))
        found[contract] = record, aside, stored.set_index("row_number")
    return found


@pytest.mark.parametrize(("contract", "cells", "code", "column"), ROW_DEFECTS)
def test_one_defect_gives_its_code_and_only_it(loaded, contract, cells, code, column):
    _, aside, stored = loaded[contract]
    number = _cases(contract).index((contract, cells, code, column)) + 2
    assert aside[number] == [(column, code, True)]
    assert number not in stored.index


@pytest.mark.parametrize(("contract", "cells", "field", "value"), ODD_BUT_RIGHT)
def test_what_is_only_odd_is_stored_as_it_says(loaded, contract, cells, field, value):
    _, aside, stored = loaded[contract]
    number = _cases(contract).index((contract, cells, field, value)) + 2
    assert number not in aside
    kept = stored.loc[number, field]
    assert pd.isna(kept) if value is None else kept == value


@pytest.mark.parametrize("contract", CONTRACTS_HIT)
def test_no_other_row_is_touched(loaded, contract):
    record, aside, stored = loaded[contract]
    defects = [case for case in ROW_DEFECTS if case[0] == contract]
    assert set(aside) == set(range(2, len(defects) + 2))
    assert (record.rows_set_aside, record.rows_accepted) == (len(defects), len(stored))
    assert record.rows_in == ROWS.get(contract, 200)
    counted = {(one.reason, one.column): one.rows for one in record.reasons}
    assert counted == Counter((code, column) for _, _, code, column in defects)


@pytest.mark.parametrize("first", ["person", "Total", ""], ids=["header again", "total", "blank"])
def test_lines_without_data_are_set_aside_once(before, first):
    rows = surveys(80)
    line = {name: name if first == "person" else "" for name in rows[0]} | {"person": first}
    record = load_table(before("surveys"), "surveys", [*rows, line]).files[0]
    assert [(one.reason, one.rows) for one in record.reasons] == [("E_NOTDATA", 1)]
    assert (record.rows_in, record.rows_accepted) == (81, 80)


def test_two_defects_of_a_row_are_both_listed_and_count_once(before):
    rows = bouts(80)
    rows[3] |= {"task": "x y", "strokes": "many"}
    folder = before("bouts")
    record = load_table(folder, "bouts", rows).files[0]
    assert (record.rows_in, record.rows_accepted, record.rows_set_aside) == (80, 79, 1)
    assert _aside(folder, "bouts") == [(5, "strokes", "E_NUMBER", False), (5, "task", "E_CODE", True)]


def test_repeats_count_once_and_contradictions_nowhere(before):
    rows = bouts(80)
    rows += [dict(rows[0]), rows[1] | {"strokes": "7"}]
    record = load_table(before("bouts"), "bouts", rows).files[0]
    assert {(one.reason, one.rows) for one in record.reasons} == {("D_ROW", 1), ("E_CONFLICT", 2)}
    assert (record.rows_in, record.rows_accepted, record.rows_set_aside) == (82, 79, 3)


def test_a_near_code_is_suggested_and_never_mapped(before):
    rows = bouts(80)
    rows[0]["instrument"] = "P20O"
    folder = before("bouts")
    assert "instrument: 'P20O' (near P200)" in load_table(folder, "bouts", rows).files[0].hints
    with open_store(Home(folder / "home"), write=False) as con:
        assert con.execute("select count(*) from core.bouts").fetchone() == (79,)


def test_no_row_value_reaches_the_summary(before):
    rows = surveys(80)
    rows[0] |= {"score": "97531"}
    rows[1] |= {"person": "q86420"}
    summary = load_table(before("surveys"), "surveys", rows)
    said = "\n".join(summary.lines())
    assert summary.files[0].rows_set_aside == 2
    assert "97531" not in said
    assert "q86420" not in said


@pytest.mark.parametrize(
    ("contract", "cells", "count", "code"),
    [
        ("bouts", {"instrument": "X1"}, 40, "E_CODE"),
        ("bouts", {"person": "nobody"}, 40, "E_PERSON"),
        ("bouts", {"start": "2027-01-04 08:00", "end": "2027-01-04 08:10"}, 80, "E_FUTURE"),
        ("bouts", {"task": "P\u200bCR"}, 10, "E_CTRL"),
        ("bouts", {"start": "04/05/2026 08:00"}, 1, "E_DATE"),
        ("surveys", {"month": "46143"}, 360, "E_SERIAL"),
        ("bouts", {"strokes": "5,2"}, 1, "E_DECIMAL"),
        ("bouts", {"strokes": "1,234"}, 1, "E_DECIMAL"),
        ("bouts", {"strokes": "1.234"}, 1, "E_DECIMAL"),
        ("bouts", {"strokes": "1 000"}, 1, "E_DECIMAL"),
        ("bouts", {"strokes": "1'000"}, 1, "E_DECIMAL"),
        ("bouts", {"start": "13/05/2026 08:00"}, 1, "E_DATE"),
        ("bouts", {"task": "756.1234.5678.97"}, 1, "E_PII"),
        ("bouts", {"station": "someone@example.org"}, 1, "E_PII"),
        ("surveys", {"score": "2" * 10_001}, 1, "E_SIZE"),
    ],
)
def test_a_defect_that_condemns_the_file_refuses_all_of_it(before, contract, cells, count, code):
    rows = bouts() if contract == "bouts" else surveys()
    for row in rows[:count]:
        row |= cells
    folder = before(contract)
    summary = load_table(folder, contract, rows)
    assert [(one.file, one.code) for one in summary.refused] == [(f"{contract}.csv", code)]
    assert summary.exit_code == 1
    assert "\n" not in summary.refused[0].message
    with open_store(Home(folder / "home"), write=False) as con:
        assert con.execute(f"select count(*) from core.{contract}").fetchone() == (0,)
        assert con.execute("select count(*) from core.people").fetchone() == (40,)
