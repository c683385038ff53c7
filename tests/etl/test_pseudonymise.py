"""Rewriting a file for sending: what comes out, and what is refused with nothing left behind."""

import csv
import json
import re
import stat
from pathlib import Path

import pytest

from dashboards.cli import app, main
from etl.errors import FileRefused
from etl.key_mark import key_mark
from etl.keys import Key, create_key
from etl.pseudonym import pseudonym
from etl.pseudonymise import pseudonymise

KEY = Key("k1", bytes(range(248, -1, -8)))
HEADER = "Staff no,Task,Start,Strokes"
CANARY = "P90001CANARY"
ROWS = [
    f"{CANARY},SERIAL,2026-03-02 08:00,120",
    "p10234,PCR,2026-03-02 09:00,95",
    f" {CANARY} ,PCR,2026-03-02,7",
]


def write(folder: Path, *lines: str, name: str = "raw.csv", encoding: str = "utf-8") -> Path:
    path = folder / name
    path.write_bytes("\n".join(lines).encode(encoding) + "\n".encode(encoding))
    return path


def read(path: Path, **options: str) -> list[list[str]]:
    encoding = options.pop("encoding", "utf-8")
    with path.open(encoding=encoding, newline="") as source:
        return list(csv.reader(source, **options))  # type: ignore[arg-type]


def refused(
    folder: Path, file: Path, match: str, columns: tuple[str, ...] = ("Staff no",), **options: object
) -> str:
    """Check that a file is refused, that nothing is left behind, and that no value is told."""
    before = sorted(folder.iterdir())
    with pytest.raises(FileRefused, match=match) as caught:
        pseudonymise(file, columns, KEY, folder / "out.csv", **options)  # type: ignore[arg-type]
    assert sorted(folder.iterdir()) == before
    assert CANARY not in str(caught.value)
    assert caught.value.__cause__ is None
    return str(caught.value)


def test_only_the_named_column_changes(tmp_path: Path) -> None:
    summary = pseudonymise(write(tmp_path, HEADER, *ROWS), ["Staff no"], KEY, tmp_path / "out.csv")
    header, *rows = read(tmp_path / "out.csv")
    assert header == HEADER.split(",")
    assert [row[0] for row in rows] == [pseudonym(KEY, raw) for raw in (CANARY, "P10234", CANARY)]
    assert [row[1:] for row in rows] == [line.split(",")[1:] for line in ROWS]
    assert (summary.rows, summary.persons, summary.blanks) == (3, 2, 0)
    assert stat.S_IMODE((tmp_path / "out.csv").stat().st_mode) == 0o600
    assert str(summary).endswith(f"3 rows, 2 persons; key k1, fingerprint {KEY.fingerprint}")
    assert CANARY not in (tmp_path / "out.csv").read_text()


def test_the_side_file_names_the_key_and_shows_none_of_it(tmp_path: Path) -> None:
    pseudonymise(write(tmp_path, HEADER, *ROWS), ["Staff no"], KEY, tmp_path / "out.csv")
    mark = json.loads((tmp_path / "out.csv.key.json").read_text())
    assert mark == {"scheme": "evenhand|v1|person", "label": "k1", "fingerprint": KEY.fingerprint}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.csv", "out.csv.key.json", "raw.csv"]


def test_several_columns_semicolons_and_an_old_encoding(tmp_path: Path) -> None:
    file = write(tmp_path, "Prüfer;Staff no;Örtchen", f"p10234;{CANARY};Büro;", encoding="cp1252")
    file.write_bytes(file.read_bytes().replace(b";\n", b"\n"))
    pseudonymise(file, ["Staff no", "Prüfer"], KEY, tmp_path / "out.csv", delimiter=";", encoding="cp1252")
    header, row = read(tmp_path / "out.csv", delimiter=";", encoding="cp1252")
    assert header == ["Prüfer", "Staff no", "Örtchen"]
    assert row == [pseudonym(KEY, "P10234"), pseudonym(KEY, CANARY), "Büro"]


