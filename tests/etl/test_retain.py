"""Retention: what is past its time goes, to the local day, and what was published stays."""

import datetime as dt
import shutil
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from dashboards.cli import main
from etl.bytesearch import files_holding
from etl.errors import EvenhandError
from etl.facts import build_facts
from etl.home import Home
from etl.retain import first_kept_day, retain
from etl.settings import RetentionSettings, Settings, load_settings
from etl.sqlfiles import sql
from etl.store import content_hash, open_store
from etl.tombstones import digest
from tests.support.keyed_institute import NAMES, STRANGER, institute, keyed, loaded, rows
from tests.support.load_files import Row

TODAY = dt.date(2028, 5, 9)  # 24 months and the current one: from 1 May 2026
GONE, LEAVER, STAYS = NAMES["p003"], NAMES["p004"], NAMES["p005"]


def tables() -> dict[str, list[Row]]:
    """One institute with rows on both sides of 1 May 2026, 00:00 in Zurich (22:00 UTC the day before)."""
    made = institute()
    bout, stroke, survey = made["bouts"][0], made["strokes"][0], made["surveys"][1]
    spells = {
        GONE: {"valid_from": "2024-01-01", "valid_to": "2026-04-30"},
        LEAVER: {"valid_from": "2024-01-01", "valid_to": "2026-05-01"},
    }
    for name in ("bouts", "strokes", "surveys"):
        made[name] = [row for row in made[name] if row["person"] not in spells]
    made["people"] = [row | spells.get(row["person"], {}) for row in made["people"]]
    made["bouts"] += [
        bout | {"person": GONE, "start": "2026-04-30 22:00", "end": "2026-05-01 00:00"},
        bout | {"person": STAYS, "start": "2026-04-30 23:00", "end": "2026-05-01 00:00:01"},
        bout | {"person": STAYS, "start": "2026-04-02 23:00", "end": "2026-04-02 23:30"},
    ]
    made["strokes"] += [
        stroke | {"person": STAYS, "at": "2026-04-30T21:59:59Z"},
        stroke | {"person": STAYS, "at": "2026-04-30T22:00:00Z"},
    ]
    made["surveys"] += [survey | {"person": GONE, "month": "2026-04"}, survey | {"month": "2025-12"}]
    return made


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("template")
    with open_store(loaded(folder, tables()), write=True) as con:
        build_facts(con, Settings())
        con.execute(sql("store/030_tokens"))
        con.execute("insert into release_private.token select distinct person, md5(person) from core.people")
        con.execute(
            "insert into release_private.contributor_set select 'set', list(token) from release_private.token"
        )
    return folder


@pytest.fixture
def home(template: Path, tmp_path: Path) -> Home:
    shutil.copytree(template / "home", tmp_path / "home")
    return Home(tmp_path / "home")


def test_rows_before_the_first_kept_local_day_go(home: Home) -> None:
    summary = retain(home, today=TODAY)
    assert summary.cutoff == dt.date(2026, 5, 1)
    assert summary.rows == {"people": 1, "bouts": 2, "strokes": 1, "surveys": 2}
    early = dt.datetime(2026, 4, 30, 22, tzinfo=dt.UTC).timestamp() * 1_000_000
    assert rows(home, "select min(at_us) from core.strokes") == [(early,)]
    assert rows(home, "select min(end_us) from core.bouts") == [(early + 1_000_000,)]
    assert rows(home, "select min(month) from core.surveys") == [(dt.date(2026, 5, 1),)]
    assert rows(home, "select valid_to from core.people where person = ?", [LEAVER]) == [
        (dt.date(2026, 5, 1),)
    ]


def test_facts_equal_those_of_a_store_that_was_only_given_the_later_rows(home: Home, tmp_path: Path) -> None:
    retain(home, today=TODAY)
    kept = tables()
    kept["people"] = [row for row in kept["people"] if row["person"] != GONE]
    kept["bouts"] = [row for row in kept["bouts"] if row["end"] > "2026-05-01 00:00:00"]
    kept["strokes"] = [row for row in kept["strokes"] if row["at"] != "2026-04-30T21:59:59Z"]
    kept["surveys"] = [row for row in kept["surveys"] if row["month"] >= "2026-05"]
    other = loaded(tmp_path / "other", kept)
    with open_store(other, write=True) as con:
        build_facts(con, Settings())
        expected = content_hash(con)
    with open_store(home, write=False) as con:
        assert content_hash(con) == expected
    for table in ("person_day", "symptom", "roster"):
        query = f"select * from facts.{table} order by all"
        assert rows(home, query) == rows(other, query)


def test_a_person_of_whom_nothing_is_left_is_gone_from_the_bytes_and_the_token_stays(home: Home) -> None:
    before = rows(home, "select * from release_private.contributor_set")
    assert files_holding(home.person_dir, [GONE.encode()]) == (home.person_db,)
    summary = retain(home, today=TODAY)
    assert summary.persons == 1
    assert summary.seen_before
    assert "A byte search found them" in str(summary)
    assert files_holding(home.person_dir, [GONE.encode()]) == ()
    assert files_holding(home.person_dir, [LEAVER.encode()]) == (home.person_db,)
    assert rows(home, "select * from release_private.contributor_set") == before
    assert rows(home, "select 1 from release_private.token where person = ?", [GONE]) == []
    assert rows(home, "select count(*) from release_private.token") == [(len(NAMES) - 1,)]


