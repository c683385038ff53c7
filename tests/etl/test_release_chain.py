"""The hash chain: every altered value, row or byte is found, and nothing else."""

import shutil
from datetime import date, datetime
from pathlib import Path

import duckdb
import pytest

from etl.home import Home
from etl.release_chain import FIRST_LINK, canonical, digest_path, verify
from etl.release_door import open_release, pinned
from tests.support.small_store import small_release


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return small_release(tmp_path_factory.mktemp("chain"), 3)


@pytest.fixture
def copy(home: Home, tmp_path: Path) -> Path:
    """A copy of the release file that may be written to, without its digest."""
    path = tmp_path / "copy.duckdb"
    shutil.copyfile(home.current_release.resolve(), path)
    return path


def alter(path: Path, statement: str) -> None:
    with duckdb.connect(str(path)) as con:
        con.execute(statement)


def test_what_was_published_is_found_intact(home, copy):
    verdict = verify(home.current_release)
    assert (verdict.intact, verdict.editions) == (True, 3)
    assert str(verdict).endswith("all 3 editions hold exactly what was published.")
    beside = verify(copy)
    assert beside.intact
    assert "No digest" in beside.sentence


def test_verifying_does_not_disturb_an_open_door(home):
    door = open_release(home)
    assert verify(home.current_release).intact
    assert len(door.table("edition")) == 3
    door.close()


def test_each_edition_names_the_one_before(home):
    with pinned(home) as release:
        editions = release.editions()
    assert editions[0].previous_hash == FIRST_LINK
    assert [e.previous_hash for e in editions[1:]] == [e.content_hash for e in editions[:-1]]


@pytest.mark.parametrize(
    ("statement", "first_bad"),
    [
        ("update health set percent = percent + 5 where rowid = (select min(rowid) from health "
         "where percent is not null)", 1),
        ("update exposure set value = nextafter(value, 1e9::double) "
         "where rowid = (select max(rowid) from exposure where value is not null)", 3),
        ("update edition set note = 'x' where edition = 2", 2),
        ("update edition set created_at = created_at + interval 1 microsecond where edition = 2", 2),
        ("update edition set content_hash = repeat('0', 64) where edition = 2", 2),
        ("update method set text = text || ' ' where edition = 3 and key = 'privacy.floors'", 3),
        ("delete from coverage where edition = 2 and level = 'organisation'", 2),
        ("insert into unit select * from unit where edition = 1 limit 1", 1),
        ("update health set reason = '' where edition = 1 and reason is null", 1),
        ("delete from edition where edition = 1", 1),
        ("create table note (edition integer, text varchar); insert into note values (3, 'more')", 3),
    ],
)  # fmt: skip
def test_one_altered_value_is_found(copy, statement, first_bad):
    alter(copy, statement)
    verdict = verify(copy)
    assert not verdict.intact
    if "delete from edition" not in statement:
        assert f"edition {first_bad} is not what was published" in verdict.sentence
        assert verdict.editions == first_bad - 1


def test_rows_of_no_edition_are_found(copy):
    alter(copy, "insert into unit select 9, * exclude (edition) from unit where edition = 1 limit 1")
    assert "rows of no edition" in verify(copy).sentence


def test_the_last_edition_cannot_be_cut_off_unseen_where_the_digest_lies_beside(home, copy):
    with duckdb.connect(str(copy)) as con:
        for (table,) in con.execute("select table_name from information_schema.tables").fetchall():
            con.execute(f"delete from {table} where edition = 3")
    assert verify(copy).editions == 2  # a shorter chain is a valid chain; the digest tells them apart
    shutil.copyfile(digest_path(home.current_release.resolve()), digest_path(copy))
    assert not verify(copy).intact


def test_one_flipped_byte_is_found_wherever_it_lies(home, copy):
    shutil.copyfile(digest_path(home.current_release.resolve()), digest_path(copy))
    data = bytearray(copy.read_bytes())
    assert verify(copy).intact
    for place in range(0, len(data), len(data) // 40):
        data[place] ^= 1
        copy.write_bytes(data)
        assert not verify(copy).intact, place
        data[place] ^= 1


def test_a_flipped_byte_without_a_digest_is_never_a_wrong_answer(copy):
    # The engine's own checksums or the chain have to notice, or the byte lies in unused space.
    with pinned(copy) as release:
        health = release.table("health")
    data = bytearray(copy.read_bytes())
    for place in range(12288, len(data), len(data) // 12):
        data[place] ^= 0x10
        copy.write_bytes(data)
        if verify(copy).intact:
            with pinned(copy) as release:
                assert release.table("health").equals(health)
        data[place] ^= 0x10


@pytest.mark.parametrize("content", [b"", b"no database", None])
def test_what_is_no_release_is_said_so(tmp_path, content):
    path = tmp_path / "x.duckdb"
    if content is not None:
        path.write_bytes(content)
    verdict = verify(path)
    assert not verdict.intact
    assert "x.duckdb" in verdict.sentence


def test_a_database_without_editions_is_no_release(tmp_path):
    path = tmp_path / "other.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute("create table t (a integer)")
    assert "no table of editions" in verify(path).sentence


def test_different_values_have_different_texts():
    values = [
        None, True, False, 1, 0, 1.0, 0.0, -0.0, "", "n", "i1", "1", "a|b", "a", date(2026, 1, 1),
        datetime(2026, 1, 1), "2026-01-01", 0.1 + 0.2, 0.3,
    ]  # fmt: skip
    assert len({canonical(v) for v in values}) == len(values)
    # Lengths keep neighbouring texts apart.
    assert "|".join(map(canonical, ("a|s1:b", "c"))) != "|".join(map(canonical, ("a", "b|s1:c")))
    with pytest.raises(TypeError, match="bytes"):
        canonical(b"x")
