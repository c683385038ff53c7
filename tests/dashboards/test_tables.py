"""Tables and downloads hold release rows only, words for hidden cells, and nothing that can run."""

import csv
import io

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.labels import MEASURES
from dashboards.readings.exposure import columns
from dashboards.readings.health import HEALTH_COLUMNS
from dashboards.tables import Column, as_csv, as_html
from tests.support.fake_places import SMALL

PAYLOAD = '"><img src=x onerror=alert(1)><script>alert(2)</script>'


def test_hidden_cells_show_the_reason_and_never_a_number(frames: ReleaseFrames) -> None:
    rows = frames.frame("health", unit="TINY")
    markup = as_html(rows.head(1), HEALTH_COLUMNS, "Discomfort")
    assert f'<td class="why">{SMALL}</td>' in markup
    assert ">0<" not in markup


def test_shown_cells_equal_the_row(frames: ReleaseFrames) -> None:
    row = frames.frame("health", unit="ORG", period="2026-10", region="NECK")
    markup = as_html(row, HEALTH_COLUMNS, "Discomfort")
    percent, low, high = (int(row[name].iloc[0]) for name in ("percent", "low", "high"))
    assert f"<td class=n>{percent}</td><td class=n>{low} to {high}</td>" in markup
    assert '<th scope="row">October 2026</th><td>Neck</td>' in markup


def test_digits_follow_the_measure(frames: ReleaseFrames) -> None:
    rows = frames.frame("exposure", unit="ORG", period="2026-10", measure="hours_per_week").assign(name="All")
    markup = as_html(rows, columns(MEASURES["hours_per_week"]), "Hours")
    assert f"<td class=n>{rows['value'].iloc[0]:.1f}</td>" in markup


def test_markup_in_any_cell_heading_or_caption_stays_text() -> None:
    rows = pd.DataFrame({"a": [PAYLOAD], "reason": [PAYLOAD], "n": [1]})
    markup = as_html(rows, (Column("a", PAYLOAD), Column("n", "N", "0")), PAYLOAD)
    assert "<img" not in markup
    assert "<script" not in markup


def test_an_empty_table_says_so() -> None:
    assert "no rows in this edition" in as_html(pd.DataFrame({"a": []}), (Column("a", "A"),), "Empty")


def test_csv_is_the_rows_themselves(frames: ReleaseFrames) -> None:
    rows = frames.frame("exposure", unit="QC1", measure="force_time")
    back = list(csv.DictReader(io.StringIO(as_csv(rows))))
    assert [float(row["value"]) for row in back] == list(rows["value"])
    assert set(back[0]) == set(rows.columns)


def test_csv_cells_cannot_become_formulas() -> None:
    text = as_csv(pd.DataFrame({"note": ["=1+1", "@x", "-2", "plain"], "n": [-1, 2, 3, 4]}))
    assert [line.split(",")[0] for line in text.splitlines()[1:]] == ["'=1+1", "'@x", "'-2", "plain"]
    assert text.splitlines()[1].endswith(",-1")
