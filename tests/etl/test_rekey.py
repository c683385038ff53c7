"""A new key for a store that has published: the same people, the same rounding, no earlier pseudonym left."""

import datetime as dt
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from etl.bytesearch import files_holding
from etl.crosswalk import write_crosswalk
from etl.errors import EvenhandError
from etl.home import Home
from etl.keys import Key
from etl.pseudonym import pseudonym
from etl.pseudonymise import pseudonymise
from etl.rekey import rekey
from etl.release import make_release
from etl.release_chain import verify
from etl.release_door import open_release, pinned
from etl.release_ledger import set_id
from etl.store import open_store
from etl.tombstones import digest, withdrawn
from etl.withdraw import withdraw
from tests.support.keyed_institute import KEY, NAMES, STRANGER, every_text, institute, loaded, rows
from tests.support.load_files import NOW, everything, load, people, write_csv

NEXT = Key("k2", KEY.secret[::-1])
DAY = dt.date(2026, 11, 25)
GONE = "p003"
OLD_BYTES = [name.encode() for name in (*NAMES.values(), STRANGER)]


def with_june() -> dict[str, list]:
    """The institute of May, and in June once more every answer that counts."""
    tables = institute()
    again = [row | {"month": "2026-06"} for row in tables["surveys"] if row["month"] == "2026-05"]
    return tables | {"surveys": [row for row in tables["surveys"] if row["month"] != "2026-06"] + again}


def crosswalk(
    folder: Path, identifiers: list[str] | None = None, keys: tuple[Key, Key] = (KEY, NEXT)
) -> Path:
    """Make a crosswalk as the sending side does."""
    named = identifiers or [*people(), "never in the register"]
    raw = write_csv(folder / "everybody.csv", [{"Staff no": one, "x": ""} for one in named])
    write_crosswalk(raw, ["Staff no"], keys, folder / "crosswalk.csv")
    raw.unlink()
    return folder / "crosswalk.csv"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Loaded, somebody withdrawn, May published."""
    folder = tmp_path_factory.mktemp("template")
    home = loaded(folder, with_june())
    withdraw(home, NAMES[GONE], today=DAY)
    make_release(home, "2026-05", now=NOW)
    shutil.rmtree(folder / "in")
    return folder


@pytest.fixture
def place(template: Path, tmp_path: Path) -> Callable[[str], Home]:
    def copied(name: str) -> Home:
        shutil.copytree(template / "home", tmp_path / name, symlinks=True)
        return Home(tmp_path / name)

    return copied


def health(home: Home) -> pd.DataFrame:
    with pinned(home) as release:
        return release.table("health")


def test_a_rekeyed_store_publishes_what_it_would_have_and_changes_no_number(place, tmp_path) -> None:
    """Also the test of the test: with the tokens drawn anew, the same people's numbers change."""
    kept, rekeyed, redrawn = place("kept"), place("rekeyed"), place("redrawn")
    before = verify(rekeyed.current_release)
    rekey(rekeyed, crosswalk(tmp_path), today=DAY)
    assert verify(rekeyed.current_release) == before
    with open_store(redrawn, write=True) as con:
        con.execute("delete from release_private.token")
    for home in (kept, rekeyed, redrawn):
        make_release(home, "2026-06", now=NOW)
    editions = [open_release(home).editions() for home in (kept, rekeyed, redrawn)]
    # The hash covers every value of every table.
    assert editions[0] == editions[1]
    assert editions[0][0] == editions[2][0]
    months = ["level", "unit", "region"]
    found = health(rekeyed).query("period_kind == 'month' and reason.isna()").set_index(months)
    may, june = (found[found["period"] == month]["count_rounded"] for month in ("2026-05", "2026-06"))
    assert len(may) == 18
    assert (may.sort_index() == june.sort_index()).all()
    other = health(redrawn).query("period == '2026-06' and reason.isna()").set_index(months)["count_rounded"]
    assert (other.sort_index() != june.sort_index()).any()


