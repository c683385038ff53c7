"""Roles: who is named gets what is written, others nothing; behind a role's door no other row exists."""

import importlib.resources
import re
from pathlib import Path

import pandas as pd
import panel as pn
import pytest

from dashboards.access import (
    COMMITTEE,
    COMMITTEE_ROOMS,
    ERGONOMIST,
    Access,
    Grant,
    Members,
    SignIn,
    manager_of,
    read_access,
)
from dashboards.app import build, chooser, seated
from dashboards.data import ReleaseFrames
from dashboards.granted import COMMITTEE_TABLES, MANAGER_TABLES, GrantedDoor
from dashboards.page import granted_choices
from dashboards.readings.base import Answer
from dashboards.seats import Seats
from dashboards.signin import claims_grant, demo_grants, groups_of
from dashboards.state import ROOMS, RoomState
from dashboards.views.rooms import Rooms
from etl.errors import EvenhandError
from etl.release_door import open_release
from tests.support.fake_release import FrameDoor

ROLES = """
[serve]
origins = ["rooms.example.org"]
[roles.ergonomist]
groups = ["ergonomics"]
[roles.committee]
people = ["chair@example.org"]
[roles.manager.QC1]
groups = ["lead-qc1"]
[roles.manager.SEQ]
groups = ["lead-qc1", "lead-seq"]
"""


@pytest.fixture
def access(tmp_path: Path) -> Access:
    path = tmp_path / "access.toml"
    path.write_text(ROLES, encoding="utf-8")
    return read_access(path)


