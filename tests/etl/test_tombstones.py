"""The list of withdrawals: two copies brought level, and a damaged one never taken for a short one."""

import datetime as dt
import hashlib
import stat
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from etl.errors import EvenhandError
from etl.home import Home
from etl.store import open_store
from etl.tombstones import digest, list_file, recall, remember, returned, withdrawn

DAY = dt.date(2026, 3, 2)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


@pytest.fixture
def con(home: Home) -> Iterator[duckdb.DuckDBPyConnection]:
    with open_store(home, write=True) as con:
        yield con


def test_a_tombstone_is_a_plain_hash_in_its_own_domain(con: duckdb.DuckDBPyConnection) -> None:
    """Outside checks: the definition in hashlib, and DuckDB's own SHA-256."""
    assert digest("k1:A") == hashlib.sha256(b"evenhand|v1|withdrawn|k1:A").hexdigest()
    assert con.execute("select sha256('evenhand|v1|withdrawn|k1:A')").fetchone() == (digest("k1:A"),)


def test_the_file_is_private_sorted_and_names_nobody(home: Home, con: duckdb.DuckDBPyConnection) -> None:
    remember(home, {digest("b"): DAY, digest("a"): DAY - dt.timedelta(1)})
    assert list_file(home).read_text() == f"2026-03-01 {digest('a')}\n2026-03-02 {digest('b')}\n"
    assert stat.S_IMODE(list_file(home).stat().st_mode) == 0o600
    assert withdrawn(home, con) == {digest("a"): dt.date(2026, 3, 1), digest("b"): DAY}


def test_either_copy_heals_the_other(home: Home, con: duckdb.DuckDBPyConnection) -> None:
    con.execute("insert into core.tombstone values (?, ?)", [digest("a"), DAY])
    recall(home, con)
    assert digest("a") in list_file(home).read_text()
    remember(home, {digest("a"): DAY, digest("b"): DAY})
    recall(home, con)
    assert con.execute("select count(*) from core.tombstone").fetchone() == (2,)


def test_with_nobody_withdrawn_no_list_is_written(home: Home, con: duckdb.DuckDBPyConnection) -> None:
    recall(home, con)
    assert not list_file(home).exists()
    assert returned(home, con) == ()


@pytest.mark.parametrize("line", ["", "2026-03-02", "2026-03-02 abcd", f"2026-13-02 {'a' * 64}", "\x00", "é"])
def test_a_damaged_list_is_refused(home: Home, con: duckdb.DuckDBPyConnection, line: str) -> None:
    list_file(home).write_text(f"2026-03-02 {digest('a')}\n{line}\n2026-03-02 {digest('b')}\n")
    with pytest.raises(EvenhandError, match="Line 2 of the list of withdrawals is damaged"):
        withdrawn(home, con)


def test_a_part_file_of_a_killed_process_is_no_hindrance(home: Home) -> None:
    (home.root / ".withdrawn.txt.part").write_text("half a li")
    remember(home, {digest("a"): DAY})
    assert [path.name for path in home.root.iterdir()] == ["withdrawn.txt"]