def test_the_ledger_and_its_tokens_stay_and_go_with_the_new_pseudonym(place, tmp_path) -> None:
    home = place("home")
    ask = "select person, token from release_private.token"
    private = [
        f"select * from release_private.{t} order by all" for t in ("ledger", "contributor_set", "roster")
    ]
    before, tokens = [rows(home, query) for query in private], dict(rows(home, ask))
    summary = rekey(home, crosswalk(tmp_path), today=DAY)
    walk = {NAMES[one]: pseudonym(NEXT, one) for one in people()}
    assert dict(rows(home, ask)) == {walk[old]: token for old, token in tokens.items()}
    assert [rows(home, query) for query in private] == before
    assert {set_id(tokens) for _, tokens in before[1]} == {name for name, _ in before[1]}
    assert (summary.persons, summary.tokens, summary.withdrawals) == (39, 39, 1)


def test_no_earlier_pseudonym_is_found_in_any_table_or_byte_nor_is_the_crosswalk(place, tmp_path) -> None:
    home = place("home")
    before = {name: rows(home, f"select count(*) from {name}") for name in ("core.people", "core.set_aside")}
    assert files_holding(home.root, OLD_BYTES) == (home.person_db,)
    file = crosswalk(tmp_path)
    summary = rekey(home, file, today=DAY)
    assert files_holding(tmp_path, OLD_BYTES) == ()
    with open_store(home, write=False) as con:
        text = every_text(con)
    assert not [name for name in (*NAMES.values(), STRANGER) if name in text]
    assert digest(NAMES["p000"]) not in text
    assert {name: rows(home, f"select count(*) from {name}") for name in before} == before
    # A value that is a pseudonym goes over, one with a pseudonym in it is emptied.
    assert pseudonym(NEXT, "never in the register") in text
    assert not file.exists()
    assert summary.seen_before
    assert not summary.left_in
    assert "finds none in the new one" in str(summary)


def test_what_is_sent_with_the_new_key_is_known_and_the_earlier_key_is_refused(place, tmp_path) -> None:
    home = place("home")
    rekey(home, crosswalk(tmp_path), today=DAY)
    assert rows(home, "select label, fingerprint from core.pseudonym_key") == [("k2", NEXT.fingerprint)]
    raw = write_csv(tmp_path / "raw.csv", everything()["surveys"])
    records = []
    for key in (KEY, NEXT):
        out = tmp_path / f"surveys_{key.label}.csv"
        pseudonymise(raw, ["person"], key, out)
        records.append(load(tmp_path, [out]).files[0])
    assert (records[0].outcome, records[0].code) == ("refused", "E_KEY")
    assert "evenhand rekey" in records[0].message
    assert records[1].outcome == "loaded"
    # Everything is there already, except the answers of who withdrew, who stays out under the new name.
    assert records[1].rows_accepted == 0
    assert {count.reason: count.rows for count in records[1].reasons} == {"D_ROW": 351, "X_WITHDRAWN": 9}


def test_a_tombstone_holds_under_both_pseudonyms(place, tmp_path) -> None:
    home = place("home")
    rekey(home, crosswalk(tmp_path), today=DAY)
    with open_store(home, write=True) as con:
        stored = {code for (code,) in con.execute("select digest from core.tombstone").fetchall()}
        assert stored == {digest(NAMES[GONE]), digest(pseudonym(NEXT, GONE))} == set(withdrawn(home, con))


def test_the_facts_are_those_of_the_same_rows_under_new_names(place, tmp_path) -> None:
    home = place("home")
    query = "select person, local_date, strokes from facts.person_day order by all"
    before = rows(home, query)
    rekey(home, crosswalk(tmp_path), today=DAY)
    walk = {NAMES[one]: pseudonym(NEXT, one) for one in people()}
    assert rows(home, query) == sorted((walk[person], *rest) for person, *rest in before)
    assert len(before) > 100


def test_another_year_another_key(place, tmp_path) -> None:
    home = place("home")
    rekey(home, crosswalk(tmp_path), today=DAY)
    third = Key("k3", bytes(range(7, 39)))
    rekey(home, crosswalk(tmp_path, keys=(NEXT, third)), today=DAY)
    assert {person[:3] for (person,) in rows(home, "select person from core.people")} == {"k3:"}
    with open_store(home, write=True) as con:
        assert len(withdrawn(home, con)) == 3


