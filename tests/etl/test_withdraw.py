"""Withdrawal: the person is gone from the store's bytes, and stays gone."""

import datetime as dt
import hashlib
import shutil
from pathlib import Path

import pytest

from etl.bytesearch import files_holding, holds
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.home import Home
from etl.settings import Settings
from etl.sqlfiles import sql
from etl.store import content_hash, open_store
from etl.tombstones import digest, list_file
from etl.withdraw import withdraw, withdraw_again
from tests.support.keyed_institute import (
    CANARY,
    NAMES,
    STRANGER,
    every_text,
    institute,
    loaded,
    rows,
    without,
)
from tests.support.load_files import load, load_table, write_all, write_csv

DAY = dt.date(2026, 11, 25)
BYTES = [CANARY.encode()]


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("template")
    home = loaded(folder)
    with open_store(home, write=True) as con:
        build_facts(con, Settings())
        con.execute(sql("store/030_tokens"))
        con.executemany(
            "insert into release_private.token values (?, ?)",
            [(name, hashlib.md5(name.encode()).hexdigest()) for name in NAMES.values()],
        )
        con.execute(
            "insert into release_private.contributor_set select 'set', list(token order by token) "
            "from release_private.token"
        )
    home.release_dir.mkdir()
    (home.release_dir / "1.duckdb").write_bytes(b"an edition")
    return folder


@pytest.fixture
def place(template: Path, tmp_path: Path) -> Path:
    shutil.copytree(template, tmp_path / "place")
    return tmp_path / "place"


@pytest.fixture
def home(place: Path) -> Home:
    return Home(place / "home")


def text_of(home: Home) -> str:
    with open_store(home, write=False) as con:
        return every_text(con)


def hash_of(home: Home) -> str:
    with open_store(home, write=False) as con:
        return content_hash(con)


def test_the_search_finds_planted_bytes_and_deleting_rows_does_not_remove_them(home: Home) -> None:
    """Without this, finding nothing afterwards would prove nothing. It is also why the store is rebuilt."""
    assert files_holding(home.person_dir, BYTES) == (home.person_db,)
    with open_store(home, write=True) as con:
        for name in ("core.people", "core.bouts", "core.strokes", "core.surveys", "core.set_aside"):
            con.execute(f"delete from {name}")
        con.execute("drop schema facts cascade")
        con.execute("drop schema release_private cascade")
        con.execute("checkpoint store")
        con.execute("vacuum")
        assert CANARY not in every_text(con)
    assert holds(home.person_db, BYTES)


def test_the_person_is_gone_from_every_table_and_every_byte(home: Home) -> None:
    assert CANARY in text_of(home)
    summary = withdraw(home, CANARY, today=DAY)
    assert CANARY not in text_of(home)
    assert files_holding(home.root, BYTES) == ()
    assert summary.seen_before
    assert summary.complete
    assert summary.rows == {"people": 1, "bouts": 10, "strokes": 300, "surveys": 9}
    assert (summary.persons, summary.values, summary.link) == (1, 1, 1)
    assert summary.files == ("bouts.csv", "people.csv", "strokes.csv", "surveys.csv")


def test_what_is_left_equals_a_store_that_never_knew_the_person(home: Home, tmp_path: Path) -> None:
    withdraw(home, CANARY, today=DAY)
    other = loaded(tmp_path / "other", without(CANARY, institute()))
    assert hash_of(home) == hash_of(other)
    with open_store(other, write=True) as con:
        build_facts(con, Settings())
    for table in ("person_day", "bout_piece", "symptom", "roster"):
        query = f"select * from facts.{table} order by all"
        found = rows(home, query)
        assert found == rows(other, query)
        assert found


def test_the_token_stays_in_the_ledger_without_a_person(home: Home) -> None:
    before = rows(home, "select tokens from release_private.contributor_set")
    token = rows(home, "select token from release_private.token where person = ?", [CANARY])[0][0]
    withdraw(home, CANARY, today=DAY)
    assert rows(home, "select tokens from release_private.contributor_set") == before
    assert token in before[0][0]
    assert rows(home, "select 1 from release_private.token where token = ?", [token]) == []
    assert len(rows(home, "select * from release_private.token")) == len(NAMES) - 1


