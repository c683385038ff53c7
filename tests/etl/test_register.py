"""The register by hand: entered through the contract, brought up to date, closed, and never forgotten."""

import json
from datetime import UTC, date, datetime

import pytest
from typer.testing import CliRunner

from dashboards.cli import app
from etl.errors import EvenhandError
from etl.home import Home
from etl.register import add_change, entries, update_change
from etl.store import open_store, row_text
from etl.takeback import take_back
from tests.support.small_store import small_store

NOW = datetime(2026, 6, 15, 8, 0, tzinfo=UTC)
ENTRY = {
    "change": "BREAKS-1", "title": "Shared timer", "kind": "MICRO_BREAKS", "control_level": "ADMINISTRATIVE",
    "team": "P-ONE", "planned": "2025-10-01", "why": "long spells", "chosen_on_outcome": "false",
    "target_regions": "NECK;SHOULDER", "expected_points": "5", "cost": "900", "owner_role": "ergonomist",
    "status": "PLANNED",
}  # fmt: skip


@pytest.fixture
def home(tmp_path) -> Home:
    return small_store(tmp_path / "home")


def ledger(home):
    with open_store(home, write=False) as con:
        return con.execute("select count(*) from core.file_ledger").fetchall()


def history(home, change):
    with open_store(home, write=False) as con:
        rows = con.execute(
            "select version, action, entry from core.change_history where change = ? order by version",
            [change],
        ).fetchall()
    return [(version, action, json.loads(entry) if entry else None) for version, action, entry in rows]


def test_an_entry_goes_through_the_contract_and_into_the_history(home):
    kept = add_change(home, ENTRY, NOW)
    assert (kept.status, kept.planned, kept.versions) == ("PLANNED", date(2025, 10, 1), 1)
    assert "BREAKS-1" in [entry.change for entry in entries(home)]
    ((version, action, entry),) = history(home, "BREAKS-1")
    assert (version, action) == (1, "entered")
    assert entry["target_regions"] == "NECK;SHOULDER"
    # Entries that came with a file are in the history as well.
    assert len(history(home, "LIGHT")) == 1


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ({"team": "NOWHERE"}, "team"),
        ({"kind": "MAGIC"}, "kind"),
        ({"completed": "2025-09-01"}, "ompleted"),
        ({"title": ""}, "title"),
        ({"change": "LIGHT"}, "is in the register"),
    ],
)
def test_a_wrong_entry_is_named_and_nothing_is_kept(home, fault, words):
    before, files = entries(home), ledger(home)
    with pytest.raises(EvenhandError, match=words):
        add_change(home, {**ENTRY, **fault}, NOW)
    assert entries(home) == before
    assert ledger(home) == files


def test_bringing_up_to_date_keeps_what_was_said_before(home):
    add_change(home, ENTRY, NOW)
    update_change(home, "BREAKS-1", NOW, status="STARTED", started=date(2025, 10, 6), adherence_percent=40)
    closed = update_change(
        home, "BREAKS-1", NOW, status="COMPLETE", completed=date(2025, 11, 1), adherence_percent=70
    )
    assert (closed.status, closed.completed, closed.versions) == ("COMPLETE", date(2025, 11, 1), 3)
    said = history(home, "BREAKS-1")
    assert [entry["adherence_percent"] for _, _, entry in said] == [None, 40, 70]
    assert {entry["expected_points"] for _, _, entry in said} == {5}


def test_the_ledger_follows_an_altered_entry(home):
    """The checksum of the file's rows is what facts and releases look at to see that something changed."""
    add_change(home, ENTRY, NOW)
    from etl.contracts import CONTRACTS

    text = row_text(CONTRACTS["changes"])
    query = (
        "select l.content_checksum, (select sum(md5_number_lower("
        f"{text})::hugeint)::varchar from core.changes c where c.file_id = l.file_id) "
        "from core.file_ledger l join core.changes x on x.file_id = l.file_id where x.change = 'BREAKS-1'"
    )
    with open_store(home, write=False) as con:
        before = con.execute(query).fetchall()[0]
    update_change(home, "BREAKS-1", NOW, cost=1200)
    with open_store(home, write=False) as con:
        after = con.execute(query).fetchall()[0]
    assert before[0] == before[1] != after[0] == after[1]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"status": "COMPLETE"}, "without a date"),
        ({"completed": date(2025, 9, 1)}, "before it was planned"),
        ({"adherence_percent": 130.0}, "130 %"),
        ({"cost": -1.0}, "cost"),
    ],
)
def test_a_wrong_update_is_refused(home, values, words):
    add_change(home, ENTRY, NOW)
    with pytest.raises(EvenhandError, match=words):
        update_change(home, "BREAKS-1", NOW, **values)
    assert len(history(home, "BREAKS-1")) == 1


