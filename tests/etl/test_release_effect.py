"""The published statement on a change: once, on enough people, rounded, with the design's limits said."""

from datetime import date

import pytest

from etl.home import Home
from etl.keys import Key
from etl.release_door import pinned
from etl.release_effect import JOINED_LATER, NO_RECORD, NO_TARGET, _entries, effect_rows, effect_tables
from etl.release_event import CANNOT_DRAW
from etl.release_ledger import prepare
from etl.release_rows import Job
from etl.release_said import earlier_statements
from etl.settings import Settings
from etl.store import open_store
from models.change_design import CHOSEN
from models.disclosure import TOO_SMALL
from models.result_gate import NEARLY_SAID, SAID_BEFORE
from tests.support.small_store import FIRST, small_release

COLUMNS = (
    "change", "title", "region", "changed_teams", "other_teams", "method", "method_words", "periods",
    "changed_band", "others_band", "word", "sentence", "points", "low", "high", "meaningful",
    "expected_points", "smallest_p", "checks", "weaker", "cost", "settle", "reason",
)  # fmt: skip


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return small_release(tmp_path_factory.mktemp("year"), 14)


@pytest.fixture
def job(year: Home):
    """A job over a store whose register a test may rewrite; everything is thrown away afterwards."""
    with open_store(year, write=True) as con:
        con.execute("begin")
        con.execute("delete from core.changes where change = 'PAUSE'")
        con.execute(
            "update core.changes set target_regions = 'WRIST_HAND;NECK', completed = date '2025-07-01'"
        )
        yield Job(con, FIRST.plus(13), 15, Settings(), Key("release1", bytes(range(32))))
        con.execute("rollback")


def rows_of(job, stated=()):
    return [dict(zip(COLUMNS, row, strict=True)) for row in effect_rows(job, frozenset(stated))]


def also_at(job, change, team, **changed):
    job.con.execute(
        "insert into core.changes by name select * replace (? as change, ? as team) from core.changes "
        "where change = 'LIGHT'",
        [change, team],
    )
    for column, value in changed.items():
        job.con.execute(f"update core.changes set {column} = ? where change = ?", [value, change])


def test_a_change_without_target_is_refused_once(year):
    with pinned(year) as release:
        rows = release.table("change_effect")
    light = rows[rows["change"] == "LIGHT"]
    assert light["edition"].tolist() == [13]
    assert light["word"].tolist() == ["cannot tell"]
    assert NO_TARGET in light["sentence"].iloc[0]
    assert light["points"].isna().all()
    assert "PAUSE" not in set(rows["change"])


def test_one_team_is_beyond_reach_and_told_what_would_settle_it(job):
    job.con.execute("update core.changes set team = 'P-ONE'")
    rows = rows_of(job)
    assert [row["region"] for row in rows] == ["WRIST_HAND", "NECK"]
    for row in rows:
        assert row["method"] == "common start"
        assert row["smallest_p"] == pytest.approx(1 / 6)
        assert row["word"] == "cannot tell"
        assert "by chance" in row["sentence"]
        assert "7 teams" in row["settle"]
        assert row["points"] % 5 == row["low"] % 5 == row["high"] % 5 == 0
        assert row["low"] <= row["points"] <= row["high"]
        assert row["periods"] == "2025-01 to 2026-02"


def test_entries_of_one_title_are_one_change(job):
    also_at(job, "LIGHT-B", "A-ONE")
    rows = rows_of(job)
    assert [(row["change"], row["region"]) for row in rows] == [
        ("LIGHT", "WRIST_HAND"), ("LIGHT-B", "WRIST_HAND"), ("LIGHT", "NECK"), ("LIGHT-B", "NECK"),
    ]  # fmt: skip
    assert {row["changed_teams"] for row in rows} == {"A-ONE, C-ONE"}
    assert rows[0]["smallest_p"] == pytest.approx(1 / 15)
    assert rows[0]["points"] == rows[1]["points"]