def refused(home: Home, file: Path) -> str:
    """Try, and check that nothing was touched."""
    before = home.person_db.read_bytes()
    with pytest.raises(EvenhandError) as error:
        rekey(home, file, today=DAY)
    assert home.person_db.read_bytes() == before
    assert sorted(path.name for path in home.person_dir.iterdir()) == ["core.duckdb", "core.lock", "scratch"]
    assert file.exists()
    said = str(error.value)
    assert "\n" not in said
    assert not [name for name in NAMES.values() if name in said]
    return said


def test_somebody_left_out_or_another_key_refuses_the_crosswalk(place, tmp_path) -> None:
    home = place("home")
    some = [one for one in people() if one not in ("p005", "p006")]
    said = refused(home, crosswalk(tmp_path, some))
    assert "2 of 39 persons in the store are not in the crosswalk" in said
    (tmp_path / "crosswalk.csv").unlink()
    with open_store(home, write=True) as con:
        con.execute("insert into core.pseudonym_key values ('k1', ?, 'x', ?)", ["0" * 8, DAY])
    assert f"leads from key k1 ({KEY.fingerprint})" in refused(home, crosswalk(tmp_path))


def test_a_crosswalk_applied_before_says_so(place, tmp_path) -> None:
    home = place("home")
    copy = tmp_path / "copy.csv"
    shutil.copy(crosswalk(tmp_path), copy)
    rekey(home, tmp_path / "crosswalk.csv", today=DAY)
    assert "are of key k2" in (said := refused(home, copy))
    assert said.endswith("Delete the crosswalk.")


def test_a_copy_left_in_the_data_home_is_named(place, tmp_path) -> None:
    home = place("home")
    (home.root / "raw").mkdir()
    (home.root / "raw" / "old.csv").write_text(f"x,{NAMES['p007']}\n")
    summary = rekey(home, crosswalk(tmp_path), today=DAY)
    assert [path.name for path in summary.left_in] == ["old.csv"]
    assert "Delete these files, which still hold earlier pseudonyms: old.csv." in str(summary)


def test_without_a_store_or_anybody_in_it(tmp_path) -> None:
    file = crosswalk(tmp_path)
    with pytest.raises(EvenhandError, match="no person store yet"):
        rekey(Home(tmp_path / "nothing"), file)
    home = Home(tmp_path / "empty")
    with open_store(home, write=True):
        pass
    assert "Nobody is in the person store" in refused(home, file)


def test_contested_keys_of_persons_are_dropped_and_counted(place, tmp_path) -> None:
    home = place("home")
    with open_store(home, write=True) as con:
        con.execute("insert into core.conflict_key values ('surveys', 1, 1, ?)", [digest(NAMES["p009"])])
        con.execute("insert into core.conflict_key values ('teams', 2, 1, null)")
    summary = rekey(home, crosswalk(tmp_path), today=DAY)
    assert summary.forgotten == 1
    assert "1 contested keys are forgotten" in str(summary)
    assert "byte search" not in str(replace(summary, seen_before=False))
    assert rows(home, "select contract from core.conflict_key") == [("teams",)]


@pytest.mark.parametrize(
    ("kind", "words"), [("varchar", "Column note of core.odd"), ("blob", "The rebuilt store")]
)
def test_a_place_that_nobody_thought_of_keeps_the_store_as_it_is(place, tmp_path, kind, words) -> None:
    """A table unknown to the re-keying that holds an earlier pseudonym, as text and as bytes."""
    home = place("home")
    with open_store(home, write=True) as con:
        con.execute(f"create table core.odd (note {kind})")
        con.execute("insert into core.odd values (?)", [f"see {NAMES['p010']}".encode()])
    said = refused(home, crosswalk(tmp_path))
    assert words in said
    assert "The store is unchanged" in said


def test_a_crosswalk_that_cannot_be_deleted_is_named(place, tmp_path, monkeypatch) -> None:
    home, file, delete = place("home"), crosswalk(tmp_path), Path.unlink

    def stuck(path: Path, missing_ok: bool = False) -> None:
        if path == file:
            raise PermissionError(13, "Permission denied")
        delete(path, missing_ok)

    monkeypatch.setattr(Path, "unlink", stuck)
    with pytest.raises(EvenhandError, match=r"re-keyed, but the crosswalk cannot be deleted.*Delete it now"):
        rekey(home, file, today=DAY)
    assert {person[:3] for (person,) in rows(home, "select person from core.people")} == {"k2:"}