def test_a_closed_change_stays_closed_and_an_unknown_one_is_named(home):
    with pytest.raises(EvenhandError, match="complete already"):
        update_change(home, "LIGHT", NOW, status="DROPPED")
    with pytest.raises(EvenhandError, match="not in the register"):
        update_change(home, "NONE", NOW, cost=1.0)


def test_an_entry_taken_back_is_noted_and_may_come_again(home):
    add_change(home, ENTRY, NOW)
    take_back(home, "register_BREAKS-1_20260615080000.csv")
    assert "BREAKS-1" not in [entry.change for entry in entries(home)]
    add_change(home, ENTRY, NOW)
    assert [action for _, action, _ in history(home, "BREAKS-1")] == ["entered"]
    update_change(home, "BREAKS-1", NOW, cost=5.0)
    take_back(home, "register_BREAKS-1_20260615080000.csv")
    update_change(home, "LIGHT", NOW, cost=5.0)
    assert [action for _, action, _ in history(home, "BREAKS-1")] == ["entered", "altered", "taken back"]


def test_the_commands_enter_list_and_close(home):
    run = CliRunner()
    place = ["--home", str(home.root)]
    words = ["BREAKS-2", "--title", "Shared timer", "--team", "P-TWO", "--kind", "MICRO_BREAKS", "--control",
             "ADMINISTRATIVE", "--why", "long spells", "--owner", "Ergonomist", "--not-chosen-on-outcome",
             "--planned", "2025-10-01", "--regions", "NECK"]  # fmt: skip
    done = run.invoke(app, ["change", "add", *words, *place])
    assert done.exit_code == 0, done.output
    assert "planned 2025-10-01" in done.output
    started = run.invoke(app, ["change", "update", "BREAKS-2", "--started", "2025-10-06", *place])
    assert "BREAKS-2" in started.output
    closed = run.invoke(
        app, ["change", "close", "BREAKS-2", "--completed", "2025-11-03", "--adherence", "60", *place]
    )
    assert "60 % work that way; version 3" in closed.output
    assert "BREAKS-2" in run.invoke(app, ["change", "list", *place]).output
    refused = run.invoke(app, ["change", "close", "BREAKS-2", *place])
    assert isinstance(refused.exception, EvenhandError)
    bad = run.invoke(app, ["change", "update", "BREAKS-2", "--started", "6 October", *place])
    assert isinstance(bad.exception, EvenhandError)


def test_adherence_is_kept_month_by_month_and_a_lot_with_its_record(home):
    add_change(home, {**ENTRY, "allocation": "LOT_ORDER", "lot": "TIMER-1"}, NOW)
    kept = update_change(home, "BREAKS-1", NOW, adherence_percent=40, month=date(2026, 4, 1))
    kept = update_change(home, "BREAKS-1", NOW, adherence_percent=80, month=date(2026, 5, 1))
    assert "order by lot (TIMER-1)" in str(kept)
    assert kept.adherence_percent == 80
    with open_store(home, write=False) as con:
        months = con.execute(
            "select month, adherence_percent from core.change_adherence order by month"
        ).fetchall()
    assert months == [(date(2026, 4, 1), 40.0), (date(2026, 5, 1), 80.0)]
    versions = [entry for _, _, entry in history(home, "BREAKS-1")]
    assert [v["adherence_percent"] for v in versions] == [None, 40, 80]
    assert {v["lot"] for v in versions} == {"TIMER-1"}
    assert "allocation" not in history(home, "LIGHT")[0][2]
    with pytest.raises(EvenhandError, match="still to come"):
        update_change(home, "BREAKS-1", NOW, adherence_percent=80, month=date(2026, 7, 1))
    with pytest.raises(EvenhandError, match="without adherence"):
        update_change(home, "BREAKS-1", NOW, month=date(2026, 5, 1))
