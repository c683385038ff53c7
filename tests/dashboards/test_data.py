"""Frames are rows of the release, newest edition of each fact, handed out as copies."""

import pandas as pd
import pytest

from dashboards.data import ReleaseFrames
from tests.support import fake_places, fake_release


def test_frames_are_copies(frames: ReleaseFrames) -> None:
    first = frames.frame("health")
    first["percent"] = -1
    assert (frames.frame("health")["percent"].dropna() >= 0).all()


def test_selects_and_computes_nothing(frames: ReleaseFrames, sql) -> None:
    mine = frames.frame("exposure", level="team", unit="QC1", measure="force_time", period="2026-10")
    theirs = sql(
        "select value, low, high from exposure where level = 'team' and unit = 'QC1' "
        "and measure = 'force_time' and period = '2026-10'"
    )
    assert [tuple(row) for row in mine[["value", "low", "high"]].itertuples(index=False)] == theirs


def test_a_corrected_fact_is_shown_as_the_newest_edition_says(door: fake_release.FrameDoor) -> None:
    rows = door.frames["health"]
    again = rows[(rows["unit"] == "ORG") & (rows["period"] == "2026-10") & (rows["region"] == "NECK")].copy()
    again["edition"], again["percent"] = 29, 99
    door.frames["health"] = pd.concat([rows, again], ignore_index=True)
    shown = ReleaseFrames(door).frame("health", unit="ORG", period="2026-10", region="NECK")
    assert list(shown["percent"]) == [99]


def test_a_snapshot_table_is_the_newest_edition_only(door: fake_release.FrameDoor) -> None:
    """A change struck from the register must not live on because an old edition had it."""
    old = door.frames["change"].assign(edition=27)
    door.frames["change"] = pd.concat([old, door.frames["change"].iloc[:1]], ignore_index=True)
    assert list(ReleaseFrames(door).frame("change")["change"]) == ["C1"]


def test_units_follow_their_parents(frames: ReleaseFrames) -> None:
    keys = [unit.key for unit in frames.units()]
    assert keys[:3] == ["organisation.ORG", "cluster.ANALYT", "team.QC1"]
    assert len(keys) == 12
    assert keys.index("team.VIR") > keys.index("cluster.CELL")


def test_two_units_of_one_name_can_both_be_chosen(door: fake_release.FrameDoor) -> None:
    door.frames["unit"].loc[door.frames["unit"]["unit"] == "QC2", "name"] = "Quality control 1"
    units = ReleaseFrames(door).choices().units
    assert {"team.QC1", "team.QC2"} <= set(units.values())


def test_hidden_numbers_stay_missing(frames: ReleaseFrames) -> None:
    rows = frames.frame("exposure", unit="TINY")
    assert rows["value"].isna().all()
    assert set(rows["reason"]) == {fake_places.SMALL}


@pytest.mark.parametrize("table", ["edition", "change", "audit_report", "method"])
def test_reads_a_table_once(door: fake_release.FrameDoor, table: str) -> None:
    asked: list[str] = []
    real = door.table
    door.table = lambda name, **equals: asked.append(name) or real(name, **equals)  # type: ignore[method-assign]
    frames = ReleaseFrames(door)
    frames.frame(table)
    frames.frame(table)
    assert asked == [table]


def test_changes_of_one_title_are_told_apart_by_team(door: fake_release.FrameDoor) -> None:
    door.frames["change"]["title"] = "Micro-breaks"
    changes = ReleaseFrames(door).choices().changes
    assert sorted(changes.values()) == ["C1", "C2", "C3", "C4"]
    assert changes["Micro-breaks (Sequencing)"] == "C2"
