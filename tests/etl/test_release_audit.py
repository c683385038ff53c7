"""The exact auditor in its seat: what is judged when, what is kept of it, and what an objection does."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

import etl.release_edition
from dashboards.data import ReleaseFrames
from dashboards.readings.quality import audit_words
from etl.home import Home
from etl.release import make_release, make_releases
from etl.release_audit import exact_auditor
from etl.release_audit_case import AuditCase, AuditOutcome
from etl.release_audit_plan import NOT_AUDITED, AuditSchedule, first_unaudited, plan_audit
from etl.release_calendar import parse_month
from etl.release_door import pinned
from etl.release_health import WITHHELD, health_cells
from etl.release_ledger import HealthCell
from etl.release_rows import Job
from etl.store import open_store
from tests.support.small_store import NOW, small_release, small_store

REGION = "ANKLE_FOOT"


@pytest.fixture(scope="module")
def audited(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, list[str]]:
    """Four months in a row, audited at the end of the quarter and at the last, by two processes."""
    home = small_store(tmp_path_factory.mktemp("audited"))
    told: list[str] = []
    with exact_auditor(lambda label, done, total: told.append(f"{label} {done}/{total}")) as auditor:
        make_releases(home, "2025-01", "2025-04", now=NOW, auditor=auditor, schedule=AuditSchedule.QUARTER)
    return home, told


def report(home: Home) -> pd.DataFrame:
    with pinned(home) as release:
        rows = release.table("audit_report", check_name="auditor")
    return rows.sort_values("edition").reset_index(drop=True)


def no_discomfort_there(home: Home) -> None:
    """Nobody has discomfort in one region: an exact count then tells everybody's answer."""
    with open_store(home, write=True) as con:
        con.execute(f"update core.surveys set score = 0 where region = '{REGION}'")


def exact_counts(*levels: str) -> Callable[[Job], list[HealthCell]]:
    """The planted fault: counts of some levels in that region leave the job as they are."""

    def cells(job: Job) -> list[HealthCell]:
        return [
            replace(c, base=1, published=0)
            if c.published is not None and c.region == REGION and c.level in levels
            else c
            for c in health_cells(job)
        ]

    return cells


def test_each_edition_says_what_was_audited(audited: tuple[Home, list[str]]) -> None:
    home, told = audited
    rows = report(home)
    assert rows["passed"].isna().tolist() == [True, True, False, False]
    assert rows["passed"].tolist()[2:] == [True, True]
    assert (
        rows["sentence"].tolist()[:2]
        == ["Not audited by itself: its numbers are judged together with the edition of 2025-03."] * 2
    )
    assert "numbers of editions 1 to 3, with every earlier edition, in 9 body regions" in rows["detail"][2]
    assert "numbers of edition 4, with every" in rows["detail"][3]
    assert "people telling" in rows["detail"][2]
    assert told[-1].endswith("27/27")
    assert first_unaudited(home.current_release) == 5


def test_the_data_room_shows_the_verdict(audited: tuple[Home, list[str]]) -> None:
    with pinned(audited[0]) as release:
        sentence, rows = audit_words(ReleaseFrames(release))
    own = rows[rows["check_name"] == "auditor"]["sentence"].iloc[0]
    assert own.startswith("Audited: from all editions together, no person's answer")
    assert own in sentence


def test_a_re_run_in_one_process_says_the_same(audited: tuple[Home, list[str]], tmp_path: Path) -> None:
    """Two runs on one store: the second from the tokens of the first, as after a lost release folder."""
    home = small_store(tmp_path)
    details = []
    for workers in (1, 2):
        home.current_release.unlink(missing_ok=True)
        seen: list[AuditOutcome] = []
        with exact_auditor(workers=workers) as auditor:

            def listen(case: AuditCase, judge=auditor, seen=seen) -> AuditOutcome:
                seen.append(judge(case))
                raise RuntimeError("interrupted")

            with pytest.raises(RuntimeError, match="interrupted"):
                make_release(home, "2025-01", now=NOW, auditor=listen)
        details.append([(o.sentence, o.detail) for o in seen])
    assert details[0] == details[1]