def test_a_planted_relief_is_found(job):
    """Everybody with discomfort in the three changed teams is free of it afterwards."""
    also_at(job, "LIGHT-B", "A-ONE")
    also_at(job, "LIGHT-C", "P-ONE")
    job.con.execute(
        "update facts.symptom set is_case = false where region = 'WRIST_HAND' and month >= date '2025-07-01' "
        "and team in ('A-ONE', 'C-ONE', 'P-ONE')"
    )
    rows = rows_of(job)
    wrist, neck = (next(r for r in rows if r["region"] == region) for region in ("WRIST_HAND", "NECK"))
    assert wrist["points"] <= -15
    assert wrist["points"] < neck["points"]
    # 3 of 6 teams in opposite pairs: 2/20, so even this is not called a help.
    assert wrist["smallest_p"] == pytest.approx(0.1)
    assert wrist["word"] == "cannot tell"


def test_too_few_people_show_nothing(job):
    job.con.execute("update core.changes set team = 'P-TWO'")
    for row in rows_of(job):
        assert row["reason"] == TOO_SMALL
        assert row["points"] is row["low"] is row["high"] is row["changed_band"] is None
        assert row["checks"] == row["cost"] == ""


def test_nothing_is_said_before_six_months_or_while_a_team_waits(job):
    early = Job(job.con, FIRST.plus(10), 12, job.settings, job.key)
    assert rows_of(early) == []
    also_at(job, "LIGHT-B", "A-ONE", completed=None, status="STARTED")
    assert rows_of(job) == []


def test_a_change_is_stated_once_and_joined_by_nobody_later(job):
    assert rows_of(job, ["LIGHT"]) == []
    also_at(job, "LIGHT-B", "A-ONE")
    rows = rows_of(job, ["LIGHT"])
    assert [row["change"] for row in rows] == ["LIGHT-B"]
    assert JOINED_LATER in rows[0]["sentence"]


def test_overlap_chosen_and_start_before_data_are_named(job):
    also_at(job, "OTHER", "C-ONE", title="Rotation", kind="ROTATION", started=date(2025, 9, 1))
    assert "another change was at work" in rows_of(job, ["OTHER"])[0]["sentence"]
    job.con.execute("delete from core.changes where change = 'OTHER'")
    job.con.execute("update core.changes set chosen_on_outcome = true, team = 'P-ONE'")
    assert rows_of(job)[0]["method"] == "chosen on the outcome"
    job.con.execute("update core.changes set started = date '2024-06-01', completed = date '2024-07-01'")
    assert "outside the months with data" in rows_of(job)[0]["sentence"]


def test_a_statement_names_no_team_that_carries_it(job):
    also_at(job, "LIGHT-B", "A-ONE")
    for row in rows_of(job):
        assert not any(team in row["checks"] + row["settle"] for team in ("A-ONE", "C-ONE", "P-ONE"))


def test_a_statement_is_noted_under_tokens_and_never_made_a_second_time(job):
    job.con.execute("update core.changes set team = 'P-ONE'")
    assert {row["reason"] for row in rows_of(job)} == {None}
    noted = job.con.execute(
        "select distinct edition, outcome, asked, period from release_private.statement "
        "where asked like 'change %' and asked not like '%, quarter %' order by outcome"
    ).fetchall()
    assert [row[:2] for row in noted] == [(15, "discomfort/NECK"), (15, "discomfort/WRIST_HAND")]
    said = earlier_statements(job.con, "discomfort/NECK")
    kept = [
        one
        for one in said
        if one.question.asked.startswith("change ") and "quarter" not in one.question.asked
    ]
    tokens = {token for (token,) in job.con.execute("select token from release_private.token").fetchall()}
    assert len(kept) == 1
    assert len(kept[0].ways) >= 40
    assert kept[0].ways.keys() <= tokens
    assert not any("2025" in way or "changed" in way for way in kept[0].ways.values())
    again = rows_of(job)
    assert {row["reason"] for row in again} == {SAID_BEFORE}
    assert {row["points"] for row in again} == {None}


def test_a_statement_from_nearly_the_same_answers_is_withheld(job):
    """The same change under another title, one answer fewer: the difference would be that person's."""
    job.con.execute("update core.changes set team = 'P-ONE'")
    assert {row["reason"] for row in rows_of(job)} == {None}
    job.con.execute("update core.changes set title = 'Lighter pipettes'")
    job.con.execute(
        "delete from facts.symptom "
        "where person = (select min(person) from facts.symptom where team = 'C-ONE')"
    )
    assert {row["reason"] for row in rows_of(job)} == {NEARLY_SAID}


