"""Putting an edition in place: at whatever moment it breaks off, the old one is served."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

import etl.release
import etl.release_publish
from etl.errors import ReleaseRefused
from etl.home import Home
from etl.keys import read_key
from etl.release_chain import verify
from etl.release_door import pinned
from etl.release_publish import file_name
from etl.store import open_store
from tests.support.small_store import FIRST, publish, small_release


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return small_release(tmp_path, 1)


def editions(home: Home) -> list[int]:
    with pinned(home) as release:
        return [e.edition for e in release.editions()]


def ledger_editions(home: Home) -> list[int]:
    with open_store(home, write=False) as con:
        rows = con.execute("select distinct edition from release_private.ledger order by all").fetchall()
    return [edition for (edition,) in rows]


@pytest.mark.parametrize("step", ["write_edition", "same_rows", "put_in_place"])
def test_a_failure_at_any_step_leaves_the_old_edition(home, monkeypatch, step):
    def breaks(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(etl.release, step, breaks)
    with pytest.raises(ReleaseRefused, match=r"could not be written: .*No space left.*nothing was published"):
        publish(home, FIRST.plus(1))
    assert editions(home) == [1]
    assert not list(home.release_dir.glob(".tmp-*.duckdb"))
    monkeypatch.undo()
    publish(home, FIRST.plus(1))
    assert editions(home) == [1, 2]
    assert ledger_editions(home) == [1, 2]
    assert verify(home.current_release).intact


KILLED = """
import os, signal, sys
from pathlib import Path
import etl.release, etl.release_publish
from etl.home import Home
from tests.support.small_store import FIRST, publish

def dies(*args, **kwargs):
    os.kill(os.getpid(), signal.SIGKILL)

if sys.argv[2] == "before rename":
    etl.release.put_in_place = dies
elif sys.argv[2] == "between rename and link":
    Path.symlink_to = dies
elif sys.argv[2] == "before commit":
    etl.release.same_rows = dies
publish(Home(Path(sys.argv[1])), FIRST.plus(1))
"""


@pytest.mark.parametrize("moment", ["before commit", "before rename", "between rename and link"])
def test_a_killed_release_leaves_the_old_edition_and_the_next_run_ends_well(home, moment):
    root = Path(__file__).parents[2]
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, str(home.root), moment],
        cwd=root, env=os.environ | {"PYTHONPATH": str(root)}, check=False,
    )  # fmt: skip
    assert ended.returncode == -signal.SIGKILL
    assert editions(home) == [1]
    assert verify(home.current_release).intact
    publish(home, FIRST.plus(1))
    assert editions(home) == [1, 2]
    assert ledger_editions(home) == [1, 2]
    assert verify(home.current_release).intact
    assert not [p.name for p in home.release_dir.iterdir() if p.name.startswith(".tmp-")]


def test_published_files_are_read_only_and_the_link_is_relative(home):
    file = home.release_dir / file_name(1)
    assert file.stat().st_mode & 0o777 == 0o444
    assert home.current_release.is_symlink()
    assert home.current_release.readlink() == Path(file_name(1))


def test_an_edition_that_would_alter_an_earlier_one_is_refused(home, monkeypatch):
    write = etl.release_publish.write_edition

    def writes_and_alters(*args):
        path, content = write(*args)
        with duckdb.connect(str(path)) as con:
            con.execute("update health set percent = 100 where edition = 1")
        return path, content

    monkeypatch.setattr(etl.release, "write_edition", writes_and_alters)
    with pytest.raises(ReleaseRefused, match="Earlier editions would change"):
        publish(home, FIRST.plus(1))
    assert editions(home) == [1]


def test_a_link_that_leads_nowhere_is_refused_rather_than_started_over(home):
    (home.release_dir / file_name(1)).unlink()
    with pytest.raises(ReleaseRefused, match="newest edition is missing"):
        publish(home, FIRST.plus(1))


def test_no_byte_of_a_pseudonym_token_or_key_is_in_the_release_folder(home):
    publish(home, FIRST.plus(1), FIRST.plus(2))
    with open_store(home, write=False) as con:
        rows = con.execute("select person, token from release_private.token").fetchall()
    key = read_key(home.keys_dir / "release.key").secret
    secrets = [part.encode() for row in rows for part in row] + [key, key.hex().encode()]
    assert len(secrets) > 150
    for path in home.release_dir.iterdir():
        data = path.read_bytes()
        assert not [s for s in secrets if s in data], path.name
        if path.suffix == ".duckdb":
            # Compressed columns hide a string from a byte search, so every value is read as well.
            with pinned(path) as release:
                text = "\n".join(release.table(name).to_csv() for name in release.tables())
            assert not [s for s in secrets if s in text.encode()], path.name
