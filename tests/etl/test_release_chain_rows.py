"""The chain on a release of a few literal rows: each line and hash worked out by hand beside it."""

import hashlib
from datetime import date, datetime
from pathlib import Path

import duckdb
import pytest

from etl.release_chain import (
    FIRST_LINK,
    STORAGE_VERSION,
    ChainVerdict,
    canonical,
    digest_path,
    edition_hash,
    edition_lines,
    file_digest,
    open_release_file,
    tables_of,
    verify,
)

# Worked out by hand from the rule: type, then the value; texts with their length; rows sorted, tables too.
FIRST_LINES = [
    "count(edition,unit,n,rate,since,shown)2",
    "i1|s1:T|i7|f0x1.8000000000000p-1|d2026-10-01|b1",
    "i1|s3:T|2|n|f-0x0.0p+0|n|b0",
    "edition(edition,previous_hash,made)1",
    f"i1|s64:{FIRST_LINK}|t2026-11-02T08:00:00.000001",
]
SECOND_LINES = [
    "count(edition,unit,n,rate,since,shown)1",
    "i2|s1:U|n|n|n|n",
    "edition(edition,previous_hash,made)1",
]


def by_hand(previous: str, lines: list[str]) -> str:
    return hashlib.sha256("\n".join([previous, *lines]).encode()).hexdigest()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "it's.duckdb"
    first = by_hand(FIRST_LINK, FIRST_LINES)
    second = by_hand(first, [*SECOND_LINES, f"i2|s64:{first}|t2026-12-01T00:00:00"])
    with open_release_file(path, write=True) as con:
        con.execute(
            "create table edition (edition integer, previous_hash text, content_hash text, made timestamp)"
        )
        con.execute(
            "create table count (edition integer, unit text, n integer, rate double, since date, "
            "shown boolean)"
        )
        con.execute(
            "insert into count values (1, 'T|2', null, -0.0::double, null, false), "
            "(2, 'U', null, null, null, null)"
        )
        con.execute("insert into count values (1, 'T', 7, 0.75, '2026-10-01', true)")
        con.execute("create table nothing (edition integer)")
        con.execute("insert into edition values (2, ?, ?, '2026-12-01')", [first, second])
        con.execute("insert into edition values (1, ?, ?, '2026-11-02 08:00:00.000001')", [FIRST_LINK, first])
    return path


def alter(path: Path, statement: str) -> None:
    with open_release_file(path, write=True) as con:
        con.execute(statement)


def test_lines_and_hashes_are_those_worked_out_by_hand(file: Path) -> None:
    with open_release_file(file) as con:
        assert list(edition_lines(con, 1)) == FIRST_LINES
        assert list(edition_lines(con, 3)) == []
        assert edition_hash(con, 1, FIRST_LINK) == by_hand(FIRST_LINK, FIRST_LINES)
        assert edition_hash(con, 1, "x") == by_hand("x", FIRST_LINES)
        assert tables_of(con) == {
            "count": ("edition", "unit", "n", "rate", "since", "shown"),
            "edition": ("edition", "previous_hash", "content_hash", "made"),
            "nothing": ("edition",),
        }
        assert list(tables_of(con)) == ["count", "edition", "nothing"]


def test_tables_of_another_schema_or_database_are_no_part_of_a_release(file: Path) -> None:
    alter(file, "create schema more; create table more.note (edition integer)")
    with open_release_file(file) as con:
        con.execute("create temp table beside (edition integer)")
        con.execute("attach ':memory:' as other; create table other.main.else_where (edition integer)")
        assert list(tables_of(con)) == ["count", "edition", "nothing"]


def test_an_open_file_is_read_only_unless_written_and_fetches_nothing(file: Path) -> None:
    with open_release_file(file) as con:
        with pytest.raises(duckdb.Error, match="read-only"):
            con.execute("insert into nothing values (1)")
        asked = "select current_setting('autoinstall_known_extensions'), "
        asked += "current_setting('autoload_known_extensions'), current_setting('threads')"
        assert con.execute(asked).fetchall() == [(False, False, 2)]
        kept = con.execute("select tags from duckdb_databases() where database_name = 'release'").fetchall()
    assert STORAGE_VERSION.removesuffix(".0") in str(kept)
    with pytest.raises(duckdb.ConnectionException):
        con.execute("select 1")


