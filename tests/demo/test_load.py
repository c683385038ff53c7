"""The demo through the loader: accepted and set aside, by reason, exactly as the truth says."""

from collections import Counter
from itertools import groupby
from pathlib import Path

import duckdb
import pytest

from demo_data.dialect import PROFILES
from demo_data.generate import files
from demo_data.world import World
from etl.facts import build_facts
from etl.home import Home
from etl.load import load_files
from etl.settings import Settings
from etl.store import content_hash, open_store
from etl.summary import FileRecord
from tests.demo.conftest import Demo


def load_all(home: Home, out: Path) -> list[FileRecord]:
    records: list[FileRecord] = []
    for profile, group in groupby(files(out), key=lambda pair: pair[1]):
        records += load_files(home, [path for path, _ in group], profile).files
    return records


@pytest.fixture(scope="module")
def loaded(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, list[FileRecord]]:
    home = Home(tmp_path_factory.mktemp("demo-loaded"))
    return home, load_all(home, demo.out)


def set_aside(con: duckdb.DuckDBPyConnection) -> dict[str, Counter[str]]:
    """Count each row set aside once, by file and reason."""
    found: dict[str, Counter[str]] = {}
    for name, reason, rows in con.execute(
        "select file_name, reason, count(*) from core.set_aside join core.file_ledger using (file_id)"
        " where counts_as_row group by all"
    ).fetchall():
        found.setdefault(name, Counter())[reason] = rows
    return found


def test_every_file_is_accepted_and_set_aside_as_planted(
    demo: Demo, loaded: tuple[Home, list[FileRecord]]
) -> None:
    home, records = loaded
    assert {record.outcome for record in records} == {"loaded"}
    with open_store(home, write=False) as con:
        aside = set_aside(con)
    told = demo.truth["files"]
    assert {record.file for record in records} == set(told)
    for record in records:
        want = told[record.file]
        assert dict(aside.get(record.file, {})) == want["set_aside"], record.file
        assert (record.rows_in, record.rows_accepted) == (want["rows_in"], want["accepted"]), record.file


def test_the_store_holds_the_clean_rows(demo: Demo, loaded: tuple[Home, list[FileRecord]]) -> None:
    home, _ = loaded
    want: Counter[str] = Counter()
    for told in demo.truth["files"].values():
        want[told["contract"]] += told["accepted"]
    with open_store(home, write=False) as con:
        for contract, rows in want.items():
            found = con.execute(f"select count(*) from core.{contract}").fetchone()
            assert found == (rows,), contract


def test_measured_forces_arrive_in_millinewtons_from_both_units(
    loaded: tuple[Home, list[FileRecord]],
) -> None:
    """1.20 kgf x 9.80665 = 11.768 N; 11.0 N stays; what nobody measured stays empty."""
    home, _ = loaded
    with open_store(home, write=False) as con:
        found = dict(con.execute("select instrument, plunger_mn from core.instruments").fetchall())
    assert found["N-MAN-20"] == 11768
    assert found["B-MAN-20"] == 11000
    assert found["N-REP-5"] is None
    assert found["Q-REP-5"] is None


def test_everything_a_second_time_changes_nothing(demo: Demo, loaded: tuple[Home, list[FileRecord]]) -> None:
    home, _ = loaded
    with open_store(home, write=False) as con:
        before = content_hash(con)
    assert {record.outcome for record in load_all(home, demo.out)} == {"already loaded"}
    with open_store(home, write=False) as con:
        assert content_hash(con) == before


def test_facts_clip_and_leave_out_the_planted_overlaps_and_find_the_true_hours(
    demo: Demo, small: World, loaded: tuple[Home, list[FileRecord]]
) -> None:
    """Hours agree to 0.5 %: conflicts take bouts along, early starters add some, stroke logs blur edges."""
    home, _ = loaded
    planted: Counter[str] = Counter()
    for told in demo.truth["files"].values():
        planted.update(told["planted"])
    with open_store(home, write=True) as con:
        build_facts(con, Settings())
        overlaps = dict(con.execute("select reason, count(*) from facts.overlap group by all").fetchall())
        hours = dict(
            con.execute(
                "select team, sum(pipetting_us) / 3.6e9 from facts.person_day group by all"
            ).fetchall()
        )
    assert overlaps == {
        "E_OVERLAP": planted["bout inside another"],
        "W_CLIP": planted["starts a minute early"],
    }
    length = (small.bouts.end - small.bouts.start) / 3600
    for number, team in enumerate(small.plan.teams):
        assert hours[team.code] == pytest.approx(length[small.bouts.team == number].sum(), rel=0.005)


def test_the_two_dirty_files_are_refused_whole(demo: Demo, tmp_path: Path) -> None:
    home = Home(tmp_path / "home")
    paths = sorted((demo.out / "refused").iterdir())
    records = load_files(home, paths, PROFILES / "north.toml").files
    codes = {record.file: (record.outcome, record.code) for record in records}
    assert codes == {
        "north_bouts_binary.csv": ("refused", "E_CONTAINER"),
        "north_bouts_no_end.csv": ("refused", "E_HEADER"),
    }
    with open_store(home, write=False) as con:
        assert con.execute("select count(*) from core.file_ledger").fetchone() == (0,)
