"""The private ledger: tokens, sets and counts as written, and refusals word for word."""

import hashlib

import duckdb
import pytest

from etl.errors import ReleaseRefused
from etl.keys import Key
from etl.release_calendar import Month
from etl.release_ledger import (
    MONTH_KIND,
    QUARTER_KIND,
    HealthCell,
    LedgerWriter,
    check_key,
    give_tokens,
    prepare,
    published_counts,
    refuse_dropped_people,
    set_id,
)
from etl.sqlfiles import sql

TABLES = ("ledger", "answered", "roster", "statement", "flag_setup", "key_seen")
CELLS = (
    HealthCell(MONTH_KIND, "cluster", "C0", "2026-08", "NECK", ("a", "b"), 5, 5),
    HealthCell(MONTH_KIND, "cluster", "C1", "2026-08", "NECK", ("c",), 5, None),
    HealthCell(QUARTER_KIND, "team", "T0", "2026-Q3", "NECK", ("b", "a"), 5, 0),
)


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect(":memory:")
    con.execute(sql("store/030_tokens"))
    con.execute("create schema facts; create table facts.roster (person varchar)")
    con.execute("create table facts.symptom (person varchar)")
    return con


def numbers(con, table: str) -> list[int]:
    edition = "first_edition" if table == "key_seen" else "edition"
    return [n for (n,) in con.execute(f"select {edition} from release_private.{table} order by 1").fetchall()]


def test_what_an_interrupted_release_left_is_dropped_and_nothing_else(con) -> None:
    for edition in (1, 2, 3):
        con.execute("insert into release_private.statement values (?, 'o', 'a', 'p', 'w', 's')", [edition])
        con.execute("insert into release_private.flag_setup values (?, 's', 'x')", [edition])
        con.execute("insert into release_private.key_seen values (?, ?)", [f"k{edition}", edition])
        writer = LedgerWriter(con, edition)
        writer.write(CELLS[:1], [("T0", "C0", ["a"])], [("2026-08", "NECK", ["a"])], "2026-08")
    prepare(con, 2)
    assert {table: numbers(con, table) for table in TABLES} == {table: [1, 2] for table in TABLES}
    prepare(con, 0)
    assert {table: numbers(con, table) for table in TABLES} == {table: [] for table in TABLES}


def test_everybody_of_the_facts_gets_one_token_for_good(con) -> None:
    give_tokens(con)
    con.execute("insert into facts.roster values ('p1'), ('p2'), ('p1')")
    con.execute("insert into facts.symptom values ('p2'), ('p3')")
    give_tokens(con)
    ask = "select person, token from release_private.token order by person"
    first = con.execute(ask).fetchall()
    assert [person for person, _ in first] == ["p1", "p2", "p3"]
    assert len({token for _, token in first}) == 3
    assert all(len(bytes.fromhex(token)) == 16 for _, token in first)
    con.execute("insert into facts.roster values ('p0')")
    give_tokens(con)
    assert con.execute(ask).fetchall()[1:] == first


def test_the_release_key_of_the_first_edition_stays(con) -> None:
    key, other = Key("release1", bytes(range(32))), Key("release1", bytes(range(1, 33)))
    check_key(con, key, 1)
    check_key(con, key, 2)
    ask = "select * from release_private.key_seen"
    assert con.execute(ask).fetchall() == [(key.fingerprint, 1)]
    with pytest.raises(ReleaseRefused) as refusal:
        check_key(con, other, 3)
    assert (refusal.value.what, refusal.value.where, refusal.value.remedy) == (
        f"The release key ({other.fingerprint}) is not the one of earlier editions ({key.fingerprint})",
        "keys",
        "Restore the earlier key; a new one would round the same people's numbers anew.",
    )
    assert con.execute(ask).fetchall() == [(key.fingerprint, 1)]


def test_a_set_is_named_by_its_members_in_any_order() -> None:
    assert set_id(["b", "a"]) == set_id(("a", "b")) == hashlib.sha256(b"a\x1fb").hexdigest()
    assert set_id(["ab"]) != set_id(["a", "b"])


def test_an_edition_writes_its_rows_once_however_often_it_is_asked(con) -> None:
    writer = LedgerWriter(con, 7)
    rosters, answered = [("T0", "C0", ["b", "a"])], [("2026-08", "NECK", ["c", "a"])]
    LedgerWriter(con, 6).write(CELLS[:1], rosters, answered, "2026-07")
    for _ in range(2):
        writer.write(CELLS, rosters, answered, "2026-08")
    both, one, pair = set_id("ab"), set_id("c"), set_id("ac")
    read = {
        table: con.execute(f"select * exclude (edition) from release_private.{table} where edition = 7 "
                           "order by all").fetchall()
        for table in ("ledger", "roster", "answered")
    }  # fmt: skip
    assert read == {
        "ledger": [
            (MONTH_KIND, "cluster", "C0", "2026-08", "NECK", both, 2, 5, 5),
            (MONTH_KIND, "cluster", "C1", "2026-08", "NECK", one, 1, 5, None),
            (QUARTER_KIND, "team", "T0", "2026-Q3", "NECK", both, 2, 5, 0),
        ],
        "roster": [("2026-08", "T0", "C0", both)],
        "answered": [("2026-08", "NECK", pair)],
    }
    sets = con.execute("select * from release_private.contributor_set order by set_id").fetchall()
    assert sets == sorted([(both, ["a", "b"]), (one, ["c"]), (pair, ["a", "c"])])
    assert numbers(con, "ledger") == [6, 7, 7, 7]
    writer.write((), (), (), "2026-08")
    assert {table: numbers(con, table) for table in read} == {table: [6] for table in read}


def test_published_counts_of_a_period_and_kind(con) -> None:
    LedgerWriter(con, 1).write(CELLS, (), (), "2026-08")
    assert published_counts(con, MONTH_KIND, "2026-08") == {("cluster", "C0", "NECK"): (5, 2)}
    assert published_counts(con, QUARTER_KIND, "2026-Q3") == {("team", "T0", "NECK"): (0, 2)}
    assert published_counts(con, MONTH_KIND, "2026-07") == {}


def test_somebody_dropped_within_the_quarter_is_refused_with_the_remedy(con) -> None:
    con.execute("insert into release_private.token values ('p1', 'a'), ('p2', 'b'), ('p3', 'c')")
    LedgerWriter(con, 1).write((), [("T0", "C0", ["a", "b"]), ("T1", "C0", ["c", "gone"])], (), "2026-07")
    september = Month(2026, 9)
    everybody = {"2026-07": {"a", "b", "c", "new"}, "2026-08": set()}
    # 'gone' withdrew: no person has that token any more.
    assert refuse_dropped_people(con, september, everybody) is None
    with pytest.raises(ReleaseRefused) as refusal:
        refuse_dropped_people(con, september, {"2026-08": {"a"}, "2026-07": {"a", "new"}})
    assert (refusal.value.what, refusal.value.where, refusal.value.remedy) == (
        "2 listed in 2026-07 when it was released are missing from its roster now",
        "release of 2026-09",
        "Load a people file that closes their spells with a leaving date; for a withdrawal use "
        "'evenhand withdraw'.",
    )
