"""The table of the Drivers room on how far the association can be trusted, and a release that is older."""

import shutil

import duckdb
import pandas as pd
import panel as pn
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.readings import driver_trust, drivers
from dashboards.state import RoomState
from dashboards.tables import as_html
from dashboards.views.rooms import Rooms
from etl.release_door import open_release
from tests.support import fake_drivers, fake_release


@pytest.fixture(autouse=True)
def looks() -> None:
    theme.use()


def test_each_way_to_doubt_it_stands_in_one_table_in_its_own_measure(frames, chosen):
    reading = driver_trust.trust(frames, chosen)
    told = list(zip(reading.rows["way"], reading.rows["numbers"], strict=True))
    assert told == [
        ("As stated", "prevalence ratio 1.4 (1.1 to 1.8)"),
        ("Workers against themselves", "prevalence ratio 1.4 (1.1 to 1.8)"),
        ("Given a worker's own level", "odds ratio 1.7 (1.1 to 2.7)"),
        ("Corrected for hours misreported", "1.5 to 2.0 times (1.1 to 3.3)"),
        ("E-value", "2.1 (of the limit 1.4)"),
        ("All regions together", "1.3 times (1.1 to 1.6)"),
    ]
    assert reading.rows["reading"].iloc[3].endswith("The span is that of 50 to 90 % true.")
    assert "2.1 times each" in reading.sentence
    assert "no proof of a cause" in reading.foot
    assert "nan" not in as_html(reading.rows, reading.columns, driver_trust.TITLE)


def test_a_withheld_ratio_is_doubted_in_words_only(plain_file, chosen):
    door = fake_release.frames(plain_file)
    effects = fake_drivers.tables()["driver_effect"]
    reason = "not shown: a check failed"
    effects = effects.assign(ratio=None, low=None, high=None, word="cannot be estimated", reason=reason)
    door.frames.update(driver_effect=effects, driver_trust=fake_drivers.tables()["driver_trust"].iloc[:0])
    reading = driver_trust.trust(ReleaseFrames(door), chosen)
    assert set(reading.rows["numbers"]) == {reason}
    assert "no published ratio" in reading.sentence


def test_a_release_from_before_these_tables_opens_the_room_with_an_empty_state(plain_file, tmp_path):
    path = shutil.copy(plain_file, tmp_path / "release.duckdb")
    with duckdb.connect(str(path)) as con:
        names = con.execute(
            "select table_name from duckdb_tables() where table_name like 'driver_%'"
        ).fetchall()
        assert names
        for (name,) in names:
            con.execute(f'drop table "{name}"')
    frames = ReleaseFrames(open_release(path).pin())
    state = RoomState(frames.choices())
    state.room = "Drivers"
    shown = Rooms(frames, state, pd.Timestamp("2026-11-25"))
    text = "\n".join(pane.object for pane in shown.__panel__().select(pn.pane.HTML) if pane.object)
    assert drivers.NONE in text
    assert driver_trust.TITLE in text
    assert "What goes with discomfort is not stated yet." in text
