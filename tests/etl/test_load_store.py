"""Loading twice, in any order, dry, beside another process, on a full disk, and killed half way."""

import random
import shutil
import signal
import stat
import subprocess
import sys
import time
from itertools import permutations

import pytest

from etl import load as load_module
from etl.errors import EvenhandError, StoreBusy
from etl.home import Home
from etl.load import load_files
from etl.store import content_hash, open_store
from tests.support.load_files import (
    NOW,
    bouts,
    everything,
    home_before,
    load,
    load_table,
    registers,
    write_all,
    write_csv,
    write_profile,
)  # fmt: skip

HOLD = """
import sys, pathlib
from etl.home import Home
from etl.store import open_store
with open_store(Home(pathlib.Path(sys.argv[1])), write=sys.argv[2] == "write"):
    print("open", flush=True)
    sys.stdin.readline()
"""
LOAD = """
import sys, pathlib, datetime
from etl.home import Home
from etl.load import load_files
root = pathlib.Path(sys.argv[1])
files = sorted((root / "in").glob("*.csv"))
load_files(Home(root / "home"), files, root / "profile.toml",
           progress=lambda name, done, of: print(name, flush=True),
           now=datetime.datetime.fromisoformat(sys.argv[2]))
"""


def _hash(folder):
    with open_store(Home(folder / "home"), write=False) as con:
        return content_hash(con)


def _counts_add_up(folder):
    with open_store(Home(folder / "home"), write=False) as con:
        files = con.execute(
            "select file_id, contract, rows_in, rows_accepted, rows_set_aside from core.file_ledger"
        ).fetchall()
        for file_id, contract, rows_in, accepted, aside in files:
            stored = con.execute(
                f"select count(*) from core.{contract} where file_id = ?", [file_id]
            ).fetchone()
            listed = con.execute(
                "select count(*) from core.set_aside where file_id = ? and counts_as_row", [file_id]
            ).fetchone()
            assert (stored, listed) == ((accepted,), (aside,))
            assert rows_in == accepted + aside
        known = [file_id for file_id, *_ in files]
        for table in ("bouts", "people", "set_aside"):
            orphans = con.execute(
                f"select count(*) from core.{table} where file_id not in (select unnest(?))", [known]
            )
            assert orphans.fetchone() == (0,)
    return {contract for _, contract, *_ in files}


def test_the_same_files_again_change_nothing(tmp_path):
    files = write_all(tmp_path / "in", everything())
    assert {one.outcome for one in load(tmp_path, files).files} == {"loaded"}
    first = _hash(tmp_path)
    again = load(tmp_path, files)
    assert {(one.outcome, one.code) for one in again.files} == {("already loaded", "D_FILE")}
    assert again.exit_code == 0
    assert _hash(tmp_path) == first


def test_the_hash_tells_contents_apart(tmp_path):
    for folder, strokes in ((tmp_path / "a", "50"), (tmp_path / "b", "51")):
        home_before("bouts", tmp_path / "t", folder)
        load_table(folder, "bouts", [bouts(1)[0] | {"strokes": strokes}])
    assert _hash(tmp_path / "a") != _hash(tmp_path / "b")


def test_any_file_order_gives_the_same_content_with_overlaps_and_contradictions(tmp_path):
    rows = bouts(120)
    parts = {
        "bouts_a": rows[:60],
        "bouts_b": [*rows[50:], rows[0] | {"strokes": "9"}],
        "bouts_c": [rows[0], *rows[40:70]],
    }
    hashes = set()
    for i, order in enumerate(permutations(parts)):
        folder = tmp_path / str(i)
        home_before("bouts", tmp_path / "t", folder)
        (folder / "in").mkdir()
        for name in order:
            # One call a file: within a call files are sorted by name.
            assert load(folder, [write_csv(folder / "in" / f"{name}.csv", parts[name])]).exit_code == 0
        _counts_add_up(folder)
        with open_store(Home(folder / "home"), write=False) as con:
            assert con.execute("select count(*) from core.bouts").fetchone() == (119,)
        hashes.add(_hash(folder))
    assert len(hashes) == 1


def test_row_order_inside_a_file_does_not_matter(tmp_path):
    rows = bouts(200)
    for folder in (tmp_path / "a", tmp_path / "b"):
        home_before("bouts", tmp_path / "t", folder)
        load_table(folder, "bouts", rows)
        random.Random(7).shuffle(rows)
    assert _hash(tmp_path / "a") == _hash(tmp_path / "b")


def test_a_file_that_contradicts_much_of_the_store_is_held_back(tmp_path):
    folder = home_before("bouts", tmp_path / "t", tmp_path)
    load_table(folder, "bouts", bouts(80))
    before = _hash(folder)
    record = load_table(folder, "bouts", [row | {"strokes": "1"} for row in bouts(80)]).refused[0]
    assert record.code == "E_CONFLICT"
    assert _hash(folder) == before