def test_a_leak_through_teams_withholds_them(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    home = small_store(tmp_path)
    no_discomfort_there(home)
    monkeypatch.setattr(etl.release_edition, "health_cells", exact_counts("team"))
    with exact_auditor(workers=1) as auditor:
        make_releases(home, "2025-01", "2025-03", now=NOW, auditor=auditor, schedule=AuditSchedule.QUARTER)
    with pinned(home) as release:
        teams = release.table("health", period="2025-Q1")
        others = release.table("health", period="2025-03")
    assert set(teams["reason"]) == {WITHHELD}
    assert others["reason"].isna().any()
    last = report(home).iloc[-1]
    assert last["passed"]
    assert last["sentence"].startswith(
        "Team numbers of this edition are withheld. Audited: from all editions"
    )


@pytest.mark.parametrize(
    ("levels", "words", "shown"),
    [
        (("team", "cluster"), "Team and cluster numbers of this edition are withheld. Aud", {"organisation"}),
        (
            ("cluster", "organisation"),
            "All numbers of this edition about discomfort are withheld.",
            set(),
        ),
    ],
)
def test_a_leak_that_stays_withholds_more(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, levels: tuple[str, ...], words: str, shown: set[str]
) -> None:
    home = small_store(tmp_path)
    no_discomfort_there(home)
    monkeypatch.setattr(etl.release_edition, "health_cells", exact_counts(*levels))
    with exact_auditor(workers=1) as auditor:
        make_release(home, "2025-01", now=NOW, auditor=auditor)
    with pinned(home) as release:
        health = release.table("health")
        assert release.table("exposure")["value"].notna().any()
        assert len(release.table("change_effect")) == 0
    assert set(health[health["reason"].isna()]["level"]) == shown
    assert set(health[~health["level"].isin(shown)]["reason"]) == {WITHHELD}
    last = report(home).iloc[-1]
    assert last["passed"]
    assert last["sentence"].startswith(words)


def test_an_unaudited_history_that_leaks_is_not_held_against_the_next_month(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    home = small_store(tmp_path)
    no_discomfort_there(home)
    monkeypatch.setattr(etl.release_edition, "health_cells", exact_counts("organisation"))
    make_release(home, "2025-01", now=NOW)
    monkeypatch.setattr(etl.release_edition, "health_cells", health_cells)
    with exact_auditor(workers=1) as auditor:
        make_release(home, "2025-02", now=NOW, auditor=auditor)
    last = report(home).iloc[-1]
    assert not last["passed"]
    assert "adds nothing to the" in last["sentence"]
    assert "from earlier editions alone" in last["sentence"]
    with pinned(home) as release:
        assert release.table("health", period="2025-02")["reason"].isna().any()
    assert first_unaudited(home.current_release) == 1


def test_an_audit_after_editions_without_one_covers_them(tmp_path: Path) -> None:
    home = small_release(tmp_path, 2)
    seen: list[tuple[int, int, set[str]]] = []

    def passes(case: AuditCase) -> AuditOutcome:
        seen.append((case.edition, case.since, {c.period for c in case.new_cells}))
        return AuditOutcome(True, "fine")

    make_release(home, "2025-03", now=NOW, auditor=passes)
    make_release(home, "2025-04", now=NOW, auditor=passes)
    assert seen == [(3, 1, {"2025-01", "2025-02", "2025-03", "2025-Q1"}), (4, 4, {"2025-04"})]
    assert first_unaudited(None) == 1


@pytest.mark.parametrize(
    ("schedule", "month", "audited_now", "absent"),
    [
        (AuditSchedule.EACH, "2025-01", True, None),
        (AuditSchedule.QUARTER, "2025-03", True, None),
        (AuditSchedule.QUARTER, "2025-05", True, None),
        (AuditSchedule.QUARTER, "2025-02", False, "edition of 2025-03."),
        (AuditSchedule.QUARTER, "2025-04", False, "edition of 2025-05."),
        (AuditSchedule.NONE, "2025-03", False, NOT_AUDITED),
    ],
)
def test_the_schedule(schedule: AuditSchedule, month: str, audited_now: bool, absent: str | None) -> None:
    plan = plan_audit(
        lambda case: AuditOutcome(True, ""), schedule, parse_month(month), parse_month("2025-05"), 2
    )
    assert (plan.auditor is not None, plan.since) == (audited_now, 2)
    assert absent is None or plan.absent.endswith(absent)
