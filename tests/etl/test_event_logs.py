"""Stroke logs read where they lie give the facts that loading them gives, each exactly once."""

import datetime as dt
from pathlib import Path

import duckdb
import pytest
from typer.testing import CliRunner

from dashboards.cli import app
from etl.audits import run_audits
from etl.errors import EvenhandError, FileRefused
from etl.event_facts import read_in_place
from etl.facts import build_facts
from etl.facts_update import refresh_facts
from etl.home import Home
from etl.settings import ExposureSettings, Settings
from etl.sqlfiles import quote
from etl.store import open_store
from etl.withdraw import withdraw
from tests.support.event_files import write_events
from tests.support.person_rows import Instrument, TeamSpell, core_store, facts, put, put_teams

ZONE = "Europe/Zurich"
TABLES = ("bout_piece", "overlap", "spell", "person_day", "person_week")
PEOPLE = [TeamSpell(f"person-{number:05d}", "T1", dt.date(2026, 1, 1)) for number in range(12)]
CATALOGUE = [Instrument(f"P{number}", 20_000 + number, 9_000, 15_000) for number in range(30)]


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> list[Path]:
    con = duckdb.connect()
    made = write_events(con, tmp_path_factory.mktemp("logs"), people=12, days=4, strokes=1500)
    con.close()
    return made


@pytest.fixture
def home(tmp_path) -> Home:
    place = Home(tmp_path / "home")
    with open_store(place, write=True) as con:
        put(con, [*PEOPLE, *CATALOGUE])
        put_teams(con, {"T1": "C1"})
    return place


@pytest.fixture
def folder(tmp_path, files) -> Path:
    """A folder of one's own to which the logs are linked."""
    own = tmp_path / "logs"
    own.mkdir()
    for file in files:
        (own / file.name).hardlink_to(file)
    return own


def read(home, place, settings=None, **more):
    rules = settings or Settings()
    with open_store(home, write=True) as con:
        summary = read_in_place(home, con, rules, str(place), more.pop("zone", ZONE), **more)
        refresh_facts(con, rules)
        return summary, {table: facts(con, table) for table in TABLES}


def loaded(files, settings=None):
    """The facts of the same events loaded row by row."""
    con = core_store()
    put(con, [*PEOPLE, *CATALOGUE])
    listed = ", ".join(quote(str(file)) for file in files)
    con.execute(
        f"insert into core.strokes select 1, 1, person, at_us, '{ZONE}', instrument, action"
        f" from read_parquet([{listed}])"
    )
    build_facts(con, settings or Settings())
    found = {table: facts(con, table) for table in TABLES}
    con.close()
    return found


def test_read_in_place_equals_loaded(home, folder, files):
    summary, found = read(home, folder)
    assert (summary.read, summary.events) == (4, 12 * 4 * 1500)
    assert found == loaded(files)
    assert len(found["person_day"]) >= 48
    with open_store(home, write=False) as con:
        assert not [finding for finding in run_audits(con) if finding.stops]
        assert con.execute("select count(*) from core.strokes").fetchall() == [(0,)]


def test_only_new_files_are_read_and_files_gone_leave(home, folder, files):
    late = (folder / files[2].name).rename(folder.parent / files[2].name)
    assert read(home, folder)[0].read == 3
    late.rename(folder / files[2].name)
    summary, found = read(home, folder)
    assert (summary.read, summary.known, summary.gone) == (1, 3, 0)
    assert found == loaded(files)
    (folder / files[0].name).unlink()
    summary, found = read(home, folder)
    assert (summary.read, summary.known, summary.gone) == (0, 3, 1)
    assert found == loaded(files[1:])


def test_the_same_log_under_another_name_counts_once(home, folder, files):
    (folder / "again.parquet").hardlink_to(files[0])
    summary, found = read(home, folder)
    assert (summary.read, found) == (4, loaded(files))
    other = folder.parent / "other"
    other.mkdir()
    (other / "copy.parquet").hardlink_to(files[1])
    summary, found = read(home, other)
    assert (summary.read, found) == (0, loaded(files))


def test_a_narrower_rest_needs_the_logs_again(home, folder, files):
    read(home, folder)
    narrow = Settings(exposure=ExposureSettings(rest_seconds=60))
    with open_store(home, write=True) as con, pytest.raises(EvenhandError, match="Read them again"):
        refresh_facts(con, narrow)
    summary, found = read(home, folder, narrow)
    assert (summary.read, found) == (4, loaded(files, narrow))


def test_a_withdrawn_person_leaves_and_does_not_come_back(home, folder, files):
    gone = "person-00003"
    read(home, folder)
    withdraw(home, gone)
    with open_store(home, write=True) as con:
        assert con.execute("select count(*) from core.event_bucket where person = ?", [gone]).fetchall() == [
            (0,)
        ]
        assert gone not in {row[0] for row in facts(con, "person_day", "person")}
    (folder / files[0].name).unlink()
    (folder / "new.parquet").hardlink_to(files[0])
    summary, found = read(home, folder)
    assert (summary.read, summary.left_out) == (1, 1500)
    assert {row[0] for row in found["person_day"]} == {spell.person for spell in PEOPLE} - {gone}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("* replace (nullif(person, 'person-00001') as person)", "empty field"),
        ("* replace ('SHAKE' as action)", "unknown action"),
        ("* replace (at_us * 2 as at_us)", "not yet come"),
        ("* replace (at_us // 1000 as at_us)", "before 2000"),
        ("* exclude (instrument)", "instrument VARCHAR"),
        ("* replace (make_timestamp(at_us) as at_us)", "at_us BIGINT"),
        ("* replace ('p 1' as instrument)", "other signs"),
        ("* replace ('person-09999' as person)", "people register"),
    ],
)
def test_a_log_with_a_wrong_row_is_refused_whole(home, tmp_path, files, change, words):
    wrong = tmp_path / "wrong.parquet"
    duckdb.connect().execute(f"copy (select {change} from {quote(str(files[0]))}) to {quote(str(wrong))}")
    with open_store(home, write=True) as con:
        with pytest.raises(FileRefused, match=words) as caught:
            read_in_place(home, con, Settings(), str(wrong), ZONE)
        assert "person-09999" not in str(caught.value)
        assert con.execute("select count(*) from core.event_bucket").fetchall() == [(0,)]


def test_the_command_reads_logs_and_builds_facts(home, folder):
    line = ["facts", "--events", str(folder), "--zone", ZONE, "--home", str(home.root)]
    first = CliRunner().invoke(app, line)
    assert first.exit_code == 0, first.output
    assert "4 stroke logs read in place with 72,000 events" in first.output
    assert "4 known already" in CliRunner().invoke(app, line).output
    alone = CliRunner().invoke(app, ["facts", "--events", str(folder), "--home", str(home.root)])
    assert "both --events and --zone" in str(alone.exception)
    nowhere = CliRunner().invoke(app, [*line[:4], "Mars/Olympus", *line[5:]])
    assert "no time zone" in str(nowhere.exception)