@pytest.mark.parametrize(
    ("person", "groups", "granted"),
    [
        ("a@example.org", ["ergonomics"], ERGONOMIST),
        ("chair@example.org", [], COMMITTEE),
        ("chair@example.org", ["ergonomics"], ERGONOMIST),
        ("b@example.org", ["lead-seq"], manager_of("SEQ")),
        ("b@example.org", ["lead-qc1"], manager_of("QC1", "SEQ")),
        ("b@example.org", ["Ergonomics"], None),
        ("b@example.org", [], None),
        ("", ["ergonomics"], None),
        ("ergonomics", [], None),
        ("b@example.org", ["chair@example.org"], None),
    ],
)
def test_the_widest_named_role_or_nothing(
    access: Access, person: str, groups: list[str], granted: Grant | None
) -> None:
    assert access.grant(person, groups) == granted


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[roles.boss]\ngroups = ['x']", "Unknown 'boss'"),
        ("[roles.committee]\ngroup = ['x']", "Unknown 'group'"),
        ("[roles.committee]\ngroups = 'everyone'", "'groups' is no list of names"),
        ("[roles.committee]\ngroups = ['']", "'groups' is no list of names"),
        ("[sign_in]\nkind = 'none'", "Unknown sign-in 'none'"),
        ("[serve]\nport = '80'", "'port' is of the wrong kind"),
        ("[serve]\nadmin = true", "Unknown 'admin'"),
        ("roles = 3", "'roles' is no table"),
        ("[roles", "The access file cannot be read"),
    ],
)
def test_a_misspelt_rule_is_refused(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "access.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(EvenhandError, match=re.escape(said)):
        read_access(path)


def test_every_release_table_has_a_reader_named() -> None:
    """A new table is open to the ergonomist only until somebody decides: name it in dashboards/granted.py."""
    ddl = importlib.resources.files("etl").joinpath("sql/store/020_release.sql").read_text(encoding="utf-8")
    tables = set(re.findall(r"create table if not exists (\w+)", ddl))
    assert tables == COMMITTEE_TABLES
    assert MANAGER_TABLES < COMMITTEE_TABLES
    assert not {"health", "health_average", "trend", "change_effect", "response"} & MANAGER_TABLES


def test_a_manager_gets_no_row_of_health_nor_of_others(release_file: Path) -> None:
    door = GrantedDoor(open_release(release_file).pin(), manager_of("QC1"))
    for name in COMMITTEE_TABLES:
        rows = door.table(name)
        if name in ("edition", "method"):
            continue
        if name not in MANAGER_TABLES:
            assert rows.empty
        elif "team" in rows:
            assert set(rows["team"]) <= {"QC1"}
        else:
            assert set(zip(rows["level"], rows["unit"], strict=True)) <= {
                ("team", "QC1"), ("organisation", "ORG"),
            }  # fmt: skip
    assert len(door.table("exposure")) > 100
    assert not door.table("method")["key"].str.contains("health|change|flag.limit|response").any()


def test_a_managers_flag_rests_on_exposure(door: FrameDoor) -> None:
    known = [("QC1", "discomfort"), ("QC1", "exposure"), ("BIO", "exposure")]
    door.frames["flag"] = pd.DataFrame(
        [{"level": "team", "unit": unit, "subject": subject} for unit, subject in known],
        columns=door.frames["flag"].columns,
    )
    seen = GrantedDoor(door, manager_of("QC1")).table("flag")
    assert list(zip(seen["unit"], seen["subject"], strict=True)) == [("QC1", "exposure")]
    assert len(GrantedDoor(door, Grant("committee")).table("flag")) == 3


def test_a_role_unknown_to_the_door_sees_nothing(release_file: Path) -> None:
    door = GrantedDoor(open_release(release_file).pin(), Grant("visitor"))
    assert all(door.table(name).empty for name in COMMITTEE_TABLES)


def test_the_committee_gets_the_tables_named_for_it_and_no_other(release_file: Path) -> None:
    pinned = open_release(release_file).pin()
    door = GrantedDoor(pinned, COMMITTEE)
    for name in COMMITTEE_TABLES:
        assert len(door.table(name)) == len(pinned.table(name))

    class Later:
        """A door with a table of a later version, which nobody has decided on yet."""

        def table(self, name: str, **equals: object) -> pd.DataFrame:
            rows = pd.DataFrame({"edition": [28], "value": [1]})
            return rows[rows["edition"] == equals["edition"]] if equals else rows

    assert GrantedDoor(Later(), COMMITTEE).table("novelty").empty
    assert len(GrantedDoor(Later(), ERGONOMIST).table("novelty")) == 1


def words_of(rooms: Rooms) -> str:
    panes = rooms.__panel__().select(pn.pane.HTML)
    return "\n".join(pane.object for pane in panes if pane.object)


@pytest.mark.parametrize("query", [{}, {"room": "Data", "who": "team.QC2", "region": "NECK"},
                                   {"who": "cluster.CELL", "room": "Month", "change": "C1"}])  # fmt: skip
def test_a_forged_address_shows_a_manager_nothing_of_others(
    release_file: Path, query: dict[str, str]
) -> None:
    grant = manager_of("QC1")
    frames = ReleaseFrames(GrantedDoor(open_release(release_file).pin(), grant))
    state = RoomState(granted_choices(frames.choices(), grant))
    rooms = Rooms(frames, state, pd.Timestamp("2026-11-25"))
    refused = state.take(query)
    assert set(refused) == set(query)
    assert state.room == "Load"
    assert state.unit == "team.QC1"
    text = words_of(rooms)
    assert "pipetting hours" in text.lower()
    for other in ("Quality control 2", "Sequencing", "Cell &amp; gene", "Low-force", "discomfort"):
        assert other not in text
    with pytest.raises(ValueError, match="does not accept"):
        state.room = "Month"
    with pytest.raises(ValueError, match="does not accept"):
        state.unit = "team.QC2"


def test_rooms_of_each_role(release_file: Path) -> None:
    pinned = open_release(release_file).pin()

    def rooms(grant: Grant) -> tuple[str, ...]:
        frames = ReleaseFrames(GrantedDoor(pinned, grant))
        state = RoomState(granted_choices(frames.choices(), grant))
        return tuple(state.param.room.objects)

    assert rooms(ERGONOMIST) == ROOMS
    assert set(rooms(COMMITTEE)) <= set(COMMITTEE_ROOMS)
    assert rooms(manager_of("QC1")) == ("Load",)


def test_a_manager_of_an_unknown_team_sees_the_organisation_only(release_file: Path) -> None:
    page = build(open_release(release_file), pd.Timestamp("2026-11-25"), manager_of("NOWHERE"))
    text = "\n".join(str(pane.object) for part in page.main for pane in part.select(pn.pane.HTML))
    assert "Kestrel Institute" in text
    assert "Quality control" not in text


def test_groups_of_a_header_and_of_a_claim() -> None:
    assert groups_of(" a, b;c ;; ") == ("a", "b", "c")
    access = Access(SignIn(kind="oidc", groups_claim="roles"), committee=Members(frozenset({"safety"})))
    assert claims_grant(access, "x", {"roles": ["safety"]}) == COMMITTEE
    assert claims_grant(access, "x", {"roles": "safety"}) == COMMITTEE
    assert claims_grant(access, "x", {"groups": ["safety"]}) is None
    assert claims_grant(access, None, {"roles": ["safety"]}) is None


def test_the_demo_sign_in_says_that_it_is_one(access: Access) -> None:
    grants = demo_grants(access)
    assert set(grants) == {"/as-ergonomist", "/as-committee", "/as-manager-QC1", "/as-manager-SEQ"}
    page = chooser(grants)
    text = "\n".join(str(pane.object) for part in page.main for pane in part.select(pn.pane.HTML))
    assert "nobody is asked who they are" in text


def test_pages_are_capped_and_places_come_back() -> None:
    seats = Seats(2)
    made = [seated(seats, lambda: Answer("", "page", "")) for _ in range(2)]
    assert [page.headline for page in made] == ["page", "page"]
    full = seated(seats, lambda: Answer("", "page", ""))
    text = "\n".join(str(pane.object) for part in full.main for pane in part.select(pn.pane.HTML))
    assert "All places are taken" in text
    seats.leave()
    assert seated(seats, lambda: Answer("", "page", "")).headline == "page"
    assert seats.taken == 2
