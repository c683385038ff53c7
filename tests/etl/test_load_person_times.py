"""Days of over 24 hours and doubled teams leave by a rule that no order of files changes."""

import datetime as dt
from itertools import permutations

import pytest

from etl.home import Home
from etl.retain import retain
from etl.store import content_hash, open_store
from etl.takeback import take_back
from etl.withdraw import withdraw
from tests.support.load_files import bouts, home_before, load, registers, write_csv

ONE = {"task": "PCR", "instrument": "P200", "strokes": "10", "tips": "", "channels": "1",
       "volume_changes": "", "station": "", "hand": ""}  # fmt: skip


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


def _bout(start, hours, person="p001", **cells):
    first = dt.datetime.fromisoformat(start)
    last = first + dt.timedelta(hours=hours)
    return {"person": person, "start": start, "end": last.strftime("%Y-%m-%d %H:%M:%S"), **ONE, **cells}


def _state(folder, table="bouts"):
    with open_store(Home(folder / "home"), write=False) as con:
        stored = con.execute(f"select count(*) from core.{table}").fetchone()[0]
        aside = con.execute(
            "select file_name, reason, count(*) from core.set_aside join core.file_ledger using (file_id)"
            " where contract = ? and counts_as_row group by all order by all",
            [table],
        ).fetchall()
        ledger = con.execute(
            "select file_name, rows_accepted, rows_set_aside from core.file_ledger where contract = ?"
            " order by 1",
            [table],
        ).fetchall()
        return stored, aside, ledger, content_hash(con)


def _files(folder, table, **contents):
    return {name: write_csv(folder / f"{table}_{name}.csv", rows) for name, rows in contents.items()}


def _in_all_orders(templates, tmp_path, table, **contents):
    """Load the same files in every order; return the one state they all lead to."""
    found = set()
    for number, order in enumerate(permutations(contents)):
        folder = home_before(table, templates, tmp_path / str(number))
        files = _files(folder, table, **contents)
        for name in order:
            record = load(folder, [files[name]]).files[0]
            assert record.outcome == "loaded", record.message
        stored, _, ledger, content = _state(folder, table)
        found.add((stored, content))
        assert sum(accepted for _, accepted, _ in ledger) == stored
    assert len(found) == 1
    return found.pop()[0]


def test_all_bouts_of_a_day_over_24_hours_leave_and_no_other(templates, tmp_path):
    folder = home_before("bouts", templates, tmp_path)
    long_day = [_bout("2026-05-11 00:00", 15), _bout("2026-05-11 08:00", 9), _bout("2026-05-11 20:00", 0.5)]
    beside = [
        _bout("2026-05-10 23:00", 8),
        _bout("2026-05-12 00:00", 15),
        _bout("2026-05-11 08:00", 9, "p002"),
    ]
    record = load(folder, list(_files(folder, "bouts", a=[*long_day, *beside]).values())).files[0]
    assert [(one.reason, one.column, one.rows) for one in record.reasons] == [("E_DAY", "start+end", 3)]
    assert _state(folder)[:2] == (3, [("bouts_a.csv", "E_DAY", 3)])


@pytest.mark.parametrize(("minutes", "kept"), [(0, 2), (1, 0)])
def test_exactly_24_hours_are_a_day_and_a_minute_more_is_none(templates, tmp_path, minutes, kept):
    folder = home_before("bouts", templates, tmp_path)
    rows = [_bout("2026-05-11 00:00", 12), _bout("2026-05-11 11:00", 12 + minutes / 60)]
    load(folder, list(_files(folder, "bouts", a=rows).values()))
    assert _state(folder)[0] == kept


def test_the_day_is_that_of_the_local_clock(templates, tmp_path):
    # 22:30 UTC on 10 May is 00:30 on 11 May in Zurich (UTC+2 in summer).
    folder = home_before("bouts", templates, tmp_path)
    rows = [_bout("2026-05-11 00:00", 15), _bout("2026-05-11 08:00", 6)]
    night = _bout("2026-05-11 00:30", 4)
    night |= {"start": "2026-05-10T22:30:00Z", "end": "2026-05-11T02:30:00Z"}
    load(folder, list(_files(folder, "bouts", a=[*rows, night]).values()))
    assert _state(folder)[0] == 0


