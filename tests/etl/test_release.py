"""The release job: what is published, what is refused, and that what was published stays."""

import shutil
from datetime import UTC, datetime

import pytest

from etl.errors import EvenhandError, ReleaseRefused
from etl.home import Home
from etl.release import make_release, make_releases
from etl.release_audit_case import AuditCase, AuditOutcome
from etl.release_audit_plan import NOT_AUDITED
from etl.release_chain import verify
from etl.release_door import open_release, pinned
from etl.release_health import WITHHELD
from etl.settings import PrivacySettings, Settings
from etl.store import open_store
from tests.support.small_store import (
    FIRST,
    NOW,
    TEAMS,
    Frames,
    add_rows,
    frames,
    publish,
    small_release,
    small_store,
)


@pytest.fixture(scope="module")
def quarter(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with the first three months released; not to be changed."""
    return small_release(tmp_path_factory.mktemp("quarter"), 3)


@pytest.fixture
def home(quarter: Home, tmp_path) -> Home:
    """A copy of it to play with."""
    shutil.copytree(quarter.root, tmp_path / "home", symlinks=True)
    return Home(tmp_path / "home")


def execute(home: Home, statement: str) -> None:
    with open_store(home, write=True) as con:
        con.execute(statement)


def released(home: Home) -> list[str]:
    with pinned(home) as release:
        return [e.period for e in release.editions()]


def test_each_month_is_an_edition_that_says_what_it_rests_on(quarter):
    with pinned(quarter) as release:
        editions = release.editions()
        assert [(e.edition, e.period) for e in editions] == [(1, "2025-01"), (2, "2025-02"), (3, "2025-03")]
        assert '"health_floor_team":10' in editions[0].rules
        assert editions[0].created_at == NOW.replace(tzinfo=None)
        keys = set(release.table("method")["key"])
        assert set(release.table("exposure")["method"]) <= keys
        assert set(release.table("method")["status"]) == {
            "published", "published (quoted)", "common practice, no source", "own convention", "from memory",
            "cross-checked",
        }  # fmt: skip
        auditor = release.table("audit_report", check_name="auditor")
        assert set(auditor["sentence"]) == {NOT_AUDITED}
        assert auditor["passed"].isna().all()


def test_health_grain_is_monthly_above_and_quarterly_for_teams(quarter):
    with pinned(quarter) as release:
        health = release.table("health")
    grain = set(zip(health["level"], health["period_kind"], strict=True))
    assert grain == {("organisation", "month"), ("cluster", "month"), ("team", "quarter")}
    teams = health[health["level"] == "team"]
    assert set(teams["period"]) == {"2025-Q1"}
    assert set(teams["edition"]) == {3}
    # P-TWO has 7 people: hidden, and its only neighbour with it, or one would follow from the other.
    assert set(teams[teams["reason"].notna()]["unit"]) == {"P-ONE", "P-TWO"}
    shown = health[health["reason"].isna()]
    assert (shown["count_rounded"] % 5 == 0).all()
    assert (shown["low"] <= shown["percent"]).all()
    assert (shown["percent"] <= shown["high"]).all()
    hidden = health[health["reason"].notna()]
    assert hidden[["n_band", "count_rounded", "percent", "low", "high"]].isna().all(axis=None)


def test_each_published_percentage_has_its_point_of_the_smooth_line(quarter):
    door = open_release(quarter)
    key = ["period", "level", "unit", "region"]
    health, line = door.table("health"), door.table("smooth")
    shown = health[health["percent"].notna()].set_index(key)["percent"].astype(float)
    own = line[line["region"] != "ALL"].set_index(key)["percent"]
    assert len(shown)
    assert set(own.index) == set(shown.index)
    first = shown.index.get_level_values("period").min()
    assert (own.xs(first) == shown.xs(first)).all()


def test_exposure_is_published_for_months_and_for_the_weeks_that_end_in_them(quarter):
    with pinned(quarter) as release:
        exposure = release.table("exposure")
    weeks = exposure[exposure["period_kind"] == "week"]
    # Sundays of January to March 2025: 5 January to 30 March, thirteen of them.
    assert sorted(set(weeks["period"])) == [f"2025-W{k:02d}" for k in range(1, 14)]
    assert set(weeks["measure"]) == {"hours_per_week", "strokes_per_week", "beyond_guide_share"}
    shown = exposure[exposure["reason"].isna()]
    assert (shown["low"] <= shown["value"]).all()
    assert (shown["value"] <= shown["high"]).all()
    guided = exposure[exposure["guide"].notna()]
    assert set(guided["measure"]) == {"hours_per_week", "longest_spell", "peak_thumb_force"}


def test_a_month_is_not_released_twice_nor_an_earlier_one_nor_one_to_come(home):
    before = verify(home.current_release)
    for period, words in (("2025-03", "already released"), ("2025-02", "before"), ("2026-06", "not over")):
        with pytest.raises(ReleaseRefused, match=words):
            make_release(home, period, now=NOW)
    with pytest.raises(ReleaseRefused, match="earlier month first"):
        make_releases(home, "2025-05", "2025-04", now=NOW)
    assert released(home) == ["2025-01", "2025-02", "2025-03"]
    assert verify(home.current_release) == before


def test_late_answers_change_only_what_is_published_later(home):
    with pinned(home) as release:
        old = {name: release.table(name) for name in release.tables()}
        hashes = [e.content_hash for e in release.editions()]
    execute(home, "update core.surveys set score = 9; delete from core.bouts where hash(start_us) % 2 = 0")
    execute(home, "update core.file_ledger set content_checksum = 'other' where contract = 'surveys'")
    publish(home, FIRST.plus(3))
    with pinned(home) as release:
        for name, rows in old.items():
            now = release.table(name)
            assert now[now["edition"] <= 3].reset_index(drop=True).equals(rows), name
        assert [e.content_hash for e in release.editions()][:3] == hashes
        april = release.table("health", period="2025-04", level="organisation")
        # Everybody now has discomfort everywhere: only the top multiple or the one below can be shown.
        assert (april["percent"] >= 90).all()
    assert verify(home.current_release).intact


def test_a_month_without_anything_is_refused(home):
    with pytest.raises(ReleaseRefused, match="No logged work and no answers in 2026-05"):
        make_release(home, "2026-05", now=NOW)


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        (
            "update core.teams set cluster = 'CULTURE' where team = 'A-TWO'",
            "moved from cluster ANALYT to CULTURE",
        ),
        ("delete from core.people where team = 'C-TWO' and person > 'person-C-TWO-02'", "CULTURE has 1"),
        ("delete from core.people where person = 'person-A-ONE-00'", "roster"),
        ("update core.teams set cluster = 'ANALYT', team = 'A-ONE' where team = 'A-TWO'", "A-ONE|team"),
    ],
)
def test_units_that_cannot_carry_an_edition_are_refused(tmp_path, statement, words):
    home = small_release(tmp_path, 1)
    execute(home, statement)
    with pytest.raises(ReleaseRefused, match=words) as refusal:
        publish(home, FIRST.plus(1))
    assert refusal.value.remedy
    assert released(home) == ["2025-01"]


def test_a_withdrawn_person_is_no_vanished_one(home):
    person = "person-A-ONE-00"
    for table in ("people", "bouts", "surveys"):
        execute(home, f"delete from core.{table} where person = '{person}'")
    execute(home, f"delete from release_private.token where person = '{person}'")
    publish(home, FIRST.plus(3))
    assert released(home)[-1] == "2025-04"


def test_another_release_key_is_refused(home):
    key = home.keys_dir / "release.key"
    key.chmod(0o600)
    key.unlink()
    with pytest.raises(ReleaseRefused, match="not the one of earlier editions"):
        publish(home, FIRST.plus(3))
    assert len(released(home)) == 3


def test_floors_can_be_raised_and_never_lowered(tmp_path):
    strict = Settings(privacy=PrivacySettings(health_floor_month=40))
    home = small_release(tmp_path, 1, settings=strict)
    with pinned(home) as release:
        health = release.table("health")
    assert set(health[health["reason"].isna()]["level"]) == {"organisation"}
    with pytest.raises(ValueError, match="greater than or equal to 20"):
        PrivacySettings(health_floor_month=19)


def test_no_pseudonym_in_a_text_gets_published(tmp_path):
    home = small_store(tmp_path)
    execute(home, "update core.changes set why = 'asked for by person-A-ONE-03', planned = '2024-12-01'")
    with pytest.raises(ReleaseRefused, match="pseudonym"):
        publish(home, FIRST)
    assert not home.current_release.exists()


def test_the_auditor_sees_the_candidate_and_its_objection_withholds_all_teams(tmp_path):
    home = small_release(tmp_path, 2)
    seen: list[AuditCase] = []

    def objects_once(case: AuditCase) -> AuditOutcome:
        seen.append(case)
        shown = any(cell.unit in case.teams for cell in case.new_cells)
        return AuditOutcome(not shown, "one value can be worked out" if shown else "all values stay open")

    make_release(home, "2025-03", now=NOW, auditor=objects_once)
    # First all of it, then what is left without any number of its own, then without the teams' numbers.
    assert [any(cell.unit in c.teams for cell in c.new_cells) for c in seen] == [True, False, False]
    assert [{cell.period for cell in c.new_cells} for c in seen[1:]] == [
        {"2025-01", "2025-02"}, {"2025-01", "2025-02", "2025-03"}
    ]  # fmt: skip
    assert {(c.edition, c.since) for c in seen} == {(3, 1)}  # Nobody audited the two before.
    assert {cell.period for cell in seen[0].ledger.cells} == {"2025-01", "2025-02", "2025-03", "2025-Q1"}
    assert set(seen[0].teams) == {f"team/{name}" for name in TEAMS}
    with pinned(home) as release:
        teams = release.table("health", period="2025-Q1")
        report = release.table("audit_report", check_name="auditor", edition=3)
    assert set(teams["reason"]) == {WITHHELD}
    assert report["sentence"].tolist() == ["Team numbers of this edition are withheld. all values stay open"]


def test_an_auditor_who_always_objects_leaves_an_edition_without_discomfort(tmp_path):
    home = small_store(tmp_path)
    make_release(home, "2025-01", now=NOW, auditor=lambda case: AuditOutcome(False, "no"))
    with pinned(home) as release:
        assert set(release.table("health")["reason"]) == {WITHHELD}
        assert set(release.table("health_average")["reason"]) == {WITHHELD}
        assert set(release.table("weighted")["reason"]) == {WITHHELD}
        assert "withheld by the audit" in release.table("trend")["sentence"].iloc[0]
        assert release.table("exposure")["value"].notna().any()
        report = release.table("audit_report", check_name="auditor")
    assert report["passed"].tolist() == [False]
    assert report["sentence"].iloc[0].startswith("All numbers of this edition about discomfort are withheld.")


def test_nothing_but_refusals_before_the_first_release(tmp_path):
    with pytest.raises(EvenhandError, match="Nothing is published yet"):
        open_release(Home(tmp_path))


def test_a_release_ends_with_its_progress_and_a_line_for_people(tmp_path):
    home = small_store(tmp_path, frames(3))
    steps: list[tuple[str, int, int]] = []
    summary = make_release(home, "2025-01", now=NOW, note="first", progress=lambda *step: steps.append(step))
    assert [s[1] for s in steps] == sorted(s[1] for s in steps)
    assert steps[-1][1] == steps[-1][2]
    assert str(summary).startswith("Edition 1 of 2025-01: ")
    with pinned(home) as release:
        assert release.edition().note == "first"


def test_the_same_data_and_key_give_the_same_edition_whatever_the_row_order(tmp_path):
    content = frames(11)
    turned = Frames(content.people[::-1], content.bouts[::-1], content.surveys[::-1])
    first, second = small_store(tmp_path / "a", content), small_store(tmp_path / "b", turned)
    publish(first, FIRST)
    with open_store(first, write=False) as con:
        tokens = con.execute("select person, token from release_private.token").fetchall()
    with open_store(second, write=True) as con:
        from etl.sqlfiles import sql

        con.execute(sql("store/030_tokens"))
        con.executemany("insert into release_private.token values (?, ?)", tokens)
    second.keys_dir.mkdir(mode=0o700)
    (second.keys_dir / "release.key").write_bytes((first.keys_dir / "release.key").read_bytes())
    (second.keys_dir / "release.key").chmod(0o400)
    publish(second, FIRST)
    with pinned(first) as a, pinned(second) as b:
        assert a.edition().content_hash == b.edition().content_hash


def test_now_is_utc_without_a_zone_in_the_edition(tmp_path):
    home = small_store(tmp_path)
    make_release(home, "2025-01", now=datetime(2025, 2, 1, 0, 30, tzinfo=UTC))
    with pinned(home) as release:
        assert release.edition().created_at == datetime(2025, 2, 1, 0, 30)


def test_rows_added_to_a_table_reach_the_facts_of_the_next_edition(home):
    with open_store(home, write=False) as con:
        bouts = con.execute(
            "select * exclude (file_id, row_number) replace (start_us + 86400000000 * 31 as start_us, "
            "end_us + 86400000000 * 31 as end_us, 'NEW-TASK' as task) from core.bouts "
            "where start_us between 1740787200000000 and 1743292800000000"
        ).df()
    execute(home, "delete from core.bouts where start_us >= 1743465600000000")
    add_rows(home, "bouts", bouts)
    publish(home, FIRST.plus(3))
    with pinned(home) as release:
        parts = release.table("exposure_part", period="2025-04", level="organisation", part_kind="task")
    assert parts["part"].tolist() == ["NEW-TASK"]


def test_a_store_with_answers_only_and_one_with_work_only_can_be_released(tmp_path):
    content = frames(5)
    answers = small_store(tmp_path / "answers", Frames(content.people, content.bouts[:0], content.surveys))
    publish(answers, FIRST, FIRST.plus(9))
    with pinned(answers) as release:
        assert (release.table("health", level="organisation")["reason"].isna()).all()
        exposure = release.table("exposure")
        reach = release.table("change_reach", change="LIGHT")
        assert release.table("exposure_part").empty
    force = exposure["measure"].isin(["force_time", "peak_thumb_force", "over_force_share"])
    assert set(exposure[force]["reason"]) == {"not shown: forces not measured"}
    assert set(exposure[~force]["reason"]) == {"not shown: group too small"}
    assert reach["value"].isna().all()
    work = small_store(tmp_path / "work", Frames(content.people, content.bouts, content.surveys[:0]))
    publish(work, FIRST)
    with pinned(work) as release:
        assert release.table("health").empty
        assert release.table("exposure", level="organisation", period_kind="month")["reason"].isna().all()
