"""Frames for views of one's own: named units, clear refusals, and a figure that draws what the rows say."""

import re
from pathlib import Path

import pandas as pd
import pytest

from dashboards import rooms
from dashboards.rooms import OpenRooms
from etl.errors import EvenhandError


@pytest.fixture
def opened(release_file: Path) -> OpenRooms:
    return rooms.open_rooms(release_file)


@pytest.mark.parametrize("table", ["health", "trend", "exposure", "response", "change_effect", "coverage"])
def test_every_number_of_a_frame_has_a_unit(opened: OpenRooms, table: str) -> None:
    frame = opened.frame(table)
    numbers = [c for c in frame.columns if pd.api.types.is_numeric_dtype(frame[c]) and frame[c].dtype != bool]
    assert set(numbers) <= set(frame.attrs["units"])
    assert all(frame.attrs["units"].values())


def test_rows_carry_the_names_of_their_units(opened: OpenRooms) -> None:
    frame = opened.frame("exposure", level="team", measure="hours_per_week", period="2026-10")
    assert "Quality control 1" in set(frame["name"])
    assert set(frame["level"]) == {"team"}


def test_a_wrong_table_or_column_is_one_clear_line(opened: OpenRooms) -> None:
    with pytest.raises(EvenhandError, match=re.escape("No table 'people' (the release). There are: ")):
        opened.frame("people")
    with pytest.raises(EvenhandError, match=re.escape("No column 'team' (health). There are: edition")):
        opened.frame("health", team="QC1")


def test_a_figure_needs_its_columns(opened: OpenRooms) -> None:
    frame = opened.frame("exposure", level="team", measure="hours_per_week", period="2026-10")
    assert rooms.figure(frame, "Hours").object is not None
    with pytest.raises(EvenhandError, match="No column 'low' to draw"):
        rooms.figure(frame.drop(columns="low"), "Hours")