def test_contested_keys_of_the_person_are_forgotten_and_others_stay(place: Path) -> None:
    """Whoever knows the pseudonym could try keys against the hashes that are kept of contradictions."""
    home = Home(place / "home")
    tables = institute()
    two = (CANARY, NAMES["p002"])
    doubted = [next(row for row in tables["surveys"] if row["person"] == person) for person in two]
    again = [row | {"score": "9" if row["score"] != "9" else "1"} for row in doubted]
    assert not load(place, write_all(place / "in2", {"surveys": again})).refused
    digests = "select person_digest from core.conflict_key where contract = 'surveys'"
    assert {d for (d,) in rows(home, digests)} == {digest(CANARY), digest(NAMES["p002"])}
    withdraw(home, CANARY, today=DAY)
    assert rows(home, digests) == [(digest(NAMES["p002"]),)]


def test_published_editions_are_not_touched(home: Home) -> None:
    edition = home.release_dir / "1.duckdb"
    before = edition.stat()
    withdraw(home, CANARY, today=DAY)
    assert edition.stat().st_mtime_ns == before.st_mtime_ns
    assert edition.stat().st_ino == before.st_ino
    assert edition.read_bytes() == b"an edition"


def test_values_set_aside_go_with_their_row_and_others_stay(home: Home) -> None:
    """The cell that names the canary goes. A score set aside stands with no person, so it cannot be found."""
    withdraw(home, CANARY, today=DAY)
    found = rows(home, "select column_name, reason, value from core.set_aside order by row_number")
    named = [(reason, value) for column, reason, value in found if column == "person"]
    assert found[0] == ("score", "E_RANGE", "77")
    assert named == [("E_PERSON", STRANGER), ("E_PERSON", None)]


def test_a_person_named_only_by_a_row_set_aside_can_withdraw(home: Home) -> None:
    summary = withdraw(home, STRANGER, today=DAY)
    assert (summary.rows, summary.values, summary.link) == ({}, 1, 0)
    assert summary.files == ("surveys.csv",)
    assert files_holding(home.person_dir, [STRANGER.encode()]) == ()


def test_a_person_of_whom_only_the_token_link_is_left_can_withdraw(home: Home) -> None:
    with open_store(home, write=True) as con:
        con.execute("insert into release_private.token values ('k1:LEFTOVERLEFTOVERLEFTOVERLE', 'f00')")
    summary = withdraw(home, "k1:LEFTOVERLEFTOVERLEFTOVERLE", today=DAY)
    assert (summary.rows, summary.link, summary.files) == ({}, 1, ())
    assert "no rows" in str(summary)
    assert "Delete the delivered files" not in str(summary)


def test_rows_accepted_are_rows_present_and_rows_removed(home: Home) -> None:
    withdraw(home, CANARY, today=DAY)
    unbalanced = rows(
        home,
        """
        with present as (
            select file_id, count(*) as n from core.people group by 1 union all
            select file_id, count(*) from core.bouts group by 1 union all
            select file_id, count(*) from core.strokes group by 1 union all
            select file_id, count(*) from core.surveys group by 1
        ), removed as (select file_id, sum(rows) as n from core.removal where cause = 'WITHDRAWN' group by 1)
        select l.contract, l.rows_accepted, p.n, r.n from core.file_ledger l
        join present p using (file_id) left join removed r using (file_id)
        where l.rows_accepted <> p.n + coalesce(r.n, 0)
        """,
    )
    assert unbalanced == []
    assert rows(home, "select sum(rows) from core.removal") == [(1 + 10 + 300 + 9,)]


def test_a_later_export_does_not_bring_the_person_back(place: Path, home: Home) -> None:
    withdraw(home, CANARY, today=DAY)
    before = hash_of(home)
    again = load(place, sorted((place / "in").glob("*.csv")))
    assert {record.outcome for record in again.files} == {"already loaded"}
    fresh = [row | {"month": "2026-09"} for row in institute()["surveys"][:80]]
    fresh.append(fresh[0] | {"month": "nonsense", "region": "HEAD", "person": f"\u200b<{CANARY}>"})
    mine = sum(CANARY in row["person"] for row in fresh)
    (record,) = load_table(place, "surveys", fresh).files
    assert (record.rows_accepted, record.rows_set_aside) == (len(fresh) - mine, mine)
    last = "(select max(file_id) from core.file_ledger)"
    aside = rows(home, f"select reason, value from core.set_aside where file_id = {last}")
    assert aside == [("X_WITHDRAWN", None)] * mine
    assert CANARY not in text_of(home)
    assert files_holding(home.person_dir, BYTES) == ()
    assert hash_of(home) != before


def test_a_people_file_does_not_bring_the_person_back_either(place: Path, home: Home) -> None:
    withdraw(home, CANARY, today=DAY)
    later = [row | {"valid_from": "2026-10-01"} for row in institute()["people"]]
    load_table(place, "people", later)
    assert rows(home, "select count(*) from core.people where valid_from = '2026-10-01'") == [
        (len(later) - 1,)
    ]
    assert CANARY not in text_of(home)