def test_what_shows_only_with_rows_loaded_before_leaves_both_files_in_any_order(templates, tmp_path):
    a = [_bout("2026-05-11 00:00", 15), _bout("2026-05-12 08:00", 2)]
    b = [_bout("2026-05-11 06:00", 10), _bout("2026-05-13 08:00", 2)]
    c = [_bout("2026-05-11 20:00", 1), _bout("2026-05-14 08:00", 2)]
    assert _in_all_orders(templates, tmp_path, "bouts", a=a, b=b, c=c) == 3


def test_a_contradicted_bout_still_counts_in_its_day_in_any_order(templates, tmp_path):
    a = [_bout("2026-05-11 00:00", 15), *bouts(60)]
    b = [_bout("2026-05-11 00:00", 9), *bouts(120)[60:]]
    c = [_bout("2026-05-11 10:00", 10), _bout("2026-05-14 08:00", 2)]
    assert _in_all_orders(templates, tmp_path, "bouts", a=a, b=b, c=c) == 121


def test_the_same_bouts_delivered_twice_make_no_long_day(templates, tmp_path):
    folder = home_before("bouts", templates, tmp_path)
    day = [_bout("2026-05-11 06:00", 10), _bout("2026-05-11 17:00", 5)]
    files = _files(folder, "bouts", a=day, b=[*day, _bout("2026-05-12 06:00", 1)])
    load(folder, list(files.values()))
    assert _state(folder)[:2] == (3, [("bouts_b.csv", "D_ROW", 2)])


def test_a_long_day_is_settled_by_taking_the_files_back(templates, tmp_path):
    folder = home_before("bouts", templates, tmp_path)
    files = _files(folder, "bouts", a=[_bout("2026-05-11 00:00", 15)], b=[_bout("2026-05-11 06:00", 10)])
    load(folder, [files["a"]])
    calm = _state(folder)[3]
    load(folder, [files["b"]])
    assert _state(folder)[2] == [("bouts_a.csv", 0, 1), ("bouts_b.csv", 0, 1)]
    assert take_back(Home(folder / "home"), "bouts_b.csv").contested == ("bouts_a.csv",)
    take_back(Home(folder / "home"), "bouts_a.csv")
    load(folder, [files["a"]])
    assert _state(folder)[3] == calm


def test_a_file_of_long_days_only_is_refused(templates, tmp_path):
    folder = home_before("bouts", templates, tmp_path)
    rows = [_bout(f"2026-05-{day:02d} {hour:02d}:00", 15) for day in range(1, 21) for hour in (0, 9)]
    refused = load(folder, list(_files(folder, "bouts", a=rows).values())).refused[0]
    assert refused.code == "E_DAY"
    assert _state(folder)[0] == 0


def _spell(team, first, last="", person="p001"):
    return {"person": person, "team": team, "valid_from": first, "valid_to": last, "age_band": ""}


CROWD = [_spell("T0", "2025-01-01", person=f"q{i}") for i in range(60)]


@pytest.mark.parametrize(
    ("spells", "kept"),
    [
        ([("T1", "2025-01-01", ""), ("T2", "2026-01-01", "")], 1),
        ([("T1", "2025-01-01", "2026-01-01"), ("T2", "2026-01-01", "")], 1),
        ([("T1", "2025-01-01", "2025-12-31"), ("T2", "2026-01-01", "")], 2),
        ([("T1", "2025-01-01", ""), ("T1", "2026-01-01", "")], 2),
        (
            [
                ("T1", "2025-01-01", "2025-06-30"),
                ("T2", "2025-06-01", "2025-12-31"),
                ("T3", "2025-12-01", ""),
            ],
            1,
        ),
    ],
    ids=["open", "last day shared", "closed", "same team", "chain"],
)
def test_the_spell_that_begins_later_leaves(templates, tmp_path, spells, kept):
    folder = home_before("people", templates, tmp_path)
    rows = [_spell(*one) for one in spells]
    record = load(folder, list(_files(folder, "people", a=[*CROWD, *rows]).values())).files[0]
    left = len(spells) - kept
    assert [(one.reason, one.column, one.rows) for one in record.reasons] == (
        [("E_TWOTEAMS", "valid_from", left)] if left else []
    )
    with open_store(Home(folder / "home"), write=False) as con:
        first = con.execute("select min(team) from core.people where person = 'p001'").fetchone()
    assert first == ("T1",)


