"""A release of an earlier version lacks tables and columns; its rooms and its brief open all the same."""

import shutil
from pathlib import Path

import duckdb
import pandas as pd
import panel as pn
import pytest

from dashboards.brief.paper import brief_of
from dashboards.data import ReleaseFrames
from dashboards.state import ROOMS, RoomState
from dashboards.views.rooms import Rooms
from etl.errors import EvenhandError
from etl.release_door import open_release
from etl.release_schema import known_tables

# What the first version published.
FIRST = (
    "edition", "unit", "health", "health_average", "trend", "response", "exposure", "exposure_part", "change",
    "change_reach", "case_rate", "coverage", "data_quality", "set_aside_reason", "method", "audit_report",
)  # fmt: skip


@pytest.fixture(scope="module")
def older(plain_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = Path(shutil.copy(plain_file, tmp_path_factory.mktemp("older") / "release.duckdb"))
    with duckdb.connect(str(path)) as con:
        for name in known_tables():
            if name not in FIRST:
                con.execute(f'drop table "{name}"')
        con.execute("alter table change drop column cost")
    return path


def test_a_table_it_lacks_reads_as_empty_with_todays_columns(older: Path) -> None:
    pinned = open_release(older).pin()
    assert "flag" not in pinned.tables()
    rows = pinned.table("flag", edition=1)
    assert rows.empty
    assert list(rows.columns) == list(known_tables()["flag"].columns)
    with pytest.raises(EvenhandError, match="No table 'people'"):
        pinned.table("people")


def test_a_column_it_lacks_is_missing(older: Path) -> None:
    rows = open_release(older).table("change")
    assert len(rows) == 4
    assert rows["cost"].isna().all()


@pytest.mark.parametrize("room", ROOMS)
def test_every_room_opens(older: Path, room: str) -> None:
    frames = ReleaseFrames(open_release(older).pin())
    state = RoomState(frames.choices())
    state.room = room
    shown = Rooms(frames, state, pd.Timestamp("2026-11-25"))
    text = "\n".join(pane.object for pane in shown.__panel__().select(pn.pane.HTML) if pane.object)
    assert "<h1>" in text
    assert "diagnoses nobody" in text


def test_its_brief_is_written(older: Path) -> None:
    paper = brief_of(open_release(older).pin(), "2026-10")
    assert "no statement yet" in paper.html()
