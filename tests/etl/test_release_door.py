"""The read door: hardened, of one edition at a time, and open to the next."""

import os
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import duckdb
import pytest

from etl.errors import EvenhandError
from etl.home import Home
from etl.release_door import PinnedRelease, open_release, pinned
from etl.release_publish import file_name
from etl.sqlfiles import sql
from tests.support.small_store import FIRST, publish, small_release


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return small_release(tmp_path_factory.mktemp("door"), 1)


@pytest.fixture
def own(home: Home, tmp_path: Path) -> Home:
    shutil.copytree(home.root, tmp_path / "own", symlinks=True)
    return Home(tmp_path / "own")


@pytest.mark.parametrize(
    "statement",
    [
        "select * from read_csv('/etc/passwd')",
        "select * from read_text('/etc/hostname')",
        "select * from '/etc/hostname'",
        "attach '{folder}/other.duckdb' as other",
        "copy unit to '{folder}/out.csv'",
        "export database '{folder}/out'",
        "insert into unit select * from unit",
        "update health set percent = 0",
        "install httpfs",
        "load httpfs",
        "set enable_external_access = true",
        "set memory_limit = '10GB'",
        "select * from frame",
    ],
)
def test_the_connection_behind_the_door_can_do_nothing_but_read(own, statement):
    frame = {"a": [1]}
    assert frame
    release = PinnedRelease(own.current_release.resolve())
    with pytest.raises(duckdb.Error):
        release._con.execute(statement.format(folder=own.root))
    release.close()


def test_names_are_checked_and_values_are_data(own):
    with pinned(own) as release:
        with pytest.raises(EvenhandError, match=r"No table 'unit; drop table unit'.*There are: audit_report"):
            release.table("unit; drop table unit")
        with pytest.raises(EvenhandError, match=r"No column 'level\" or 1=1 --'"):
            release.table("unit", **{'level" or 1=1 --': "team"})
        assert release.table("unit", unit="x' or '1'='1").empty
        assert len(release.table("unit", level="team")) == 6
        assert len(release.table("unit", parent=None)) == 1
        assert release.table("unit", level="team", unit="A-ONE")["name"].tolist() == ["Team A-ONE"]


def test_what_is_handed_out_is_a_copy_in_a_fixed_order(own):
    door = open_release(own)
    first = door.table("unit")
    first.loc[:, "name"] = "changed"
    again = door.table("unit")
    assert "changed" not in set(again["name"])
    assert again.equals(again.sort_values([*again.columns]).reset_index(drop=True))
    assert door.tables() == door.pin().tables()
    assert door.editions()[-1] == door.edition()
    door.close()
    door.close()


def test_a_new_edition_is_seen_and_the_old_one_stays_whole_for_whoever_holds_it(own):
    door = open_release(own)
    held = door.pin()
    publish(own, FIRST.plus(1), FIRST.plus(5))
    assert not (own.release_dir / file_name(1)).exists()  # three files are kept
    assert sorted(p.name for p in own.release_dir.glob("*.duckdb")) == [
        "current.duckdb", *(file_name(k) for k in (4, 5, 6)),
    ]  # fmt: skip
    assert door.edition().edition == 6
    assert held.edition().edition == 1
    assert set(held.table("unit")["edition"]) == {1}
    assert set(door.table("unit")["edition"]) == {1, 2, 3, 4, 5, 6}
    door.close()


def test_a_spoilt_edition_is_not_served_and_the_notice_says_so(own):
    door = open_release(own)
    spoilt = own.release_dir / file_name(2)
    spoilt.write_bytes(b"\0" * 50_000)
    link = own.release_dir / "next"
    link.symlink_to(spoilt.name)
    link.replace(own.current_release)
    assert door.edition().edition == 1
    assert door.edition().edition == 1  # asked again, it is not tried again
    assert door.notice == (
        "A newer edition (edition-0002.duckdb) cannot be opened; shown is edition 1 of 2025-01."
    )
    link.symlink_to(file_name(1))
    link.replace(own.current_release)
    assert door.edition().edition == 1
    assert door.notice == ""
    door.close()


def test_without_any_edition_to_fall_back_on_the_door_stays_shut(tmp_path):
    with pytest.raises(EvenhandError, match="Nothing is published yet"):
        open_release(tmp_path / "none.duckdb")
    bad = tmp_path / "bad.duckdb"
    bad.write_bytes(b"no database at all")
    with pytest.raises(EvenhandError, match="cannot be opened"):
        open_release(bad)
    duckdb.connect(str(tmp_path / "empty.duckdb")).close()
    with pytest.raises(EvenhandError, match="cannot be opened"):
        open_release(tmp_path / "empty.duckdb")
    with duckdb.connect(str(tmp_path / "none.duckdb")) as con:
        con.execute(sql("store/020_release"))
    with pytest.raises(EvenhandError, match="holds no edition"):
        open_release(tmp_path / "none.duckdb")


def test_readers_who_poll_while_editions_appear_never_see_a_mixed_one(own):
    door = open_release(own)
    seen: list[tuple[int, set[int]]] = []
    faults: list[Exception] = []
    stop = threading.Event()

    def read() -> None:
        while not stop.is_set():
            try:
                release = door.pin()
                edition = release.edition().edition
                tables = [release.table(name) for name in ("unit", "coverage", "method", "edition")]
                seen.append((edition, {int(rows["edition"].max()) for rows in tables}))
            except Exception as error:  # noqa: BLE001
                faults.append(error)
                return

    readers = [threading.Thread(target=read) for _ in range(4)]
    for reader in readers:
        reader.start()
    publish(own, FIRST.plus(1), FIRST.plus(4))
    while not any(edition == 5 for edition, _ in seen) and not faults:
        pass
    stop.set()
    for reader in readers:
        reader.join()
    door.close()
    assert not faults
    assert {edition for edition, _ in seen} >= {1, 5}
    assert all(found == {edition} for edition, found in seen)


def test_other_processes_read_while_an_edition_appears(own):
    program = (
        "import sys; from etl.release_door import open_release\n"
        "door = open_release(sys.argv[1]); seen = set()\n"
        "print('ready', flush=True)\n"
        "while 3 not in seen:\n"
        "    release = door.pin(); number = release.edition().edition\n"
        "    assert int(release.table('unit')['edition'].max()) == number\n"
        "    seen.add(number)\n"
        "print(sorted(seen))\n"
    )
    root = Path(__file__).parents[2]
    command = [sys.executable, "-c", program, str(own.current_release)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, cwd=root, env=os.environ | {"PYTHONPATH": str(root)}
    ) as reader:
        assert reader.stdout is not None
        assert reader.stdout.readline() == "ready\n"
        publish(own, FIRST.plus(1), FIRST.plus(2))
        assert reader.stdout.readline().startswith("[1")
    assert reader.returncode == 0


def test_the_door_itself_loads_nothing_heavy():
    heavy = "{'pandas', 'numpy', 'pyarrow', 'scipy'}"
    program = f"import sys, etl.release_door; print(sorted({heavy} & set(sys.modules)))"
    found = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