def test_overlapping_spells_of_several_files_give_one_register_in_any_order(templates, tmp_path):
    a = [_spell("T1", "2025-01-01", "2025-06-30"), *CROWD[:20]]
    b = [_spell("T2", "2025-06-01", "2025-12-31"), *CROWD[20:40]]
    c = [_spell("T3", "2025-12-01"), *CROWD[40:]]
    assert _in_all_orders(templates, tmp_path, "people", a=a, b=b, c=c) == 61


def test_a_register_whose_column_of_last_days_is_not_exported_is_checked_too(templates, tmp_path):
    folder = home_before("people", templates, tmp_path)
    rows = [*CROWD, _spell("T1", "2025-01-01"), _spell("T2", "2026-01-01")]
    path = write_csv(folder / "people.csv", [{key: row[key] for key in list(row)[:3]} for row in rows])
    profile = """profile = "short"
[sources.people]
contract = "people"
files = ["*.csv"]
[sources.people.fields]
person = "person"
team = "team"
valid_from = "valid_from"
"""
    assert [one.reason for one in load(folder, [path], profile).files[0].reasons] == ["E_TWOTEAMS"]


def test_a_move_is_loaded_by_taking_the_register_back(templates, tmp_path):
    folder = home_before("people", templates, tmp_path)
    old = [*registers()["people"], *CROWD]
    moved = [_spell("T1", "2025-01-01", "2026-05-31"), _spell("T3", "2026-06-01")]
    new = [moved[0] if row["person"] == "p001" else row for row in old] + [moved[1]]
    files = _files(folder, "people", old=old, move=[moved[1]], new=new)
    load(folder, [files["old"]])
    assert load(folder, [files["move"]]).files[0].reasons[0].reason == "E_TWOTEAMS"
    assert load(folder, [files["new"]]).files[0].reasons[0].reason in ("D_ROW", "E_CONFLICT")
    for name in ("new", "move", "old"):
        take_back(Home(folder / "home"), f"people_{name}.csv")
    record = load(folder, [files["new"]]).files[0]
    assert (record.rows_accepted, record.rows_set_aside) == (len(new), 0)


def test_a_file_of_new_spells_only_is_refused_with_the_way_to_update(templates, tmp_path):
    folder = home_before("people", templates, tmp_path)
    moves = [_spell("T3", "2026-06-01", person=row["person"]) for row in CROWD]
    files = _files(folder, "people", old=CROWD, moves=moves)
    load(folder, [files["old"]])
    refused = load(folder, [files["moves"]]).refused[0]
    assert refused.code == "E_TWOTEAMS"
    assert "Take the people file back" in refused.message
    assert _state(folder, "people")[0] == len(CROWD)


MEMORY = ("overfull_day", "contested_bout", "left_spell")


def _remembered(home):
    with open_store(home, write=False) as con:
        return {one: con.execute(f"select count(*) from loading.{one}").fetchone()[0] for one in MEMORY}


@pytest.mark.parametrize("way", ["withdrawal", "retention"])
def test_what_is_remembered_of_a_person_goes_with_the_person(templates, tmp_path, way):
    folder = home_before("bouts", templates, tmp_path)
    ended = [_spell("T1", "2025-01-01", "2025-12-31", "leaver-0001")]
    ended.append(_spell("T2", "2025-06-01", "2025-12-31", "leaver-0001"))
    leaver = {"person": "leaver-0001"}
    work = [_bout("2025-05-11 00:00", 15, **leaver), _bout("2025-05-11 06:00", 10, **leaver)]
    twice = [_bout("2025-05-12 06:00", 1, **leaver), _bout("2025-05-12 06:00", 2, **leaver)]
    load(folder, list(_files(folder, "people", a=[*CROWD, *ended]).values()))
    load(folder, list(_files(folder, "bouts", a=[*work, *twice, *bouts(40)]).values()))
    home = Home(folder / "home")
    assert _remembered(home) == {"overfull_day": 1, "contested_bout": 2, "left_spell": 1}
    if way == "withdrawal":
        withdraw(home, "leaver-0001", today=dt.date(2026, 11, 26))
    else:
        retain(home, today=dt.date(2029, 6, 1))
    assert _remembered(home) == dict.fromkeys(MEMORY, 0)