def test_a_restored_backup_is_refused_until_the_person_is_out_again(place: Path, home: Home) -> None:
    backup = place / "backup.duckdb"
    shutil.copy(home.person_db, backup)
    withdraw(home, CANARY, today=DAY)
    shutil.copy(backup, home.person_db)
    survey = [institute()["surveys"][0] | {"month": "2026-10"}]
    with pytest.raises(EvenhandError, match=r"1 withdrawn persons are in the store again.*withdraw --again"):
        load_table(place, "surveys", survey)
    summary = withdraw_again(home, today=DAY)
    assert summary is not None
    assert summary.persons == 1
    assert files_holding(home.person_dir, BYTES) == ()
    assert withdraw_again(home) is None
    assert load_table(place, "surveys", survey).files[0].outcome == "loaded"


def test_a_new_store_beside_the_list_of_withdrawals_keeps_the_person_out(home: Home, tmp_path: Path) -> None:
    withdraw(home, CANARY, today=DAY)
    (tmp_path / "new" / "home").mkdir(parents=True)
    shutil.copy(list_file(home), tmp_path / "new" / "home")
    new = loaded(tmp_path / "new")
    assert CANARY not in text_of(new)
    assert hash_of(new) == hash_of(home)
    assert rows(new, "select withdrawn_on from core.tombstone") == [(DAY,)]


@pytest.mark.parametrize("person", ["k1:AAAAAAAAAAAAAAAAAAAAAAAAAA", "", "nobody"])
def test_an_unknown_pseudonym_is_refused_and_not_repeated(home: Home, person: str) -> None:
    before = home.person_db.read_bytes()
    with pytest.raises(EvenhandError, match="Nobody in the person store") as caught:
        withdraw(home, person)
    assert not person or person not in str(caught.value)
    assert home.person_db.read_bytes() == before
    assert not list_file(home).exists()


def test_a_second_withdrawal_says_that_it_was_done(home: Home) -> None:
    withdraw(home, CANARY)
    with pytest.raises(EvenhandError, match="was withdrawn before") as caught:
        withdraw(home, CANARY)
    assert CANARY not in str(caught.value)


def test_without_a_store_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(EvenhandError, match="no person store yet"):
        withdraw(Home(tmp_path), CANARY)
    assert list(tmp_path.iterdir()) == []


def test_backups_and_delivered_files_are_pointed_out(home: Home) -> None:
    shutil.copy(home.person_db, home.person_dir / "old.bak")
    write_csv(home.root / "delivered.csv", [{"person": CANARY}])
    summary = withdraw(home, CANARY)
    assert summary.left_in == (home.person_dir / "old.bak",)
    assert summary.delivered == (home.root / "delivered.csv",)
    assert not summary.complete
    assert f"still in {home.person_dir / 'old.bak'}" in str(summary)


def test_a_short_code_is_withdrawn_by_reading_every_column(tmp_path: Path) -> None:
    """Bytes of a code such as p001 stand in other text by chance; so they are not what is looked for."""
    tables = {name: [*table] for name, table in institute().items()}
    tables["people"].append(tables["people"][0] | {"person": "p1"})
    home = loaded(tmp_path, tables)
    summary = withdraw(home, "p1")
    assert not summary.seen_before
    assert "every column was read" in str(summary)
    assert rows(home, "select count(*) from core.people") == [(len(NAMES),)]


def test_a_code_inside_another_is_not_searched_for_either(tmp_path: Path) -> None:
    tables = institute()
    tables["people"] += [tables["people"][0] | {"person": code} for code in ("PERSON-10", "PERSON-101")]
    home = loaded(tmp_path, tables)
    assert not withdraw(home, "PERSON-10").seen_before
    assert rows(home, "select person from core.people where person like 'PERSON%'") == [("PERSON-101",)]
    assert withdraw(home, "PERSON-101").seen_before


def test_a_table_the_program_does_not_know_cannot_hide_a_person(home: Home) -> None:
    with open_store(home, write=True) as con:
        con.execute("create table core.remarks (note varchar[])")
        con.execute("insert into core.remarks values (['a', ?])", [f"about {CANARY}"])
    before = home.person_db.read_bytes()
    with pytest.raises(EvenhandError, match=r"Column note of core\.remarks") as caught:
        withdraw(home, CANARY)
    assert CANARY not in str(caught.value)
    assert home.person_db.read_bytes() == before
    assert not list((home.person_dir / "scratch").iterdir())
