"""A key that changed since the last load: refused with the remedy, and nothing loaded."""

import csv
import json
from pathlib import Path

import pytest

from etl.home import Home
from etl.key_mark import key_mark
from etl.keys import Key
from etl.pseudonymise import pseudonymise
from etl.summary import FileRecord
from tests.support.keyed_institute import KEY, rows
from tests.support.load_files import everything, load, registers, write_all, write_csv

OTHER = Key("k1", KEY.secret[::-1])
LATER = Key("k2", KEY.secret)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A data home with the registers that name no person."""
    tables = {name: table for name, table in registers().items() if name != "people"}
    load(tmp_path, write_all(tmp_path / "in", tables))
    return tmp_path


def send(place: Path, name: str, key: Key, table: str = "people", mark: bool = True) -> Path:
    """Pseudonymise a table as the sending side does."""
    raw = write_csv(place / f"{name}.raw.csv", everything()[table])
    out = place / f"{name}.csv"
    pseudonymise(raw, ["person"], key, out)
    if not mark:
        key_mark(out).unlink()
    return out


def loaded(place: Path, file: Path, **more: bool) -> FileRecord:
    return load(place, [file], **more).files[0]


def key_rows(place: Path) -> list[tuple]:
    return rows(Home(place / "home"), "select label, fingerprint, first_file from core.pseudonym_key")


def test_the_first_file_sets_the_key_and_the_same_key_is_welcome(place: Path) -> None:
    assert loaded(place, send(place, "people_1", KEY)).outcome == "loaded"
    assert loaded(place, send(place, "surveys_1", KEY, "surveys")).outcome == "loaded"
    assert key_rows(place) == [("k1", KEY.fingerprint, "people_1.csv")]


@pytest.mark.parametrize("key", [OTHER, LATER])
def test_another_key_is_refused_with_the_remedy(place: Path, key: Key) -> None:
    loaded(place, send(place, "people_1", KEY))
    record = loaded(place, send(place, "people_2", key))
    assert record.outcome == "refused"
    assert record.code == "E_KEY"
    assert f"key {key.label} ({key.fingerprint})" in record.message
    assert f"key k1 ({KEY.fingerprint})" in record.message
    assert "Send the file again with the earlier key" in record.message
    home = Home(place / "home")
    assert rows(home, "select count(*) from core.people") == [(40,)]
    assert key_rows(place) == [("k1", KEY.fingerprint, "people_1.csv")]


@pytest.mark.parametrize("marked", [True, False])
def test_another_label_is_seen_without_a_side_file(place: Path, marked: bool) -> None:
    loaded(place, send(place, "people_1", KEY, mark=marked))
    record = loaded(place, send(place, "people_2", LATER, mark=False))
    assert (record.outcome, record.code) == ("refused", "E_KEY")
    assert "Pseudonyms of key k2, but the store holds those of key k1" in record.message


def test_a_refused_or_tried_file_does_not_set_the_key(place: Path) -> None:
    wrong = send(place, "people_1", OTHER)
    assert loaded(place, wrong, dry_run=True).outcome == "would load"
    wrong.write_text(wrong.read_text().replace("valid_from", "since"))
    assert loaded(place, wrong).outcome == "refused"
    assert loaded(place, send(place, "people_2", KEY)).outcome == "loaded"
    assert key_rows(place) == [("k1", KEY.fingerprint, "people_2.csv")]


def test_plain_codes_have_no_label_and_pass(place: Path) -> None:
    assert loaded(place, write_csv(place / "people_1.csv", registers()["people"])).outcome == "loaded"
    assert loaded(place, write_csv(place / "surveys_1.csv", everything()["surveys"])).outcome == "loaded"
    assert key_rows(place) == []


@pytest.mark.parametrize(
    "content",
    [
        "",
        "[]",
        "7",
        "{}",
        json.dumps({"scheme": "other", "label": "k1", "fingerprint": "0" * 8}),
        json.dumps({"scheme": "evenhand|v1|person", "label": "k1", "fingerprint": "<b>"}),
    ],
)
def test_a_damaged_side_file_refuses_the_file(place: Path, content: str) -> None:
    file = send(place, "people_1", KEY)
    key_mark(file).write_text(content)
    record = loaded(place, file)
    assert (record.outcome, record.code) == ("refused", "E_KEY")
    assert "side file of the pseudonym key is damaged" in record.message


def test_a_store_that_grew_labels_of_two_keys_takes_both(place: Path) -> None:
    """Two sites with a key of their own each, in one people file: known labels are those in the register."""
    both = [send(place, name, key) for name, key in (("one", KEY), ("two", LATER))]
    tables = [list(csv.DictReader(path.read_text().splitlines())) for path in both]
    loaded(place, write_csv(place / "people_all.csv", [*tables[0], *tables[1]]))
    assert loaded(place, send(place, "surveys_2", LATER, "surveys", mark=False)).outcome == "loaded"
