"""Rebuilding the store: one file or the other, never neither, also when the process is killed."""

import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from etl import rebuild as module
from etl.bytesearch import files_holding, holds
from etl.errors import EvenhandError
from etl.home import Home
from etl.person_gone import refuse_bytes
from etl.rebuild import Keep, rebuild
from etl.store import content_hash, open_store
from etl.tombstones import list_file
from etl.withdraw import withdraw, withdraw_again
from tests.support.keyed_institute import CANARY, loaded

# A child process that withdraws the canary and kills itself, by a signal nobody can catch, at a named step.
KILLED = """
import os, signal, sys
from pathlib import Path
import etl.rebuild, etl.withdraw
from etl.home import Home

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

step, after = sys.argv[2], sys.argv[3] == "after"
target, name = {
    "remember": (etl.withdraw, "remember"),
    "copy": (etl.rebuild, "_copy"),
    "leftovers": (etl.withdraw, "refuse_leftovers"),
    "bytes": (etl.withdraw, "refuse_bytes"),
    "flush": (etl.rebuild, "_flush"),
    "replace": (Path, "replace"),
}[step]
real = getattr(target, name)

def dying(*words):
    if after:
        real(*words)
    die()

setattr(target, name, dying)
etl.withdraw.withdraw(Home(Path(sys.argv[1])), sys.stdin.readline())
"""
STEPS = ["remember", "copy", "leftovers", "bytes", "flush", "replace"]


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("template")
    loaded(folder)
    return folder


@pytest.fixture
def home(template: Path, tmp_path: Path) -> Home:
    shutil.copytree(template / "home", tmp_path / "home")
    return Home(tmp_path / "home")


@pytest.fixture(scope="module")
def hashes(template: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """Content of the store before and after an undisturbed withdrawal."""
    shutil.copytree(template / "home", tmp_path_factory.mktemp("calm") / "home")
    home = Home(sorted(tmp_path_factory.getbasetemp().glob("calm*"))[-1] / "home")
    before = hash_of(home)
    withdraw(home, CANARY)
    return before, hash_of(home)


def hash_of(home: Home) -> str:
    with open_store(home, write=False) as con:
        return content_hash(con)


@pytest.mark.parametrize("moment", ["before", "after"])
@pytest.mark.parametrize("step", STEPS)
def test_killed_at_any_step_leaves_the_old_store_or_the_new_one(
    home: Home, hashes: tuple[str, str], step: str, moment: str
) -> None:
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, str(home.root), step, moment],
        input=CANARY,
        text=True,
        capture_output=True,
        check=False,
    )
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    assert CANARY not in ended.stdout + ended.stderr
    swapped = (step, moment) == ("replace", "after")
    assert hash_of(home) == hashes[swapped]
    # What is left to do is known, unless nothing at all was done yet.
    assert list_file(home).exists() == ((step, moment) != ("remember", "before"))
    if swapped:
        assert withdraw_again(home) is None
    elif list_file(home).exists():
        assert withdraw_again(home) is not None
    else:
        withdraw(home, CANARY)
    assert hash_of(home) == hashes[1]
    assert files_holding(home.person_dir, [CANARY.encode()]) == ()


def test_everything_not_named_is_copied_with_its_constraints(home: Home) -> None:
    query = "select table_name, sql from duckdb_tables() where schema_name = 'core' order by all"
    with open_store(home, write=True) as con:
        tables, before = con.execute(query).fetchall(), content_hash(con)
        rebuild(home, con, {}, lambda fresh: None, lambda path: None)
    with open_store(home, write=False) as con:
        assert con.execute(query).fetchall() == tables
        assert content_hash(con) == before
    assert home.person_db.stat().st_mode & 0o777 == 0o600


def test_a_failing_check_leaves_the_store_and_no_copy(home: Home) -> None:
    before = home.person_db.read_bytes()
    with pytest.raises(EvenhandError, match="would still hold"), open_store(home, write=True) as con:
        rebuild(home, con, {}, lambda fresh: None, lambda path: refuse_bytes(path, [CANARY.encode()]))
    assert home.person_db.read_bytes() == before
    assert list((home.person_dir / "scratch").iterdir()) == []


def test_a_log_that_was_not_folded_in_stops_the_swap(home: Home) -> None:
    before = home.person_db.read_bytes()

    def leave_a_log(_: object) -> None:
        home.person_db.with_name("core.duckdb.wal").write_bytes(b"rows of the old store")

    keep = {"core.people": Keep("false")}
    with pytest.raises(EvenhandError, match="log of the store"), open_store(home, write=True) as con:
        rebuild(home, con, keep, leave_a_log, lambda path: None)
    assert home.person_db.read_bytes() == before


def test_a_full_disk_is_told_before_anything_is_written(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(home.person_dir)
    monkeypatch.setattr(module.shutil, "disk_usage", lambda _: usage._replace(free=1 << 20))
    with pytest.raises(EvenhandError, match=r"E_DISK: .* MB are needed, 1 MB are free"):
        withdraw(home, CANARY)


def test_the_search_sees_across_the_borders_of_its_chunks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every position of a needle in a file of several chunks, against Python's own search."""
    monkeypatch.setattr("etl.bytesearch._CHUNK", 8)
    path = tmp_path / "f"
    for place in range(30):
        path.write_bytes(b"." * place + b"needle" + b"." * (30 - place))
        assert holds(path, [b"other", b"needle"])
        assert holds(path, [b"n"])
        assert not holds(path, [b"needles", b"x"])
    assert not holds(path, [])


def test_links_and_folders_are_not_searched(tmp_path: Path) -> None:
    (tmp_path / "in" / "deep").mkdir(parents=True)
    (tmp_path / "out").write_bytes(b"needle")
    (tmp_path / "in" / "link").symlink_to(tmp_path / "out")
    (tmp_path / "in" / "deep" / "f").write_bytes(b"a needle")
    assert files_holding(tmp_path / "in", [b"needle"]) == (tmp_path / "in" / "deep" / "f",)