def test_what_an_interrupted_release_noted_is_dropped_by_the_next(job):
    rows_of(job)
    prepare(job.con, 14)
    said = earlier_statements(job.con, "discomfort/NECK")
    assert not [one for one in said if one.question.asked.startswith("change ")]


def test_an_order_by_lot_on_record_is_judged_as_a_stepped_roll_out(job):
    """Adherence is the mean of the months noted from completion on."""
    also_at(job, "LIGHT-B", "A-ONE", completed=date(2025, 4, 1), started=date(2025, 4, 1))
    job.con.execute(
        "update core.changes set allocation = 'LOT_ORDER', lot = 'TIMER-1' where change = 'LIGHT'"
    )
    assert {row["method"] for row in rows_of(job)} == {"staggered starts"}
    job.con.execute("update core.changes set allocation = 'LOT_ORDER', adherence_percent = 10")
    assert all(NO_RECORD in row["weaker"] for row in rows_of(job))
    job.con.execute("update core.changes set lot = 'TIMER-1'")
    assert {row["method"] for row in rows_of(job)} == {"stepped roll-out"}
    job.con.executemany(
        "insert into core.change_adherence values ('LIGHT', ?, ?, now()::timestamp)",
        [(date(2025, 6, 1), 0.0), (date(2025, 8, 1), 40.0), (date(2025, 9, 1), 60.0)],
    )
    entries = {entry.change: entry.adherence for entry in _entries(job)}
    assert entries == {"LIGHT": 0.5, "LIGHT-B": 0.1}


def test_quarters_pass_the_gate_one_by_one_and_each_check_is_said(job):
    """Two teams of 37 people against four of some 60: every quarter rounded to 5 points, limits outward."""
    also_at(job, "LIGHT-B", "A-ONE")
    said = effect_tables(job, frozenset())
    quarters = [row for row in said.event if row[:2] == ("LIGHT", "NECK")]
    assert [row[2] for row in quarters] == [-2, -1, 0, 1]
    assert quarters[1][3:] == (0.0, 0.0, 0.0, None, None, None)
    for _, _, quarter, points, low, high, changed, others, reason in quarters:
        if quarter != -1:
            assert reason is None
            assert points % 5 == low % 5 == high % 5 == 0
            assert low <= points <= high
            assert (changed, others) == ("35-39", "50-59")
    checks = {row[3]: row for row in said.check if row[:2] == ("LIGHT", "NECK")}
    names = [row[3] for row in said.check if row[:2] == ("LIGHT", "NECK")]
    assert names == [
        "Lots", "One team", "Before the start", "An earlier date", "A region it does not touch", "Use",
    ]  # fmt: skip
    assert "smallest p there can be is 0.067" in checks["Lots"][5]
    assert "points a quarter would have been seen in four of five cases" in checks["Before the start"][5]
    assert "not known for every team" in checks["Use"][5]
    assert checks["Use"][4] is None
    effect = next(row for row in said.effect if row[:3:2] == ("LIGHT", "NECK"))
    assert checks["One team"][5] in effect[18]


def test_a_quarter_with_few_people_is_withheld_by_name(job):
    job.con.execute("update core.changes set team = 'P-ONE'")
    job.con.execute(
        "delete from facts.symptom where team = 'P-ONE' and month between date '2025-10-01' and date "
        "'2025-12-01' "
        "and person > 'person-P-ONE-09'"
    )
    rows = {row[2]: row for row in effect_tables(job, frozenset()).event if row[1] == "NECK"}
    assert rows[1][3:6] == (None, None, None)
    assert rows[1][8] == TOO_SMALL
    assert rows[0][8] is None


def test_teams_chosen_on_the_outcome_get_no_picture(job):
    job.con.execute("update core.changes set chosen_on_outcome = true, team = 'P-ONE'")
    said = effect_tables(job, frozenset())
    assert said.event == []
    words = {row[5] for row in said.check if row[3] == "Before the start"}
    assert words == {CANNOT_DRAW[CHOSEN]}
