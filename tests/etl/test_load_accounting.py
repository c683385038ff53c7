"""Rows of a stroke log: many a second, all in few quarter-hours, none multiplied and none lost."""

import datetime as dt
from pathlib import Path

from etl.home import Home
from etl.load import load_files
from etl.store import open_store

PROFILE = """
profile = "ridge"
time_zone = "Europe/Vienna"
[sources.teams]
contract = "teams"
files = ["teams.csv"]
[sources.teams.fields]
team = "team"
team_name = "team_name"
cluster = "cluster"
cluster_name = "cluster_name"
site = "site"
[sources.people]
contract = "people"
files = ["people.csv"]
[sources.people.fields]
person = "person"
team = "team"
valid_from = "valid_from"
[sources.instruments]
contract = "instruments"
files = ["instruments.csv"]
[sources.instruments.fields]
instrument = "instrument"
kind = "kind"
channels = "channels"
[sources.strokes]
contract = "strokes"
files = ["strokes.csv"]
[sources.strokes.fields]
person = "person"
at = "at"
instrument = "instrument"
action = "action"
"""
FIRST = dt.datetime(2026, 1, 12, 8, 0, 0)
SECONDS = 2_000


def write(folder: Path) -> list[Path]:
    times = (FIRST + dt.timedelta(seconds=step) for step in range(SECONDS))
    texts = {
        "teams": "team,team_name,cluster,cluster_name,site\nT1,Otter,C1,River,S1\n",
        "people": "person,team,valid_from\nk1:a,T1,2025-01-01\n",
        "instruments": "instrument,kind,channels\nI1,MANUAL,1\n",
        "strokes": "person,at,instrument,action\n"
        + "".join(f"k1:a,{time:%Y-%m-%dT%H:%M:%S},I1,DISPENSE\n" for time in times),
    }
    paths = []
    for name, text in texts.items():
        paths.append(folder / f"{name}.csv")
        paths[-1].write_text(text, encoding="utf-8")
    return paths


def test_each_event_is_loaded_once(tmp_path: Path) -> None:
    profile = tmp_path / "ridge.toml"
    profile.write_text(PROFILE, encoding="utf-8")
    home = Home(tmp_path / "home")
    summary = load_files(home, write(tmp_path), profile)
    assert not summary.refused
    with open_store(home, write=False) as con:
        ledger = con.execute(
            "select rows_in, rows_accepted, rows_set_aside from core.file_ledger where contract = 'strokes'"
        ).fetchone()
        stored = con.execute("select count(*), count(distinct at_us) from core.strokes").fetchone()
    assert ledger == (SECONDS, SECONDS, 0)
    assert stored == (SECONDS, SECONDS)