def test_contested_keys_go_with_the_last_row_of_their_person_and_others_stay(home: Home) -> None:
    keys = [(1, digest(GONE)), (2, digest(LEAVER)), (3, digest(STAYS)), (4, None)]
    with open_store(home, write=True) as con:
        con.executemany(
            "insert into core.conflict_key by name "
            "select 'surveys' as contract, ? as key_hash, ? as person_digest, 1 as file_id",
            keys,
        )
    retain(home, today=TODAY)
    left = rows(home, "select key_hash, person_digest from core.conflict_key order by key_hash")
    assert left == keys[1:]


def test_removed_rows_are_accounted_for(home: Home) -> None:
    retain(home, today=TODAY)
    found = rows(home, "select table_name, cause, rows, removed_on from core.removal order by all")
    assert found == [
        (name, "RETENTION", n, TODAY)
        for name, n in (("bouts", 2), ("people", 1), ("strokes", 1), ("surveys", 2))
    ]


def test_values_set_aside_go_with_files_loaded_before_the_kept_time(home: Home) -> None:
    kept = rows(home, "select count(*) from core.set_aside where value is not null")
    assert retain(home, today=TODAY).values == 0
    assert rows(home, "select count(*) from core.set_aside where value is not null") == kept
    with open_store(home, write=True) as con:
        con.execute("update core.file_ledger set loaded_at = '2026-04-30 23:00'")
    summary = retain(home, today=TODAY)
    assert summary.values == kept[0][0] > 0
    assert rows(home, "select count(*) from core.set_aside where value is not null") == [(0,)]
    assert files_holding(home.person_dir, [STRANGER.encode()]) == ()


def test_a_dry_run_counts_and_changes_nothing(home: Home) -> None:
    before = home.person_db.read_bytes()
    tried = retain(home, today=TODAY, dry_run=True)
    assert home.person_db.read_bytes() == before
    assert "2 from bouts, 1 from people, 1 from strokes, 2 from surveys would be removed" in str(tried)
    done = retain(home, today=TODAY)
    assert (done.rows, done.values, done.persons) == (tried.rows, tried.values, tried.persons)


def test_with_nothing_past_its_time_the_store_is_left_alone(home: Home) -> None:
    before = home.person_db.stat().st_ino
    summary = retain(home, today=dt.date(2026, 6, 1))
    assert "No row is from before 2024-06-01." in str(summary)
    assert home.person_db.stat().st_ino == before


def test_a_store_without_facts_and_tokens_is_served_too(tmp_path: Path) -> None:
    home = loaded(tmp_path, tables())
    told: list[str] = []
    summary = retain(
        home, today=TODAY, progress=lambda label, done, total: told.append(f"{label} {done}/{total}")
    )
    assert summary.rows["bouts"] == 2
    assert told == ["count 0/2", "rebuild 1/2", "done 2/2"]
    assert rows(home, "select 1 from duckdb_tables() where schema_name = 'facts'") == []


def test_settings_decide_how_long(home: Home) -> None:
    home.settings_file.write_text("[retention]\nperson_months = 25\n")
    assert retain(home, today=TODAY).cutoff == dt.date(2026, 4, 1)
    longer = Settings(retention=RetentionSettings(person_months=60))
    assert retain(home, today=TODAY, settings=longer).cutoff == dt.date(2023, 5, 1)


@pytest.mark.parametrize("months", [14, 121, 0, -1])
def test_a_time_too_short_or_too_long_is_refused(home: Home, months: int) -> None:
    with pytest.raises(ValidationError):
        RetentionSettings(person_months=months)
    home.settings_file.write_text(f"[retention]\nperson_months = {months}\n")
    with pytest.raises(EvenhandError, match=r"retention\.person_months"):
        load_settings(home.settings_file)


@given(st.dates(dt.date(1980, 1, 1), dt.date(2200, 1, 1)), st.integers(15, 120))
def test_the_first_kept_day_is_what_pandas_says(today: dt.date, months: int) -> None:
    assert first_kept_day(today, months) == (pd.Period(today, "M") - months).start_time.date()


def test_old_delivered_files_are_counted(home: Home) -> None:
    count = len(tables())
    limit = dt.date.today() + dt.timedelta(days=91)
    assert retain(home, today=limit, dry_run=True).old_files == count
    assert f"{count} files were loaded more than 90 days ago" in str(retain(home, today=limit, dry_run=True))
    assert retain(home, today=limit - dt.timedelta(days=3), dry_run=True).old_files == 0


def test_the_command_counts_and_names_nobody(
    home: Home, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    for words in (["--dry-run"], []):
        monkeypatch.setattr("sys.argv", ["evenhand", "retain", *words, "--home", str(home.root)])
        with pytest.raises(SystemExit) as ended:
            main()
        assert not ended.value.code
    said = capfd.readouterr()
    assert "persons nothing would be left" in said.out
    assert "k1:" not in said.out + said.err


def test_without_a_store_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(EvenhandError, match="no person store yet"):
        retain(Home(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_the_tables_of_this_test_lose_nobody_by_mistake() -> None:
    assert {row["person"] for row in keyed(tables())["people"]} == set(NAMES.values())
