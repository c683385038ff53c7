"""Whole files with one oddity each: refused with its code, or every row with its verdict."""

import datetime as dt
import re

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from etl.home import Home
from etl.store import open_store
from tests.support.dirty_books import BOOKS, TABLES
from tests.support.dirty_texts import SHAPES
from tests.support.load_files import load, registers, write_csv

CASES = [("csv", *case) for case in SHAPES] + [("xlsx", *case) for case in BOOKS] + [
    ("parquet", *case) for case in TABLES
]  # fmt: skip


def _own_codes(content, number):
    """Give the file's two teams codes of their own, so that all files fit into one store."""
    if isinstance(content, str):
        content = content.encode()
    return re.sub(rb"\bT([12])\b", rb"T\1-%d" % number, content)


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """All files loaded in one call: record by number, files in the ledger and teams in the store."""
    folder = tmp_path_factory.mktemp("files")
    paths = []
    for number, (ending, _, content, _) in enumerate(CASES):
        path = folder / f"teams_{number:03d}.{ending}"
        if callable(content):
            content(path, number)
        else:
            path.write_bytes(_own_codes(content, number))
        paths.append(path)
    summary = load(folder, paths)
    assert summary.exit_code == 1
    with open_store(Home(folder / "home"), write=False) as con:
        ledger = {name for (name,) in con.execute("select file_name from core.file_ledger").fetchall()}
        stored = con.execute("select file_name, count(team) from core.file_ledger left join core.teams"
                             " using (file_id) group by all").fetchall()  # fmt: skip
    return {record.file: record for record in summary.files}, ledger, dict(stored)


@pytest.mark.parametrize("number", range(len(CASES)), ids=[f"{one[0]}: {one[1]}" for one in CASES])
def test_a_file_gets_the_verdict_its_oddity_deserves(outcomes, number):
    records, ledger, stored = outcomes
    ending, _, _, verdict = CASES[number]
    name = f"teams_{number:03d}.{ending}"
    record = records[name]
    if isinstance(verdict, str):
        assert (record.outcome, record.code) == ("refused", verdict), record.message
        assert name in record.message
        assert record.message.isprintable()
        assert name not in ledger
    else:
        assert record.outcome == "loaded", record.message
        assert tuple(one.reason for one in record.reasons) == verdict
        assert record.rows_in == record.rows_accepted + record.rows_set_aside
        assert record.rows_set_aside == len(verdict)
        assert stored[name] == record.rows_accepted


def test_the_corpus_is_as_large_as_promised():
    from tests.support.dirty_rows import ODD_BUT_RIGHT, ROW_DEFECTS

    assert len(CASES) + len(ROW_DEFECTS) + len(ODD_BUT_RIGHT) >= 250


def test_dates_of_a_workbook_that_counts_from_1904_are_those_shown(tmp_path):
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active.append(["person", "team", "valid_from", "valid_to", "age_band"])
    book.active.append(["p1", "T1", dt.datetime(2026, 3, 2), dt.datetime(2026, 12, 31), None])
    book.save(tmp_path / "people.xlsx")
    load(tmp_path, [write_csv(tmp_path / "teams.csv", registers()["teams"]), tmp_path / "people.xlsx"])
    with open_store(Home(tmp_path / "home"), write=False) as con:
        found = con.execute("select valid_from, valid_to from core.people").fetchall()
    assert found == [(dt.date(2026, 3, 2), dt.date(2026, 12, 31))]


def test_a_quote_inside_a_bare_cell_is_kept_as_it_is(outcomes, tmp_path):
    from tests.support.dirty_texts import row

    path = tmp_path / "teams.csv"
    path.write_text(row('5" rack'), encoding="utf-8")
    load(tmp_path, [path])
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select team_name from core.teams order by team").fetchall()[1] == ('5" rack',)