def test_dry_run_tells_the_same_and_keeps_nothing(tmp_path):
    files = write_all(tmp_path / "in", everything())
    dry = load(tmp_path, files, dry_run=True)
    assert {one.outcome for one in dry.files} == {"would load"}
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select count(*) from core.file_ledger").fetchone() == (0,)
    wet = load(tmp_path, files)
    assert [(one.file, one.rows_accepted) for one in dry.files] == [
        (one.file, one.rows_accepted) for one in wet.files
    ]
    assert list((tmp_path / "home" / "person" / "scratch").iterdir()) == []


def test_the_person_folder_is_private(tmp_path):
    load(tmp_path, write_all(tmp_path / "in", registers()))
    person = tmp_path / "home" / "person"
    assert stat.S_IMODE(person.stat().st_mode) == 0o700
    assert stat.S_IMODE((person / "core.duckdb").stat().st_mode) == 0o600


@pytest.mark.parametrize(("held", "named"), [("write", "loader PID"), ("read", "reader")])
def test_a_store_in_use_is_named_with_its_user(tmp_path, held, named):
    files = write_all(tmp_path / "in", registers())
    load(tmp_path, files)
    command = [sys.executable, "-c", HOLD, str(tmp_path / "home"), held]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        with pytest.raises(StoreBusy, match=named) as caught:
            load(tmp_path, files)
        assert (str(other.pid) in str(caught.value)) == (held == "write")
        assert "\n" not in str(caught.value)
        other.communicate("\n")
    assert load(tmp_path, files).exit_code == 0


def test_too_little_room_is_told_before_anything_is_read(tmp_path, monkeypatch):
    files = write_all(tmp_path / "in", registers())
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(load_module.shutil, "disk_usage", lambda _: usage._replace(free=100))
    summary = load(tmp_path, files)
    assert {one.code for one in summary.files} == {"E_DISK"}
    assert "Make room" in summary.files[0].message


def test_a_disk_that_fills_up_leaves_the_files_loaded_before(tmp_path, monkeypatch):
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(small)], capture_output=True
    )
    if mounted.returncode:
        pytest.skip("mounting a small file system needs root")
    try:
        # The preflight would refuse; here it is the write itself that must fail cleanly.
        monkeypatch.setattr(load_module, "check_disk", lambda home, path: None)
        outside = tmp_path / "in"
        files = write_all(outside, {**registers(), "bouts": bouts()})
        profile = write_profile(tmp_path)
        load_files(Home(small), files, profile, now=NOW)
        many = [row | {"start": f"2026-0{m}-{d:02d} {h:02d}:{s:02d}",
                       "end": f"2026-0{m}-{d:02d} {h:02d}:{s + 1:02d}"}
                for m in (6, 7, 8) for d in range(1, 29) for h in range(8, 18) for s in range(0, 50, 2)
                for row in bouts(3)]  # fmt: skip
        summary = load_files(Home(small), [write_csv(outside / "bouts_more.csv", many)], profile, now=NOW)
        assert [one.code for one in summary.files] == ["E_DISK"]
        with open_store(Home(small), write=False) as con:
            assert con.execute("select count(*) from core.bouts").fetchone() == (400,)
    finally:
        subprocess.run(["umount", str(small)], check=True)


def test_a_store_that_cannot_be_read_is_told_in_one_line(tmp_path):
    person = tmp_path / "home" / "person"
    person.mkdir(parents=True)
    (person / "core.duckdb").write_bytes(b"not a database" * 1000)
    with pytest.raises(EvenhandError, match="backup") as caught:
        load(tmp_path, write_all(tmp_path / "in", registers()))
    assert "\n" not in str(caught.value)


def test_reading_before_any_load_says_what_to_do(tmp_path):
    with pytest.raises(EvenhandError, match="evenhand load"), open_store(Home(tmp_path), write=False):
        pass


@pytest.mark.slow
def test_a_killed_load_leaves_whole_files_only(tmp_path):
    tables = {**registers(), **{f"bouts_{i}": bouts(400)[40 * i : 40 * i + 40] * 40 for i in range(8)}}
    root = tmp_path / "run"
    write_all(root / "in", tables)
    write_profile(root)
    rng = random.Random(3)
    command = [sys.executable, "-c", LOAD, str(root), NOW.isoformat()]
    seen = []
    for _ in range(6):
        stop_at = rng.randrange(2, 11)
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as loader:
            assert loader.stdout is not None
            for _ in range(stop_at):
                loader.stdout.readline()
            time.sleep(rng.random() * 0.2)
            loader.send_signal(signal.SIGKILL)
            loader.wait()
        seen.append(len(_counts_add_up(root)))
    summary = load_files(
        Home(root / "home"), sorted((root / "in").glob("*.csv")), root / "profile.toml", now=NOW
    )
    assert summary.exit_code == 0
    _counts_add_up(root)
    calm = tmp_path / "calm"
    load(calm, write_all(calm / "in", tables))
    assert _hash(root) == _hash(calm)
    assert max(seen) > 0
