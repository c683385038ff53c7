"""The commands of withdrawal: what they say, how they end, and that no word of it names the person."""

import io
import logging
import shutil
import traceback
from pathlib import Path

import duckdb
import pytest

from dashboards.cli import main
from etl.bytesearch import files_holding
from etl.facts import build_facts
from etl.home import Home
from etl.settings import Settings
from etl.store import open_store
from etl.withdraw import withdraw
from tests.support.keyed_institute import CANARY, loaded


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("template")
    with open_store(loaded(folder), write=True) as con:
        build_facts(con, Settings())
    return folder


@pytest.fixture
def home(template: Path, tmp_path: Path) -> Home:
    shutil.copytree(template / "home", tmp_path / "home")
    return Home(tmp_path / "home")


def run(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["evenhand", *map(str, words)])
    try:
        main()
    except SystemExit as ended:
        return int(ended.code or 0)
    raise AssertionError("the command must end with an exit code")


@pytest.mark.parametrize("piped", [False, True])
def test_the_command_withdraws_and_never_names_the_person(
    home: Home, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], piped: bool
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{CANARY}\n"))
    assert run(monkeypatch, "withdraw", "-" if piped else CANARY, "--home", home.root) == 0
    said = capfd.readouterr()
    assert "1 person taken out of the person store: 10 from bouts" in said.out
    assert "Delete the delivered files or have them sent again: bouts.csv, people.csv" in said.out
    assert CANARY not in said.out + said.err


def test_a_copy_that_still_holds_the_person_ends_the_command_with_one(
    home: Home, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(home.person_db, home.person_dir / "old.bak")
    assert run(monkeypatch, "withdraw", CANARY, "--home", home.root) == 1
    assert "old.bak: delete this file" in capfd.readouterr().out


def test_again_takes_nobody_out_or_whoever_came_back(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(home.person_db, tmp_path / "backup")
    assert run(monkeypatch, "withdraw", CANARY, "--home", home.root) == 0
    assert run(monkeypatch, "withdraw", "--again", "--home", home.root) == 0
    assert "No withdrawn person is in the person store." in capfd.readouterr().out
    shutil.copy(tmp_path / "backup", home.person_db)
    assert run(monkeypatch, "withdraw", "--again", "--home", home.root) == 0
    said = capfd.readouterr()
    assert "1 person taken out" in said.out
    assert CANARY not in said.out + said.err
    assert files_holding(home.person_dir, [CANARY.encode()]) == ()


def test_no_release_is_made_while_a_withdrawn_person_is_back(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(home.person_db, tmp_path / "backup")
    withdraw(home, CANARY)
    shutil.copy(tmp_path / "backup", home.person_db)
    assert run(monkeypatch, "release", "--period", "2026-05", "--home", home.root) == 1
    said = capfd.readouterr().err
    assert "1 withdrawn persons are in the store again" in said
    assert "Run 'evenhand withdraw --again' first." in said
    assert CANARY not in said
    assert not list(home.release_dir.glob("*.duckdb"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["withdraw", "k1:UNKNOWNUNKNOWNUNKNOWNUNKNOW"], "Nobody in the person store has this pseudonym"),
        (["withdraw", CANARY, "--again"], "Name one pseudonym, or --again alone"),
        (["withdraw"], "Name one pseudonym, or --again alone"),
    ],
)
def test_a_mistake_ends_with_one_line(
    home: Home,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    words: list[str],
    says: str,
) -> None:
    assert run(monkeypatch, *words, "--home", home.root) == 1
    said = capfd.readouterr().err
    assert says in said
    assert "Traceback" not in said
    assert "UNKNOWN" not in said
    assert CANARY not in said


def test_no_log_output_or_traceback_shows_the_person(
    home: Home,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    def fails(*_: object) -> None:
        raise duckdb.IOException("the disk has gone")

    monkeypatch.setattr("etl.withdraw.build_facts", fails)
    with caplog.at_level(logging.DEBUG), pytest.raises(duckdb.IOException) as caught:
        withdraw(home, CANARY)
    trace = "".join(traceback.format_exception(caught.value))
    told = capfd.readouterr()
    assert "the disk has gone" in trace
    assert CANARY not in told.out + told.err + caplog.text + trace
