"""Printed numbers, periods and the one function that makes text safe."""

import numpy as np
import pandas as pd
import pytest

from dashboards.labels import interval, month_label, number, plain, safe, start_of


@pytest.mark.parametrize(
    ("value", "digits", "printed"),
    [
        (1234567, 0, "1\u2009234\u2009567"),
        (-7.25, 1, "\u22127.2"),
        (-0.04, 1, "0.0"),
        (None, 0, "\u2013"),
        (float("nan"), 0, "\u2013"),
        (pd.NA, 0, "\u2013"),
        (np.int32(5), 0, "5"),
    ],
)
def test_number(value: object, digits: int, printed: str) -> None:
    assert number(value, digits) == printed


def test_interval_with_negative_ends_can_be_read() -> None:
    assert interval(-4, 6, 0, "%") == "\u22124 to 6 %"


@pytest.mark.parametrize(
    ("period", "words", "first"),
    [
        ("2026-10", "October 2026", "2026-10-01"),
        ("2026-Q3", "3rd quarter 2026", "2026-07-01"),
        # ISO 8601: week 1 holds the year's first Thursday, so 2026-W01 starts on 29 December 2025.
        ("2026-W01", "week 1 of 2026", "2025-12-29"),
    ],
)
def test_periods(period: str, words: str, first: str) -> None:
    assert month_label(period) == words
    assert start_of(period) == pd.Timestamp(first)


def test_markup_becomes_text() -> None:
    assert safe('<img src=x onerror="a()">&\'') == "&lt;img src=x onerror=&quot;a()&quot;&gt;&amp;&#x27;"
    assert safe(None) == safe(float("nan")) == ""


def test_plot_labels_cannot_start_typesetting() -> None:
    assert "$$" not in plain("$$x$$")