def test_quoted_cells_and_line_breaks_survive(tmp_path: Path) -> None:
    file = tmp_path / "raw.csv"
    file.write_text('"Staff no","Remark, ""short"""\r\nP10234,"two\nlines, one cell"\r\n', newline="")
    pseudonymise(file, ["Staff no"], KEY, tmp_path / "out.csv")
    assert read(tmp_path / "out.csv")[1] == [pseudonym(KEY, "P10234"), "two\nlines, one cell"]


def test_a_byte_order_mark_is_no_part_of_the_header(tmp_path: Path) -> None:
    file = write(tmp_path, "\ufeff" + HEADER, *ROWS)
    assert pseudonymise(file, ["Staff no"], KEY, tmp_path / "out.csv").rows == 3


def test_empty_identifiers_stay_empty_and_are_counted(tmp_path: Path) -> None:
    file = write(tmp_path, HEADER, *ROWS, "  ,PCR,2026-03-02,7")
    summary = pseudonymise(file, ["Staff no"], KEY, tmp_path / "out.csv")
    assert read(tmp_path / "out.csv")[-1][0] == ""
    assert "1 of the identifier cells empty" in str(summary)


def test_a_header_without_rows_is_passed_on(tmp_path: Path) -> None:
    assert pseudonymise(write(tmp_path, HEADER), ["Staff no"], KEY, tmp_path / "out.csv").rows == 0


@pytest.mark.parametrize(
    ("lines", "match"),
    [
        ([HEADER + ",Surname", ROWS[0] + ",Doe"], "'Surname' looks like a name of a person"),
        ([HEADER + ",Payroll number", ROWS[0] + ",1"], "'Payroll number' looks like a staff number"),
        (
            [HEADER + ",Note", ROWS[1] + ",", ROWS[0] + ",jo@example.org"],
            r"'Note' looks like a e-mail.*row 2",
        ),
        ([HEADER + ",Note", ROWS[0] + ",+44 20 7946 0958"], "'Note' looks like a phone number"),
        ([HEADER + ",Note", ROWS[0] + ",X4321"], "'Note' looks like a staff number"),
        ([HEADER + ",Note", *(f"{row},{CANARY.lower()}-b" for row in (ROWS[0], ROWS[2]))], "'Note'.*copy of"),
        ([HEADER + ",jo@example.org", ROWS[0] + ",1"], "'number 5' looks like a e-mail"),
    ],
)
def test_a_direct_identifier_in_another_column_refuses_the_file(
    tmp_path: Path, lines: list[str], match: str
) -> None:
    said = refused(tmp_path, write(tmp_path, *lines), match, staff_pattern=re.compile("X[0-9]{4}"))
    assert said.startswith("E_PII: ")
    assert "example.org" not in said


def test_a_number_that_happens_to_equal_an_identifier_is_no_copy(tmp_path: Path) -> None:
    lines = [f"{1000 + i},PCR,2026-03-02,{1000 + i * (i > 2)}" for i in range(12)]
    half = [f"{1000 + i},PCR,2026-03-02,{1000 + i if i < 6 else 7}" for i in range(12)]
    short = [f"{i},PCR,2026-03-02,{i}" for i in range(12)]
    refused(tmp_path, write(tmp_path, HEADER, *lines), "'Strokes'.*copy of the identifier")
    for number, rows in enumerate((half, short)):
        file = write(tmp_path, HEADER, *rows, name=f"{number}.csv")
        assert pseudonymise(file, ["Staff no"], KEY, tmp_path / f"{number}.out.csv").rows == 12


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"", "E_EMPTY: The file is empty"),
        (b"Staff no,Task\nP1\n", "E_SHAPE: Row 1 has 1 cells, the header has 2"),
        (b'Staff no,Task\nP1,"open\n', "E_SHAPE: Not strict CSV"),
        (b'Staff no,Task\nP1,"a"b\n', "E_SHAPE: Not strict CSV"),
        (b"Staff no,Task\nP1,\xff\xfe\n", "E_ENCODING: The file is not utf-8 text"),
        (b"PK\x03\x04\xff\xff\xff", "E_ENCODING: The file is not utf-8 text"),
        (b"Staff no,Staff no\nP1,P2\n", "stands 2 times"),
        (b"Task\nPCR\n", "stands 0 times"),
        (b"P90001CANARY,PCR\n", "stands 0 times"),
        (b"Staff no\nk1:HJRP64KQ7FRJYUGPFWUIEJHR7F\n", "'Staff no', row 1 holds a pseudonym already"),
        (b"Staff no\nP1\nP90001CANARY\x00\n", "row 2 holds an invisible character"),
        ("Staff no\nP90001CANARY\u200b\n".encode(), "row 1 holds an invisible character"),
    ],
)
def test_a_file_that_is_not_right_is_refused(tmp_path: Path, content: bytes, match: str) -> None:
    (tmp_path / "raw.csv").write_bytes(content)
    refused(tmp_path, tmp_path / "raw.csv", match)


