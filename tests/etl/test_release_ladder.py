"""The ladder of withholding: as little as the auditor lets pass, and always an end."""

from collections.abc import Callable

import pytest

from etl.release_audit_case import AuditOutcome
from etl.release_audit_plan import NOT_AUDITED, AuditPlan
from etl.release_health import TOO_SMALL, WITHHELD
from etl.release_ladder import EARLIER, Judged, climb, withhold
from etl.release_ledger import HealthCell
from models.auditor_gate import Known

OLD: Known = (True, False, "NECK", "t1", "", "value")
NEW: Known = (True, False, "NECK", "t2", "", "value")


def cell(level: str, published: int | None = 5) -> HealthCell:
    return HealthCell("discomfort/month", level, level[0], "2026-10", "NECK", ("a",), 5, published)


CELLS = (cell("organisation"), cell("cluster"), cell("team"), cell("team", None))


def judge(
    cells: tuple[HealthCell, ...], finds: Callable[[set[str]], set[Known]]
) -> tuple[Judged, list[tuple[set[str], bool]]]:
    """Climb with an auditor who finds something in certain levels; returns what it was asked."""
    written: list[tuple[HealthCell, ...]] = []
    asked: list[tuple[set[str], bool]] = []

    def ask(auditor, known: frozenset[Known] | None) -> AuditOutcome:
        assert auditor is plan.auditor
        # All is listed once, of what is left without any number of the edition; judged are the others.
        assert (known is None) == (len(asked) == 1)
        levels = {c.level for c in written[-1] if c.published is not None}
        asked.append((levels, bool(known)))
        found = frozenset(finds(levels))
        return AuditOutcome(found <= (known or frozenset()), f"{len(found)} found.", "more", found)

    plan = AuditPlan(lambda case: AuditOutcome(True, ""), 1)
    judged = climb(cells, plan, lambda cells: written.append(tuple(cells)), ask)
    assert written[-1] == judged.cells
    assert judged.check.name == "auditor"
    return judged, asked


@pytest.mark.parametrize(
    ("culprits", "rung", "shown", "words"),
    [
        (set(), 0, {"organisation", "cluster", "team"}, "0 found."),
        ({"team"}, 1, {"organisation", "cluster"}, "Team numbers of this edition are withheld. 0 found."),
        (
            {"team", "cluster"},
            2,
            {"organisation"},
            "Team and cluster numbers of this edition are withheld. 0 found.",
        ),
        ({"organisation"}, 3, set(), "All numbers of this edition about discomfort are withheld. 0 found."),
    ],
)
def test_each_rung(culprits: set[str], rung: int, shown: set[str], words: str) -> None:
    judged, asked = judge(CELLS, lambda levels: {NEW} if levels & culprits else set())
    assert judged.rung == rung
    assert judged.silent is (rung == 3)
    assert {c.level for c in judged.cells if c.published is not None} == shown
    assert [c.withheld for c in judged.cells] == [c.level not in shown for c in judged.cells]
    assert judged.team_words == (WITHHELD if rung else TOO_SMALL)
    assert judged.check.passed
    assert judged.check.sentence == words
    assert judged.check.detail == "more"
    assert len(asked) == (1 if not rung else 2 + min(rung, 2))


def test_a_month_without_teams_skips_the_rung_that_changes_nothing() -> None:
    judged, asked = judge(CELLS[:2], lambda levels: {NEW} if "cluster" in levels else set())
    assert judged.rung == 2
    assert [levels for levels, _ in asked] == [{"organisation", "cluster"}, set(), {"organisation"}]
    without_clusters = (CELLS[0], CELLS[2])
    judged, asked = judge(without_clusters, lambda levels: {NEW} if "organisation" in levels else set())
    assert judged.rung == 3
    assert [levels for levels, _ in asked] == [{"organisation", "team"}, set(), {"organisation"}]


@pytest.mark.parametrize(("adds", "rung"), [(set(), 0), ({"team"}, 1), ({"organisation"}, 3)])
def test_what_earlier_editions_give_away_is_reported_and_not_held_against_this_one(
    adds: set[str], rung: int
) -> None:
    judged, asked = judge(CELLS, lambda levels: {OLD, NEW} if levels & adds else {OLD})
    assert judged.rung == rung
    assert judged.check.passed is False
    assert asked[0][1] is asked[1][1] is False
    assert all(known for _, known in asked[2:])
    assert judged.check.sentence.endswith(EARLIER) is (rung == 3)


def test_without_an_auditor_all_is_shown_and_it_is_said() -> None:
    written: list[object] = []

    def nobody(auditor, known):
        raise AssertionError("nobody is to be asked")

    judged = climb(CELLS, AuditPlan(None, 1), written.append, nobody)
    assert judged.cells == CELLS
    assert (judged.rung, judged.silent, judged.team_words) == (0, False, TOO_SMALL)
    assert written == [CELLS]
    assert judged.check.row() == ("auditor", None, NOT_AUDITED, None)


def test_withholding_takes_whole_levels_from_teams_upward() -> None:
    assert withhold(CELLS, 0) == CELLS
    assert [c.published for c in withhold(CELLS, 1)] == [5, 5, None, None]
    assert [c.withheld for c in withhold(CELLS, 2)] == [False, True, True, True]
    assert {c.published for c in withhold(CELLS, 3)} == {None}
