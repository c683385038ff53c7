"""A file taken back leaves the store as if it had never come; contradictions can be settled."""

import pytest

from etl.errors import EvenhandError
from etl.home import Home
from etl.store import content_hash, open_store
from etl.takeback import take_back
from tests.support.load_files import bouts, everything, load, load_table, registers, write_all, write_csv


def _hash(folder):
    with open_store(Home(folder / "home"), write=False) as con:
        return content_hash(con)


def _counts(folder):
    tables = ("file_ledger", "set_aside", "conflict_key", "bouts", "changes")
    with open_store(Home(folder / "home"), write=False) as con:
        return {one: con.execute(f"select count(*) from core.{one}").fetchone()[0] for one in tables}


def test_a_file_taken_back_leaves_nothing_and_can_come_again(tmp_path):
    load(tmp_path, write_all(tmp_path / "in", registers()))
    before, counts = _hash(tmp_path), _counts(tmp_path)
    rows = bouts(80)
    rows[0]["task"] = "x y"
    load_table(tmp_path, "bouts", rows)
    loaded = _hash(tmp_path)
    summary = take_back(Home(tmp_path / "home"), "bouts.csv")
    assert summary.rows == {"bouts": 79}
    assert "79 rows of bouts" in summary.lines()[0]
    assert (_hash(tmp_path), _counts(tmp_path)) == (before, counts)
    assert load_table(tmp_path, "bouts", rows).files[0].outcome == "loaded"
    assert _hash(tmp_path) == loaded


def test_a_contradiction_is_settled_by_taking_both_back(tmp_path):
    load(tmp_path, write_all(tmp_path / "in", registers()))
    right, wrong = bouts(80), bouts(80)
    wrong[7]["strokes"] = "1"
    files = {name: write_csv(tmp_path / "in" / f"bouts_{name}.csv", rows)
             for name, rows in (("wrong", wrong), ("right", right))}  # fmt: skip
    load(tmp_path, [files["wrong"]])
    load(tmp_path, [files["right"]])
    assert _counts(tmp_path)["bouts"] == 79
    assert take_back(Home(tmp_path / "home"), "bouts_right.csv").contested == ("bouts_wrong.csv",)
    take_back(Home(tmp_path / "home"), "bouts_wrong.csv")
    record = load(tmp_path, [files["right"]]).files[0]
    assert (record.rows_accepted, record.rows_set_aside) == (80, 0)


def test_a_register_is_brought_up_to_date(tmp_path):
    tables = everything()
    load(tmp_path, write_all(tmp_path / "in", tables))
    changed = tables["changes"][0] | {"completed": "2026-06-30", "status": "COMPLETE"}
    take_back(Home(tmp_path / "home"), "changes.csv")
    load(tmp_path, [write_csv(tmp_path / "in" / "changes_2026-07.csv", [changed])])
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select change, status from core.changes").fetchall() == [("CH1", "COMPLETE")]


def test_a_file_that_is_not_loaded_or_not_told_apart_is_refused(tmp_path):
    with pytest.raises(EvenhandError, match="no person store"):
        take_back(Home(tmp_path / "home"), "teams.csv")
    rows = registers()["teams"]
    load(tmp_path, [write_csv(tmp_path / "teams.csv", rows[:2])])
    load(tmp_path, [write_csv(tmp_path / "teams.csv", rows[2:])])
    with pytest.raises(EvenhandError, match=r"No file called 'other\.csv'"):
        take_back(Home(tmp_path / "home"), "other.csv")
    with pytest.raises(EvenhandError, match="2 files called") as caught:
        take_back(Home(tmp_path / "home"), "teams.csv")
    first = caught.value.remedy.split(": ")[1].split(",")[0]
    assert take_back(Home(tmp_path / "home"), first).rows == {"teams": 2}