@pytest.mark.parametrize("name", ["raw.xlsx", "raw.parquet", "raw", "raw.csv.gz"])
def test_other_formats_are_told_to_come_as_csv(tmp_path: Path, name: str) -> None:
    refused(tmp_path, write(tmp_path, HEADER, *ROWS, name=name), "Only CSV files")


def test_wrong_options_are_refused(tmp_path: Path) -> None:
    file = write(tmp_path, HEADER, *ROWS)
    refused(tmp_path, file, "delimiter must be one sign", delimiter=";;")
    refused(tmp_path, file, "'klingon' is not known", encoding="klingon")
    refused(tmp_path, tmp_path / "none.csv", "cannot be used: No such file")


@pytest.mark.parametrize("name", ["out.csv", "out.csv.key.json"])
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    file = write(tmp_path, HEADER, *ROWS)
    (tmp_path / name).write_text("precious")
    refused(tmp_path, file, "exists already")
    assert (tmp_path / name).read_text() == "precious"


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    file = write(tmp_path, HEADER, *ROWS)
    with pytest.raises(FileRefused, match=r"cannot be written: No such file.*nowhere"):
        pseudonymise(file, ["Staff no"], KEY, tmp_path / "nowhere" / "out.csv")


def test_progress_is_told_in_bytes(tmp_path: Path) -> None:
    file = write(tmp_path, HEADER, *(ROWS * 7000))
    told: list[tuple[str, int, int]] = []
    pseudonymise(file, ["Staff no"], KEY, tmp_path / "out.csv", progress=lambda *step: told.append(step))
    assert [label for label, _, _ in told] == ["pseudonymise"]
    assert 0 < told[0][1] <= told[0][2] == file.stat().st_size


def run(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["evenhand", "pseudonymise", *map(str, words)])
    try:
        main()
    except SystemExit as ended:
        return int(ended.code or 0)
    raise AssertionError("the command must end with an exit code")


def test_the_command_makes_a_key_and_uses_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = write(tmp_path, HEADER.replace(",", "\t"), *(row.replace(",", "\t") for row in ROWS))
    assert run(monkeypatch, "--new-key", tmp_path / "k1") == 0
    words = [file, "--column", "Staff no", "--key", tmp_path / "k1", "--to", tmp_path / "out.csv"]
    assert run(monkeypatch, *words, "--delimiter", "tab") == 0
    said = capsys.readouterr()
    secret = (tmp_path / "k1").read_text().split()[2]
    fingerprint = json.loads(key_mark(tmp_path / "out.csv").read_text())["fingerprint"]
    assert said.out.count(fingerprint) == 2
    for hidden in (secret, CANARY, "k1:"):
        assert hidden not in said.out + said.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "FILE, --column, --key and --to are needed"),
        (
            ["raw.csv", "--column", "Staff no", "--key", "k1", "--to", "o", "--staff-pattern", "["],
            "regular expression",
        ),
        (["raw.csv", "--column", "Staff no", "--key", "none", "--to", "o"], "key file cannot be read"),
        (["raw.csv", "--column", "Task", "--key", "k1", "--to", "o", "--staff-pattern", "P.*"], "'Staff no'"),
    ],
)
def test_the_command_ends_with_one_line(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    says: str,
) -> None:
    write(tmp_path, HEADER, *ROWS)
    create_key(tmp_path / "k1", "k1")
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, *words) == 1
    said = capsys.readouterr().err
    assert says in said
    assert "Traceback" not in said
    assert CANARY not in said
    assert sorted(path.name for path in tmp_path.iterdir()) == ["k1", "raw.csv"]


def test_the_command_is_registered() -> None:
    assert "pseudonymise" in {command.name for command in app.registered_commands}
