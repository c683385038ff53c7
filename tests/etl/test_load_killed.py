"""A loader killed exactly before and exactly after its commit: nothing of the file, or all of it."""

import signal
import subprocess
import sys

import pytest

from etl.home import Home
from etl.key_mark import key_mark, mark_text
from etl.store import content_hash, open_store
from tests.support.keyed_institute import KEY
from tests.support.load_files import (
    NOW,
    bouts,
    home_before,
    load,
    plain_profile,
    write_csv,
    write_profile,
)  # fmt: skip

# The proxy ends the process as a power cut would: no handler, no clean-up, no close of the database.
KILLED = """
import datetime, os, pathlib, signal, sys
import etl.load
from etl.home import Home

class Proxy:
    def __init__(self, con):
        self.con = con
    def execute(self, statement, *more):
        if statement == sys.argv[3] and self.con.execute("select count(*) from core.bouts").fetchone()[0]:
            os.kill(os.getpid(), signal.SIGKILL)
        return self.con.execute(statement, *more)

real = etl.load.commit_file
etl.load.commit_file = lambda con, *more: real(Proxy(con), *more)
root = pathlib.Path(sys.argv[1])
etl.load.load_files(Home(root / "home"), [root / "bouts.csv"], root / "profile.toml",
                    now=datetime.datetime.fromisoformat(sys.argv[2]))
"""


@pytest.mark.parametrize(("point", "kept"), [("commit", 0), ("checkpoint store", 400)])
def test_a_kill_around_the_commit_keeps_all_or_nothing(tmp_path, point, kept):
    home_before("bouts", tmp_path / "t", tmp_path)
    path = write_csv(tmp_path / "bouts.csv", bouts())
    key_mark(path).write_text(mark_text(KEY), encoding="utf-8")
    write_profile(tmp_path, plain_profile())
    command = [sys.executable, "-c", KILLED, str(tmp_path), NOW.isoformat(), point]
    assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
    wal = tmp_path / "home" / "person" / "core.duckdb.wal"
    assert wal.exists() == bool(kept)
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select count(*) from core.bouts").fetchone() == (kept,)
        ledger = con.execute("select count(*) from core.file_ledger where contract = 'bouts'").fetchone()
        assert ledger == (1 if kept else 0,)
        # Which key made the pseudonyms is known from the moment the rows are there, and not before.
        assert con.execute("select count(*) from core.pseudonym_key").fetchone() == ledger
    again = load(tmp_path, [tmp_path / "bouts.csv"]).files[0]
    assert again.outcome == ("already loaded" if kept else "loaded")
    calm = home_before("bouts", tmp_path / "t", tmp_path / "calm")
    load(calm, [tmp_path / "bouts.csv"])
    hashes = set()
    for folder in (tmp_path, calm):
        with open_store(Home(folder / "home"), write=False) as con:
            hashes.add(content_hash(con))
    assert len(hashes) == 1
