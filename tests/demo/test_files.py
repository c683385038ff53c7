"""The files: same seed same bytes, counts as the truth says, every kind of defect there."""

import csv
import hashlib
from collections import Counter
from itertools import pairwise
from pathlib import Path

import openpyxl
import pyarrow.parquet as pq
import pytest

from demo_data.generate import files, generate
from tests.demo.conftest import SEED, Demo

DELIMITER = {"north": ";", "brack": ",", "quill": ",", "institute": ","}


def digests(out: Path) -> dict[str, str]:
    return {
        str(path.relative_to(out)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file()
    }


def lines(path: Path) -> list[list[object]]:
    """Read a file with no help from the project; the first line is the header."""
    if path.suffix == ".parquet":
        table = pq.read_table(path)
        return [table.column_names, *[list(row.values()) for row in table.to_pylist()]]
    if path.suffix == ".xlsx":
        book = openpyxl.load_workbook(path)
        return [list(row) for row in book.worksheets[0].iter_rows(values_only=True)]
    with path.open(encoding="utf-8-sig", newline="") as handle:
        return [list(row) for row in csv.reader(handle, delimiter=DELIMITER[path.parent.name])]


def test_the_same_seed_gives_the_same_bytes(demo: Demo, tmp_path: Path) -> None:
    generate(tmp_path, seed=SEED, scale="small")
    assert digests(tmp_path) == digests(demo.out)


def test_another_seed_gives_other_people_and_other_files(demo: Demo, tmp_path: Path) -> None:
    generate(tmp_path, seed=SEED + 1, scale="small")
    ours, theirs = digests(demo.out), digests(tmp_path)
    same = {name for name in ours if ours[name] == theirs.get(name)}
    # Registers that nothing is drawn for stay as they are.
    assert same <= {
        "institute/institute_teams.csv",
        "brack/brack_instruments.csv",
        "quill/quill_instruments.csv",
        "north/north_instruments.csv",
        "institute/institute_changes.csv",
    }


def test_every_file_holds_the_rows_the_truth_counts(demo: Demo) -> None:
    listed = files(demo.out)
    assert {path.name for path, _ in listed} == set(demo.truth["files"])
    for path, _ in listed:
        told = demo.truth["files"][path.name]
        answers = 15 if path.suffix == ".xlsx" else 1
        assert (len(lines(path)) - 1) * answers == told["rows_in"], path.name
        assert told["rows_in"] == told["accepted"] + sum(told["set_aside"].values()), path.name


def test_the_summary_agrees_with_the_truth(demo: Demo) -> None:
    rows: Counter[str] = Counter()
    for told in demo.truth["files"].values():
        rows[told["contract"]] += told["rows_in"]
    assert demo.summary.rows == dict(rows)
    assert [path for path, _ in files(demo.out)] == list(demo.summary.files)


def test_each_kind_of_defect_is_planted_and_they_stay_few(demo: Demo) -> None:
    kinds: Counter[str] = Counter()
    for told in demo.truth["files"].values():
        kinds.update(told["planted"])
    assert set(kinds) == {
        "unknown person", "unknown instrument", "unknown task", "unknown team", "negative duration",
        "bout of 30 hours", "negative strokes", "strokes not a number", "empty start",
        "zero-width sign in a code", "spreadsheet formula", "date in the future", "spreadsheet serial date",
        "Total row", "repeated header", "skipped hour", "repeated hour", "exact repeat",
        "conflicting repeat", "bout inside another", "starts a minute early", "score of 11",
        "score with a fraction", "score nan", "spell that ends before it starts", "force in the wrong unit",
    }  # fmt: skip
    bouts = [told for told in demo.truth["files"].values() if told["contract"] == "bouts"]
    planted = sum(sum(told["planted"].values()) for told in bouts)
    assert 0.002 < planted / sum(told["rows_in"] for told in bouts) < 0.006


def test_registers_stand_before_the_logs_that_name_them(demo: Demo) -> None:
    listed = files(demo.out)
    names = [path.name for path, _ in listed]
    assert names[0] == "institute_teams.csv"
    for site in ("north", "brack", "quill"):
        first_log = min(i for i, name in enumerate(names) if name.startswith(f"{site}_bouts"))
        assert names.index(f"{site}_people.csv") < first_log
        assert names.index(f"{site}_instruments.csv") < first_log
    profiles = [profile for _, profile in listed]
    # One call of the loader a profile is enough.
    assert sum(a != b for a, b in pairwise(profiles)) == len(set(profiles)) - 1


def test_refused_files_and_truth_are_never_listed(demo: Demo) -> None:
    listed = {path.parent.name for path, _ in files(demo.out)}
    assert listed == {"institute", "north", "brack", "quill"}
    assert len(list((demo.out / "refused").iterdir())) == 2


def test_progress_is_told_to_the_end(tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    generate(tmp_path, seed=3, scale="small", progress=lambda *step: told.append(step))
    assert told[-1][1] == told[-1][2] > 30


def test_an_unknown_scale_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="scale must be"):
        generate(tmp_path, scale="huge")
