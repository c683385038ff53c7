"""Whatever the bytes, a load ends in a record; whatever the dirt, the rows add up."""

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etl.home import Home
from etl.reasons import REASONS
from etl.store import open_store
from tests.support.load_files import bouts, home_before, load, load_table, surveys

CASES = settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck), database=None)
ROUNDS = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), database=None)
HEADER = b"team,team_name,cluster,cluster_name,site\n"

CELL = st.one_of(
    st.sampled_from(
        ["", " ", "T1", "-5", "5.7", "nan", "1_000", "1e5", "=1+1", '"', "'", ";", "\t", "\r", "\n", "NULL",
         "2026-05-04 08:00", "2026-03-29 02:30", "46054", "2026-13-01", "Total", "person", "\x00", "\ufeff",
         "\u202e", "9" * 40, "-", "0", "p001", "P200", "null", "true", "2026-05", "10", "NECK", "@x"]
    ),
    st.text(max_size=12),
)  # fmt: skip


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


def _in_new_folder(templates: Path, contract: str, check) -> None:
    """Run one case in a folder of its own: hypothesis repeats a test within one fixture."""
    folder = Path(tempfile.mkdtemp())
    try:
        check(home_before(contract, templates, folder))
    finally:
        shutil.rmtree(folder)


@pytest.mark.slow
@CASES
@given(body=st.one_of(st.binary(max_size=400), st.text(max_size=200).map(str.encode),
                      st.lists(st.lists(CELL, min_size=4, max_size=6), max_size=6).map(
                          lambda rows: "\n".join(",".join(row) for row in rows).encode())),
       headed=st.booleans(), ending=st.sampled_from(["csv", "csv", "csv", "xlsx", "parquet"]))  # fmt: skip
def test_arbitrary_bytes_end_in_a_record(templates, body, headed, ending):
    def check(folder: Path) -> None:
        magic = {"csv": b"", "xlsx": b"PK\x03\x04", "parquet": b"PAR1"}[ending]
        path = folder / f"teams.{ending}"
        path.write_bytes((HEADER if headed and ending == "csv" else magic) + body)
        record = load(folder, [path]).files[0]
        if record.outcome == "refused":
            assert record.code in REASONS
            assert record.message.isprintable()
        else:
            assert record.rows_in == record.rows_accepted + record.rows_set_aside

    _in_new_folder(templates, "teams", check)


def _adds_up(folder: Path, contract: str, rows: list[dict[str, str]]) -> None:
    record = load_table(folder, contract, rows).files[0]
    with open_store(Home(folder / "home"), write=False) as con:
        stored = con.execute(f"select count(*) from core.{contract}").fetchone()
        aside = con.execute(
            "select count(*) filter (counts_as_row), count(distinct row_number),"
            " bool_and(length(value) <= 80)"
            " from core.set_aside join core.file_ledger using (file_id) where contract = ?",
            [contract],
        ).fetchone()
        codes = con.execute("select distinct reason from core.set_aside").fetchall()
        numbers = con.execute(
            f"select row_number from core.{contract} union all select row_number from core.set_aside"
            " join core.file_ledger using (file_id) where counts_as_row and contract = ?",
            [contract],
        ).fetchall()
    assert {code for (code,) in codes} <= set(REASONS)
    if record.outcome == "refused":
        assert stored == (0,)
        assert record.code in REASONS
        return
    assert record.rows_in == len(rows) == record.rows_accepted + record.rows_set_aside
    assert stored == (record.rows_accepted,)
    assert aside is not None
    assert aside[:2] == (record.rows_set_aside, record.rows_set_aside)
    assert aside[2] in (None, True)
    # Every line of the file ends in exactly one place.
    assert sorted(number for (number,) in numbers) == list(range(2, len(rows) + 2))


@pytest.mark.slow
@pytest.mark.parametrize(("contract", "clean"), [("bouts", bouts), ("surveys", surveys)])
def test_random_dirt_always_adds_up(templates, contract, clean):
    names = list(clean(1)[0])
    dirt = st.lists(st.tuples(st.integers(0, 119), st.sampled_from(names), CELL), max_size=6)

    @ROUNDS
    @given(dirt=dirt, copies=st.lists(st.integers(0, 119), max_size=4))
    def run(dirt, copies):
        rows = clean(120)
        for at, name, text in dirt:
            rows[at][name] = text
        rows += [dict(rows[at]) for at in copies]
        _in_new_folder(templates, contract, lambda folder: _adds_up(folder, contract, rows))

    run()
