"""Files folded into facts, or taken out of them, give what a full build gives."""

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etl.facts import build_facts
from etl.facts_update import changed_files, refresh_facts, update_facts
from etl.settings import ExposureSettings, Settings
from tests.etl.test_facts_reference import instruments, logs, rules
from tests.support.person_rows import (
    Answer,
    Stroke,
    TeamSpell,
    bout,
    core_store,
    empty,
    facts,
    instant,
    put,
)

MINUTE = 60_000_000
TABLES = (
    "bout_piece", "overlap", "spell", "person_day", "person_week", "roster", "symptom", "extent", "setting",
    "event_bucket", "source_day", "source_extent", "built_from",
)  # fmt: skip
# Fixed persons and teams; b changes the team in the nights that the logs are drawn from.
PEOPLE = (
    TeamSpell("a", "T1", date(2020, 1, 1)),
    TeamSpell("b", "T1", date(2020, 1, 1), date(2026, 3, 28)),
    TeamSpell("b", "T2", date(2026, 3, 29)),
    Answer("a", date(2026, 6, 1), "NECK", 5),
)
steps = st.lists(
    st.tuples(st.sampled_from(["load", "load", "withdraw", "lose rows"]), st.integers(0, 9), logs()),
    min_size=1,
    max_size=5,
)


@pytest.fixture
def con():
    con = core_store()
    yield con
    con.close()


@pytest.fixture(scope="module")
def pair():
    cons = core_store(), core_store()
    yield cons
    for con in cons:
        con.close()


def put_file(con, number, rows):
    """Insert rows as one file; ``put`` itself numbers files 1."""
    put(con, rows)
    for table in ("bouts", "strokes"):
        con.execute(f"update core.{table} set file_id = ? where file_id = 1", [number])


def take_out(con, number, where="true"):
    for table in ("bouts", "strokes"):
        con.execute(f"delete from core.{table} where file_id = ? and {where}", [number])


def everything(con):
    return {table: facts(con, table) for table in TABLES}


