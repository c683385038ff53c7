"""State is closed: nothing outside the release can be chosen, and a link reopens the same view."""

import pytest

from dashboards.data import ReleaseFrames
from dashboards.state import Choices, RoomState


def test_starts_at_the_newest_month_of_the_organisation(state: RoomState) -> None:
    assert (state.room, state.period, state.unit) == ("Month", "2026-10", "organisation.ORG")


@pytest.mark.parametrize("name", sorted(RoomState.URL))
def test_refuses_what_the_release_does_not_have(state: RoomState, name: str) -> None:
    before = list(state.param[name].objects)
    with pytest.raises(ValueError, match="ZZZ"):
        setattr(state, name, "ZZZ")
    assert list(state.param[name].objects) == before


def test_an_empty_list_stays_closed_too() -> None:
    """A Selector without objects accepts anything; a release without changes must not."""
    state = RoomState(Choices({"October": "2026-10"}, {"All": "organisation.ORG"}, {"All": "ALL"}, {}, {}))
    with pytest.raises(ValueError, match="C9"):
        state.change = "C9"
    assert state.change == ""


def test_two_sessions_do_not_share_choices(frames: ReleaseFrames) -> None:
    first, second = RoomState(frames.choices()), RoomState(frames.choices())
    first.unit = "team.QC1"
    first.param["period"].objects = ["2026-10"]
    assert second.unit == "organisation.ORG"
    assert len(second.param["period"].objects) == len(frames.months())


def test_a_link_reopens_the_same_view(state: RoomState, frames: ReleaseFrames) -> None:
    state.param.update(room="Load", unit="team.QC1", period="2025-03", measure="force_time")
    other = RoomState(frames.choices())
    assert other.take(state.address()) == {}
    assert other.settings() == state.settings()


def test_each_value_of_a_link_counts_by_itself(state: RoomState) -> None:
    refused = state.take({"who": "team.QC1", "month": "1999-01", "room": 7, "unknown": "x"})
    assert state.unit == "team.QC1"
    assert state.period == "2026-10"
    assert refused == {"month": "1999-01", "room": "7"}
    assert state.refused == refused


def test_a_link_changes_state_in_one_batch(state: RoomState) -> None:
    seen = []
    state.param.watch(lambda *events: seen.append(len(events)), list(RoomState.URL))
    state.take({"who": "team.QC1", "month": "2026-09"})
    assert seen == [2]
