"""Long rows against Python's own CSV reader, whatever the quotes, line ends and chunk borders."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl import rowshape
from etl.errors import FileRefused
from tests.support.load_files import bouts, home_before, load

CELL = st.text(st.sampled_from('a,"\n é'), max_size=5)


@settings(max_examples=300, deadline=None)
@given(
    rows=st.lists(st.lists(CELL, min_size=1, max_size=5), min_size=1, max_size=6),
    columns=st.integers(1, 5),
    ends=st.sampled_from(["\n", "\r\n"]),
    chunk=st.integers(1, 40),
)
def test_a_written_table_is_refused_exactly_where_a_row_is_too_long(
    tmp_path_factory, rows, columns, ends, chunk
):
    held = io.StringIO()
    csv.writer(held, lineterminator=ends).writerows(rows)
    path = tmp_path_factory.getbasetemp() / "rowshape.csv"
    path.write_bytes(held.getvalue().encode())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rowshape, "_CHUNK", chunk)
        try:
            rowshape.refuse_long_rows(path, path, ",", columns)
            refused = False
        except FileRefused:
            refused = True
    assert refused == any(len(row) > columns for row in rows)


@settings(max_examples=300, deadline=None)
@given(text=st.text(st.sampled_from('a,"\n'), max_size=40), columns=st.integers(1, 3))
def test_any_text_with_a_row_that_python_reads_as_too_long_is_suspected(tmp_path_factory, text, columns):
    path = tmp_path_factory.getbasetemp() / "suspected.csv"
    path.write_text(text, encoding="utf-8")
    long = any(len(row) > columns for row in csv.reader(io.StringIO(text, newline="")))
    if long:
        assert rowshape._suspicious(path, ord(","), columns)


def test_a_comma_too_many_does_not_move_the_cells_behind_it(tmp_path):
    folder = home_before("bouts", tmp_path / "t", tmp_path)
    rows = [row | {"tips": "", "volume_changes": "", "station": "", "hand": ""} for row in bouts(40)]
    lines = [",".join(rows[0]), *(",".join(row.values()) for row in rows)]
    # 56,5 strokes in a file of commas: the engine alone would load 56 strokes and 5 tips.
    lines[7] = lines[7].replace(",56,", ",56,5,")
    path = folder / "bouts.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    refused = load(folder, [path]).refused[0]
    assert refused.code == "E_SHAPE"
    assert "Line 8 has 12 columns, the header 11" in refused.message
