"""The crosswalk file: made of raw identifiers and two keys, for its owner only, refused if damaged."""

import stat
from pathlib import Path

import pytest

from dashboards.cli import main
from etl.bytesearch import files_naming
from etl.crosswalk import read_crosswalk, write_crosswalk
from etl.errors import EvenhandError, FileRefused
from etl.keys import Key, create_key
from etl.pseudonym import pseudonym
from etl.rekey import _pattern
from tests.support.keyed_institute import KEY, loaded, rows
from tests.support.load_files import people, registers

NEXT = Key("k2", KEY.secret[::-1])


@pytest.fixture
def made(tmp_path: Path) -> Path:
    raw = tmp_path / "people.csv"
    raw.write_text("\ufeffNo;Deputy\n 007 ;8\n7;007\n;\n", encoding="utf-8")
    write_crosswalk(raw, ["No", "Deputy"], (KEY, NEXT), tmp_path / "walk.csv", delimiter=";")
    return tmp_path / "walk.csv"


def test_everybody_of_all_columns_is_in_it_once_and_nothing_of_the_register(made: Path) -> None:
    walk = read_crosswalk(made)
    assert walk.pairs == {pseudonym(KEY, one): pseudonym(NEXT, one) for one in ("007", "7", "8")}
    assert (str(walk.old), str(walk.new)) == (f"k1 ({KEY.fingerprint})", f"k2 ({NEXT.fingerprint})")
    assert "k1:" not in repr(walk)
    lines = made.read_text().splitlines()
    assert lines[0] == f"k1 {KEY.fingerprint},k2 {NEXT.fingerprint}"
    assert lines[1:] == sorted(lines[1:])
    assert stat.S_IMODE(made.stat().st_mode) == 0o600


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("No\n", "Nobody is named"),
        ("No\n\n", "Row 1 has 0 cells"),
        ("", "stands 0 times"),
        ("Who\n7\n", "'No' stands 0 times"),
        ("No\n7\n8,9\n", "Row 2 has 2 cells"),
        (f"No\n{pseudonym(KEY, '7')}\n", "row 1 holds a pseudonym already"),
        ("No\n7\u200b8\n", "row 1 holds an invisible character"),
    ],
)
def test_a_register_that_cannot_be_keyed_leaves_nothing(tmp_path: Path, text: str, words: str) -> None:
    raw = tmp_path / "people.csv"
    raw.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefused, match=words):
        write_crosswalk(raw, ["No"], (KEY, NEXT), tmp_path / "walk.csv")
    assert [path.name for path in tmp_path.iterdir()] == ["people.csv"]


def test_keys_of_one_label_are_refused_and_no_file_is_overwritten(made: Path) -> None:
    with pytest.raises(EvenhandError, match=r"labelled k1.*--label k2"):
        write_crosswalk(made, ["No"], (KEY, Key("k1", NEXT.secret)), made.with_name("other.csv"))
    with pytest.raises(FileRefused, match="exists already"):
        write_crosswalk(made, ["No"], (KEY, NEXT), made)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda lines: [], "first line does not name two keys"),
        (lambda lines: lines[1:], "first line does not name two keys"),
        (lambda lines: [f"{lines[0]},k3 {'0' * 8}", *lines[1:]], "first line does not name two keys"),
        (lambda lines: lines[:1], "not every person a pseudonym of their own"),
        (lambda lines: [*lines, lines[1]], "row 4 names somebody once more"),
        (lambda lines: [*lines, "x,y"], "row 4 is no pair"),
        (lambda lines: [*lines, lines[1] + ",z"], "row 4 is no pair"),
        (lambda lines: [*lines, ",".join(reversed(lines[1].split(",")))], "row 4 is no pair"),
        (
            lambda lines: [lines[0], lines[1], f"{lines[2].split(',')[0]},{lines[1].split(',')[1]}"],
            "of their own",
        ),
        (lambda lines: [line.replace("k2", "k1") for line in lines], "of their own"),
    ],
)
def test_a_damaged_crosswalk_is_refused_without_naming_anybody(made: Path, change, words: str) -> None:
    lines = made.read_text().splitlines()
    made.write_text("".join(f"{line}\n" for line in change(lines)))
    with pytest.raises(FileRefused) as error:
        read_crosswalk(made)
    assert words in str(error.value)
    assert "k1:" not in str(error.value)


def test_a_crosswalk_that_others_can_read_or_that_is_not_there_is_refused(made: Path) -> None:
    made.chmod(0o640)
    with pytest.raises(FileRefused, match="chmod 600"):
        read_crosswalk(made)
    with pytest.raises(FileRefused, match="cannot be used"):
        read_crosswalk(made.with_name("none.csv"))


def test_the_byte_search_finds_names_across_chunks_and_inside_other_names(
    made: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    walk = read_crosswalk(made)
    names = frozenset(old.encode() for old in walk.pairs)
    one = next(iter(walk.pairs))
    monkeypatch.setattr("etl.bytesearch._CHUNK", 16)
    folder = made.parent / "files"
    folder.mkdir()
    for name, text in {
        "plain": f"before {one} after",
        "inside": f"k1:{one}",
        "other": pseudonym(KEY, "nobody"),
        "new": next(iter(walk.pairs.values())),
        "empty": "",
    }.items():
        (folder / name).write_text(text)
    (folder / "link").symlink_to(folder / "plain")
    found = files_naming(folder, _pattern(walk), names)
    assert [path.name for path in found] == ["inside", "plain"]
    assert files_naming(folder / "plain", _pattern(walk), names) == (folder / "plain",)


def run(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["evenhand", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


def test_both_sides_by_command(tmp_path, monkeypatch, capfd) -> None:
    keys = [tmp_path / "k1.key", tmp_path / "k2.key"]
    first = create_key(keys[0], "k1")
    assert run(monkeypatch, "pseudonymise", "--new-key", keys[1], "--label", "k2") == 0
    raw, walk = tmp_path / "everybody.csv", tmp_path / "crosswalk.csv"
    raw.write_text("Staff no\n" + "".join(f"{one}\n" for one in people()))
    made = [
        "pseudonymise",
        raw,
        "--column",
        "Staff no",
        "--key",
        keys[0],
        "--next-key",
        keys[1],
        "--to",
        walk,
    ]
    assert run(monkeypatch, *made) == 0
    assert f"40 persons from key k1 ({first.fingerprint}) to key k2" in capfd.readouterr().out
    assert run(monkeypatch, "rekey", walk, "--home", tmp_path / "nothing") == 1
    assert "no person store yet" in capfd.readouterr().err
    tables = {name: registers()[name] for name in ("teams", "people")}
    tables["people"] = [row | {"person": pseudonym(first, row["person"])} for row in tables["people"]]
    home = loaded(tmp_path, tables)
    copy = walk.read_bytes()
    assert run(monkeypatch, "rekey", walk, "--home", home.root) == 0
    assert not walk.exists()
    walk.write_bytes(copy)
    walk.chmod(0o600)
    assert run(monkeypatch, "rekey", walk, "--home", home.root) == 1
    told = capfd.readouterr()
    assert "40 persons in 40 rows went from key k1" in told.out
    assert "The crosswalk is deleted here" in told.out
    assert (
        told.err.strip().splitlines()[-1].startswith("evenhand: The pseudonyms of this store are of key k2")
    )
    assert {person[:3] for (person,) in rows(home, "select person from core.people")} == {"k2:"}
    assert "k1:" not in told.out + told.err