def test_the_verdict_in_words(file: Path, tmp_path: Path) -> None:
    name = file.name
    good = f"{name}: all 2 editions hold exactly what was published."
    assert verify(file) == ChainVerdict(True, 2, f"{good} No digest of the file lies beside it.")
    assert digest_path(file) == tmp_path / f"{name}.sha256"
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    assert file_digest(file) == digest
    digest_path(file).write_text(f"{digest}  {name}\n", encoding="ascii")
    link = tmp_path / "current.duckdb"
    link.symlink_to(file)
    assert verify(link) == ChainVerdict(True, 2, good)
    assert str(verify(link)) == good
    for text in (f"{digest[:-1]}  {name}", ""):
        digest_path(file).write_text(text, encoding="ascii")
        assert verify(file) == ChainVerdict(
            False, 0, f"{name}: the bytes of the file are not those that were published."
        )
    gone = tmp_path / "gone.duckdb"
    assert verify(gone) == ChainVerdict(False, 0, f"There is no release file at {gone}.")
    assert verify(tmp_path).sentence == f"There is no release file at {tmp_path}."


@pytest.mark.parametrize(
    ("statement", "agree", "words"),
    [
        ("update count set n = 8 where unit = 'T'", 0,
         "edition 1 is not what was published; 0 editions before it agree."),
        ("update count set n = 0 where unit = 'U'", 1,
         "edition 2 is not what was published; 1 editions before it agree."),
        ("update edition set previous_hash = '0' where edition = 2", 1, "edition 2 is not what"),
        ("update edition set content_hash = '0' where edition = 1", 0, "edition 1 is not what was published"),
        ("insert into nothing values (3)", 0, "table nothing holds rows of no edition."),
        ("insert into count (unit) values ('V')", 0, "table count holds rows of no edition."),
        ("drop table edition", 0, "there is no table of editions."),
    ],
)  # fmt: skip
def test_what_does_not_agree_is_named(file: Path, statement: str, agree: int, words: str) -> None:
    alter(file, statement)
    verdict = verify(file)
    assert (verdict.intact, verdict.editions) == (False, agree)
    assert verdict.sentence.startswith(f"{file.name}: {words}")


def test_an_edition_whose_link_is_wrong_is_found_also_where_its_own_hash_fits(file: Path) -> None:
    """Somebody who writes an edition anew over another past has to be found by the link alone."""
    with open_release_file(file, write=True) as con:
        con.execute("update edition set previous_hash = repeat('f', 64) where edition = 1")
        con.execute(
            "update edition set content_hash = ? where edition = 1", [edition_hash(con, 1, FIRST_LINK)]
        )
    assert verify(file).editions == 0
    assert not verify(file).intact


def test_a_file_that_is_no_database_is_said_so_in_one_line(tmp_path: Path) -> None:
    path = tmp_path / "x.duckdb"
    path.write_bytes(b"no database" * 1000)
    verdict = verify(path)
    assert (verdict.intact, verdict.editions) == (False, 0)
    assert verdict.sentence.startswith("x.duckdb: the file cannot be read as a release (")
    assert verdict.sentence.endswith(").")
    assert "\n" not in verdict.sentence
    assert "(None" not in verdict.sentence


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "n"), (True, "b1"), (False, "b0"), (1, "i1"), (-3, "i-3"), (0.1, "f0x1.999999999999ap-4"),
        ("", "s0:"), ("é|", "s2:é|"), (datetime(2026, 1, 2, 3, 4, 5, 6), "t2026-01-02T03:04:05.000006"),
        (date(2026, 1, 2), "d2026-01-02"),
    ],
)  # fmt: skip
def test_the_text_of_a_value(value: object, text: str) -> None:
    assert canonical(value) == text


def test_a_value_of_another_type_is_refused() -> None:
    with pytest.raises(TypeError, match=r"^no canonical text for bytes$"):
        canonical(b"x")
