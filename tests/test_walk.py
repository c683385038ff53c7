"""One bout and one survey answer followed from the raw file to the figure, and what changing them changes.

The institute is small enough to reckon by hand: 24 people in one cluster of two teams of 12, one hour of
pipetting each in one week of September 2026 (1 h a person and week), 10 of 24 with wrist or hand discomfort.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from dashboards.readings import exposure as exposure_reading
from dashboards.readings import health as health_reading
from dashboards.state import Chosen
from etl.home import Home
from etl.load import load_files
from etl.release import make_release
from etl.release_door import open_release
from etl.store import open_store

PEOPLE = [f"k1:{number:02d}" for number in range(24)]
PERIOD = "2026-09"
NOW = datetime(2026, 11, 2, 9, tzinfo=UTC)
PROFILE = """
profile = "walk"
time_zone = "Europe/Vienna"
[codes]
task = ["DILUTION"]
[sources.teams]
contract = "teams"
files = ["teams.csv"]
[sources.teams.fields]
team = "team"
team_name = "name"
cluster = "cluster"
cluster_name = "cluster_name"
site = "site"
[sources.people]
contract = "people"
files = ["people.csv"]
fields = { person = "person", team = "team", valid_from = "since" }
[sources.instruments]
contract = "instruments"
files = ["instruments.csv"]
[sources.instruments.fields]
instrument = "instrument"
kind = "kind"
channels = "channels"
plunger_force = { column = "plunger", unit = "kgf" }
blow_out_force = { column = "blow_out", unit = "kgf" }
ejection_force = { column = "eject", unit = "kgf" }
press_duration = { column = "press", unit = "ms" }
eject_duration = { column = "eject_time", unit = "ms" }
[sources.bouts]
contract = "bouts"
files = ["bouts.csv"]
[sources.bouts.fields]
person = "person"
start = "start"
end = "end"
task = "task"
instrument = "instrument"
strokes = "strokes"
tips = "tips"
[sources.surveys]
contract = "surveys"
files = ["surveys.csv"]
[sources.surveys.fields]
person = "person"
month = "month"
region = "region"
side = { value = "RIGHT" }
score = "score"
scale = { value = "NRS_0_10" }
"""


@dataclass(frozen=True)
class Raw:
    """What stands in the raw files."""

    last_bout_ends: str = "10:00"
    discomfort: int = 10

    def write(self, folder: Path) -> list[Path]:
        bouts = [(person, "10:00") for person in PEOPLE[:-1]] + [(PEOPLE[-1], self.last_bout_ends)]
        scores = [6 if number < self.discomfort else 1 for number in range(len(PEOPLE))]
        tables = {
            "teams": "team,name,cluster,cluster_name,site\nT1,Otter,C1,River,S1\nT2,Heron,C1,River,S1\n",
            "people": "person,team,since\n"
            + "".join(f"{who},T{1 + number // 12},2026-01-01\n" for number, who in enumerate(PEOPLE)),
            "instruments": "instrument,kind,channels,plunger,blow_out,eject,press,eject_time\n"
            "I1,MANUAL,1,1,1.5,2.5,400,300\n",
            "bouts": "person,start,end,task,instrument,strokes,tips\n"
            + "".join(
                f"{who},2026-09-09T09:00:00,2026-09-09T{end}:00,DILUTION,I1,300,100\n" for who, end in bouts
            ),
            "surveys": "person,month,region,score\n"
            + "".join(
                f"{who},2026-09,WRIST_HAND,{score}\n" for who, score in zip(PEOPLE, scores, strict=True)
            ),
        }
        for name, text in tables.items():
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
        return [folder / f"{name}.csv" for name in tables]


def publish(folder: Path, raw: Raw) -> Home:
    folder.mkdir()
    profile = folder / "walk.toml"
    profile.write_text(PROFILE, encoding="utf-8")
    home = Home(folder / "home")
    summary = load_files(home, raw.write(folder), profile)
    assert not summary.refused
    assert summary.rows_set_aside == 0
    make_release(home, PERIOD, now=NOW)
    return home


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return publish(tmp_path_factory.mktemp("walk") / "a", Raw())


def exposure(home: Home, measure: str) -> pd.Series:
    with_door = open_release(home)
    rows = with_door.table("exposure", level="organisation", measure=measure, period=PERIOD)
    assert len(rows) == 1
    return rows.iloc[0]


def wrist(home: Home) -> pd.Series:
    rows = open_release(home).table("health", level="organisation", region="WRIST_HAND", period=PERIOD)
    assert len(rows) == 1
    return rows.iloc[0]


def chosen(measure: str = "hours_per_week") -> Chosen:
    return Chosen("load", PERIOD, "organisation.ORG", "WRIST_HAND", measure, "")


def test_the_bout_reaches_the_store_the_facts_and_the_release(home: Home) -> None:
    with open_store(home, write=False) as con:
        stored = con.execute(
            "select start_us, end_us, strokes from core.bouts where person = ?", [PEOPLE[0]]
        ).fetchall()
        day = con.execute(
            "select local_date, pipetting_us, strokes, longest_spell_us, beyond_guide_us, force_time_mn_ms,"
            " peak_force_mn from facts.person_day where person = ?",
            [PEOPLE[0]],
        ).fetchone()
    nine = int(datetime(2026, 9, 9, 7, tzinfo=UTC).timestamp() * 1e6)  # Vienna: UTC+2.
    assert stored == [(nine, nine + 3_600_000_000, 300)]
    # 1 kgf = 9.80665 N by definition. Presses of 1 and 1.5 kgf for 400 ms, ejections of 2.5 kgf for 300 ms.
    force_time = 300 * (9807 + 14710) * 400 + 100 * 24517 * 300
    assert day == (
        datetime(2026, 9, 9).date(), 3_600_000_000, 300, 3_600_000_000, 2_400_000_000, force_time, 24517,
    )  # fmt: skip
    assert exposure(home, "hours_per_week")["value"] == 1.0
    assert exposure(home, "strokes_per_week")["value"] == 300
    assert exposure(home, "longest_spell")["value"] == 60
    assert exposure(home, "force_time")["value"] == pytest.approx(force_time / 1e6, rel=0.005)
    assert exposure(home, "peak_thumb_force")["value"] == pytest.approx(24.517, rel=0.005)


def test_the_figure_shows_the_released_hours_and_nothing_else(home: Home) -> None:
    reading = exposure_reading.trend(ReleaseFrames(open_release(home)), chosen())
    assert reading.plot is not None
    drawn = reading.plot.frame
    assert drawn.loc[drawn["period"] == PERIOD, "value"].tolist() == [1.0]
    assert "1.0" in reading.sentence


def test_an_hour_more_in_one_bout_moves_the_mean_by_an_hour_in_twentyfour(home: Home, tmp_path: Path) -> None:
    other = publish(tmp_path / "b", replace(Raw(), last_bout_ends="11:00"))
    moved = exposure(other, "hours_per_week")["value"] - exposure(home, "hours_per_week")["value"]
    assert moved == pytest.approx(1 / 24, abs=0.01)


def test_the_answer_reaches_the_release_and_the_figure(home: Home) -> None:
    with open_store(home, write=False) as con:
        cases = con.execute("select count(*) from facts.symptom where is_case").fetchone()
    row = wrist(home)
    # 10 is a multiple of the rounding base, so it is published as it is; 10 of 24 is 42 %, in steps of 5.
    assert cases == (10,)
    assert (row["count_rounded"], row["percent"], row["n_band"]) == (10, 40, "20-24")
    frames = ReleaseFrames(open_release(home))
    series = health_reading.region_series(frames, frames.organisation(), "WRIST_HAND", PERIOD)
    assert series.loc[series["period"] == PERIOD, "percent"].tolist() == [40]


def test_one_answer_fewer_changes_the_fact_and_five_change_the_number(tmp_path: Path) -> None:
    one, five = publish(tmp_path / "one", Raw(discomfort=9)), publish(tmp_path / "five", Raw(discomfort=5))
    with open_store(one, write=False) as con:
        assert con.execute("select count(*) from facts.symptom where is_case").fetchone() == (9,)
    assert wrist(one)["count_rounded"] in (5, 10)  # A secret draw decides between the two neighbours of 9.
    assert wrist(five)["count_rounded"] == 5


def test_the_team_of_twelve_is_not_shown_by_month(home: Home) -> None:
    assert open_release(home).table("health", level="team", period=PERIOD).empty
