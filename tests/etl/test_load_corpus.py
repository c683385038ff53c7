"""One known defect in an otherwise clean table gives exactly its reason code and adds up."""

import pytest

from etl.home import Home
from etl.store import open_store
from tests.support.load_files import bouts, everything, home_before, load_table, surveys

# contract, changed cells, code, column named
ROW_DEFECTS = [
    ("bouts", {"task": "PC\u200bR"}, "E_CTRL", "task"),
    ("bouts", {"task": "PCR\x00"}, "E_CTRL", "task"),
    ("bouts", {"task": "PCR\u202e"}, "E_CTRL", "task"),
    ("bouts", {"task": "pcr"}, "E_CODE", "task"),
    ("bouts", {"task": "P" * 33}, "E_CODE", "task"),
    ("bouts", {"task": "PCR SET UP"}, "E_CODE", "task"),
    ("bouts", {"task": "<script>"}, "E_CODE", "task"),
    ("bouts", {"task": "=1+1"}, "E_FORMULA", "task"),
    ("bouts", {"task": "@SUM(A1)"}, "E_FORMULA", "task"),
    ("bouts", {"task": "-PCR"}, "E_FORMULA", "task"),
    ("bouts", {"task": ""}, "E_REQUIRED", "task"),
    ("bouts", {"instrument": "P2OO"}, "E_CODE", "instrument"),
    ("bouts", {"hand": "THIRD"}, "E_CODE", "hand"),
    ("bouts", {"person": "p999"}, "E_PERSON", "person"),
    ("bouts", {"person": "Jo Doe"}, "E_PERSON", "person"),
    ("bouts", {"person": ""}, "E_REQUIRED", "person"),
    ("bouts", {"start": ""}, "E_REQUIRED", "start"),
    ("bouts", {"start": "2026-02-30 09:00"}, "E_DATE", "start"),
    ("bouts", {"start": "2026-05-04 25:00"}, "E_DATE", "start"),
    ("bouts", {"start": "2026-05-04 24:00"}, "E_DATE", "start"),
    ("bouts", {"start": "2026-05-04"}, "E_DATE", "start"),
    ("bouts", {"start": "2026-05-04 09:00+25:00"}, "E_DATE", "start"),
    ("bouts", {"start": "2026-05-04 09:00 Uhr"}, "E_DATE", "start"),
    ("bouts", {"start": "1969-12-31 09:00"}, "E_DATE", "start"),
    ("bouts", {"start": "9999-12-31 09:00"}, "E_DATE", "start"),
    ("bouts", {"start": "morning"}, "E_DATE", "start"),
    ("bouts", {"start": "46146.375"}, "E_SERIAL", "start"),
    ("bouts", {"start": "2026-03-29 02:30"}, "E_DSTGAP", "start"),
    ("bouts", {"start": "2026-10-25 02:30"}, "E_DSTFOLD", "start"),
    ("bouts", {"start": "2027-05-04 09:00"}, "E_FUTURE", "start"),
    ("bouts", {"end": "2026-05-04 08:00"}, "E_DURATION", "start+end"),
    ("bouts", {"end": "2026-05-04 07:59:59"}, "E_DURATION", "start+end"),
    ("bouts", {"end": "2026-05-05 00:00:01"}, "E_DURATION", "start+end"),
    ("bouts", {"strokes": "-1"}, "E_RANGE", "strokes"),
    ("bouts", {"strokes": "200001"}, "E_RANGE", "strokes"),
    ("bouts", {"strokes": "5.7"}, "E_RANGE", "strokes"),
    ("bouts", {"strokes": "nan"}, "E_RANGE", "strokes"),
    ("bouts", {"strokes": "inf"}, "E_RANGE", "strokes"),
    ("bouts", {"strokes": "1_000"}, "E_NUMBER", "strokes"),
    ("bouts", {"strokes": "1e3"}, "E_NUMBER", "strokes"),
    ("bouts", {"strokes": "+5"}, "E_NUMBER", "strokes"),
    ("bouts", {"strokes": "０"}, "E_NUMBER", "strokes"),
    ("bouts", {"strokes": "many"}, "E_NUMBER", "strokes"),
    ("bouts", {"strokes": ""}, "E_REQUIRED", "strokes"),
    ("bouts", {"channels": "0"}, "E_RANGE", "channels"),
    ("surveys", {"score": "11"}, "E_RANGE", "score"),
    ("surveys", {"score": "-1"}, "E_RANGE", "score"),
    ("surveys", {"score": "3.5"}, "E_RANGE", "score"),
    ("surveys", {"score": "NaN"}, "E_RANGE", "score"),
    ("surveys", {"score": "bad"}, "E_NUMBER", "score"),
    ("surveys", {"region": "NEK"}, "E_CODE", "region"),
    ("surveys", {"side": "UP"}, "E_CODE", "side"),
    ("surveys", {"scale": "VAS_100"}, "E_CODE", "scale"),
    ("surveys", {"hindered": "maybe"}, "E_CODE", "hindered"),
    ("surveys", {"month": "2026-13"}, "E_DATE", "month"),
    ("surveys", {"month": "May"}, "E_DATE", "month"),
    ("surveys", {"month": "46143"}, "E_SERIAL", "month"),
    ("surveys", {"month": "2027-01"}, "E_FUTURE", "month"),
    ("people", {"team": "T9"}, "E_CODE", "team"),
    ("people", {"valid_to": "2024-12-31"}, "E_ORDER", "valid_from+valid_to"),
    ("people", {"valid_from": "2025-02-29"}, "E_DATE", "valid_from"),
    ("people", {"valid_from": "45658"}, "E_SERIAL", "valid_from"),
    ("people", {"age_band": "OLD"}, "E_CODE", "age_band"),
    ("teams", {"team_name": "<b>x</b>"}, "E_TEXT", "team_name"),
    ("teams", {"team_name": "x" * 81}, "E_TEXT", "team_name"),
    ("teams", {"team_name": "=cmd"}, "E_FORMULA", "team_name"),
    ("instruments", {"plunger_force": "201"}, "E_RANGE", "plunger_force"),
    ("instruments", {"plunger_force": "12 N"}, "E_NUMBER", "plunger_force"),
    ("stations", {"chair_max": "300"}, "E_ORDER", "chair_min+chair_max"),
    ("hours", {"lost_time_cases": "2"}, "E_ORDER", "lost_time_cases+recordable_cases"),
    ("changes", {"target_regions": "NECK;TAIL"}, "E_CODE", "target_regions"),
    ("changes", {"status": "DONE"}, "E_CODE", "status"),
]


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


@pytest.fixture
def before(templates, tmp_path):
    """Function that prepares a data home for one contract."""
    return lambda contract: home_before(contract, templates, tmp_path)


def _rows(contract):
    return {"bouts": lambda: bouts(80), "surveys": lambda: surveys(80)}.get(
        contract, lambda: everything()[contract]
    )()


def _aside(folder, contract):
    with open_store(Home(folder / "home"), write=False) as con:
        return con.execute(
            "select row_number, column_name, reason, counts_as_row from core.set_aside join core.file_ledger"
            " using (file_id) where contract = ? order by all",
            [contract],
        ).fetchall()


@pytest.mark.parametrize(("contract", "cells", "code", "column"), ROW_DEFECTS)
def test_one_defect_gives_its_code_and_only_it(before, contract, cells, code, column):
    folder, rows = before(contract), _rows(contract)
    rows[0] |= cells
    record = load_table(folder, contract, rows).files[0]
    assert record.outcome == "loaded", record.message
    assert [(one.reason, one.column, one.rows) for one in record.reasons] == [(code, column, 1)]
    assert record.rows_in == len(rows) == record.rows_accepted + 1
    assert record.rows_set_aside == 1
    assert _aside(folder, contract) == [(2, column, code, True)]


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