@given(instruments, rules, logs(), steps)
@settings(deadline=None, max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_sequence_of_files_equals_a_full_build(pair, catalogue, rule, first, sequence):
    folded, whole = pair
    for con in pair:
        empty(con)
        put(con, [*catalogue, *PEOPLE])
        put_file(con, 2, first)
    build_facts(folded, rule)
    files = [2]
    for number, (step, which, rows) in enumerate(sequence, start=3):
        if step == "load" or not files:
            changed = number
            files.append(changed)
            for con in pair:
                put_file(con, changed, rows)
        else:
            changed = files[which % len(files)]
            rest = "row_number % 2 = 0" if step == "lose rows" else "true"
            for con in pair:
                take_out(con, changed, rest)
        update_facts(folded, rule, [changed])
        build_facts(whole, rule)
        assert everything(folded) == everything(whole)


def test_an_island_longer_than_the_first_look_is_found(con):
    # Two days of work without a rest; the file that goes is in the middle and joins both ends.
    halves = [
        bout("a", "2026-06-01 00:00:00", "2026-06-01 23:59:00"),
        bout("a", "2026-06-02 00:01:00", "2026-06-02 23:59:00"),
        bout("a", "2026-06-03 00:01:00", "2026-06-03 02:00:00"),
    ]
    start = instant("2026-06-02 11:00:00")
    put_file(con, 2, halves)
    put_file(con, 3, [Stroke("a", start + k * MINUTE) for k in range(60)])
    build_facts(con, Settings())
    take_out(con, 3)
    update_facts(con, Settings(), [3])
    found = everything(con)
    build_facts(con, Settings())
    assert found == everything(con)
    assert facts(con, "spell", "end_us - start_us") == [(50 * 60 * MINUTE,)]


def test_later_spells_move_their_numbers(con):
    put_file(con, 2, [bout("a", f"2026-06-0{day} 09:00:00", f"2026-06-0{day} 10:00:00") for day in (1, 3, 4)])
    build_facts(con, Settings())
    assert facts(con, "bout_piece", "spell") == [(1,), (2,), (3,)]
    put_file(con, 3, [bout("a", "2026-06-02 09:00:00", "2026-06-02 09:30:00")])
    update_facts(con, Settings(), [3])
    assert facts(con, "bout_piece", "local_date, spell") == [
        (date(2026, 6, day), day) for day in (1, 2, 3, 4)
    ]


def test_an_update_rewrites_no_day_it_does_not_touch(con):
    put_file(con, 2, [bout("a", f"2026-06-0{day} 09:00:00", f"2026-06-0{day} 10:00:00") for day in (1, 8)])
    build_facts(con, Settings())
    # A mark on the untouched day survives an update and does not survive a full build.
    con.execute("update facts.person_day set strokes = 12345 where local_date = '2026-06-01'")
    put_file(con, 3, [bout("a", "2026-06-08 14:00:00", "2026-06-08 15:00:00")])
    update_facts(con, Settings(), [3])
    assert facts(con, "person_day", "pipetting_us, strokes") == [(60 * MINUTE, 12345), (120 * MINUTE, 0)]
    build_facts(con, Settings())
    assert (60 * MINUTE, 0) in facts(con, "person_day", "pipetting_us, strokes")


def ledger(con, number, contract, rows):
    con.execute(
        "insert into core.file_ledger values (?, ?, 's', 'p', 'f', ?, ?, ?, 0, ?, now()::timestamp)",
        [number, contract, f"sha{number}", rows, rows, f"sum{number}"],
    )


def test_the_ledger_says_which_files_moved(con):
    first, second = (
        [bout("a", f"2026-06-0{day} 09:00:00", f"2026-06-0{day} 10:00:00") for day in days]
        for days in ((1, 2), (4, 5))
    )
    put_file(con, 2, first)
    ledger(con, 2, "bouts", 2)
    refresh_facts(con, Settings())
    assert changed_files(con) == ()
    put_file(con, 3, second)
    ledger(con, 3, "bouts", 2)
    assert changed_files(con) == ((3, "bouts"),)
    layers = []
    refresh_facts(con, Settings(), lambda layer, number, of: layers.append(layer))
    assert "190_publish" not in layers
    assert changed_files(con) == ()
    assert len(facts(con, "person_day")) == 4
    con.execute("delete from core.file_ledger where file_id = 2")
    take_out(con, 2)
    assert changed_files(con) == ((2, "bouts"),)
    refresh_facts(con, Settings())
    assert facts(con, "person_day", "local_date") == [(date(2026, 6, 4),), (date(2026, 6, 5),)]


@pytest.mark.parametrize("why", ["other rules", "teams", "rows beside the ledger", "most of the store"])
def test_what_an_update_cannot_carry_is_built_in_full(con, why, monkeypatch):
    put_file(con, 2, [bout("a", "2026-06-01 09:00:00", "2026-06-01 10:00:00")])
    ledger(con, 2, "bouts", 1)
    refresh_facts(con, Settings())
    rule = Settings(exposure=ExposureSettings(rest_seconds=240)) if why == "other rules" else Settings()
    if why == "teams":
        put(con, [TeamSpell("a", "T1", date(2020, 1, 1))])
        ledger(con, 3, "people", 1)
    if why == "rows beside the ledger":
        put_file(con, 4, [bout("a", "2026-06-01 11:00:00", "2026-06-01 12:00:00")])
    if why == "most of the store":
        monkeypatch.setattr("etl.facts_update.LARGE_ROWS", 1)
        put_file(con, 5, [bout("a", f"2026-06-0{n} 09:00:00", f"2026-06-0{n} 10:00:00") for n in (2, 3)])
        ledger(con, 5, "bouts", 2)
    layers = []
    refresh_facts(con, rule, lambda layer, number, of: layers.append(layer))
    assert "190_publish" in layers
    found = everything(con)
    build_facts(con, rule)
    assert found == everything(con)
