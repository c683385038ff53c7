"""`evenhand facts --engine spark` from the shell to the facts, equal to those of the store's own engine."""

import datetime as dt
import os
import shutil
import subprocess
import sys

import duckdb
import pytest

from etl.home import Home
from etl.store import open_store
from tests.support.event_files import write_events
from tests.support.person_rows import Instrument, TeamSpell, facts, put, put_teams

pytest.importorskip("pyspark", reason="pyspark is not installed: pip install 'evenhand[spark]'")
pytestmark = [
    pytest.mark.spark,
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("java") is None, reason="Java is not installed; Spark needs Java 17"),
]
ZONE = "Europe/Zurich"
TABLES = ("bout_piece", "spell", "person_day", "person_week")


def home(folder) -> Home:
    place = Home(folder)
    with open_store(place, write=True) as con:
        put(con, [TeamSpell(f"person-{number:05d}", "T1", dt.date(2026, 1, 1)) for number in range(8)])
        put(con, [Instrument(f"P{number}", 20_000 + number, 9_000, 15_000) for number in range(30)])
        put_teams(con, {"T1": "C1"})
    return place


def command(place: Home, *words: str, java: bool = True) -> subprocess.CompletedProcess:
    """Run the command as a shell would, without the test's own Spark, and without Java if so asked."""
    environment = os.environ | {"EVENHAND_HOME": str(place.root)}
    if not java:
        environment = {k: v for k, v in environment.items() if k != "JAVA_HOME"} | {"PATH": "/nowhere"}
    line = [sys.executable, "-c", "from dashboards.cli import main; main()", "facts", *words]
    return subprocess.run(line, env=environment, capture_output=True, text=True, timeout=170, check=False)


def test_both_engines_give_the_same_facts_from_the_command_line(tmp_path):
    con = duckdb.connect()
    write_events(con, tmp_path / "logs", people=8, days=3, strokes=600)
    con.close()
    found = {}
    for engine in ("duckdb", "spark"):
        place = home(tmp_path / engine)
        done = command(
            place, "--events", str(tmp_path / "logs"), "--zone", "Europe/Zurich", "--engine", engine
        )
        assert done.returncode == 0, done.stderr
        assert "14,400 events" in done.stdout
        with open_store(place, write=False) as store:
            found[engine] = {table: facts(store, table) for table in TABLES}
        # Spark's own files hold persons; none may stay.
        assert not list((place.person_dir / "scratch").rglob("*.parquet"))
    assert len(found["duckdb"]["person_day"]) >= 24
    assert found["spark"] == found["duckdb"]


def test_without_java_one_line_says_what_to_do(tmp_path):
    (tmp_path / "logs").mkdir()
    place = home(tmp_path / "home")
    done = command(place, "--events", str(tmp_path / "logs"), "--zone", ZONE, "--engine", "spark", java=False)
    assert done.returncode != 0
    assert "Install Java 17 and set JAVA_HOME" in done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr
