"""Protected health cells: their pattern knows nothing of health, their numbers only the rounding.

`EVENHAND_PATTERNS=10000` compares as many patterns as the long run does.
"""

import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.errors import ReleaseRefused
from etl.release_calendar import Month
from etl.release_checks import check_cells
from etl.release_health import Counted, average_rows, health_rows, protect
from etl.release_ledger import MONTH_KIND, QUARTER_KIND, HealthCell
from etl.release_trend import TOO_FEW, trend_rows, trend_word
from etl.settings import PrivacySettings
from models.disclosure import TOO_SMALL, compatible_counts

KEY = bytes(range(32))
PATTERNS = int(os.environ.get("EVENHAND_PATTERNS", "500"))
UNITS = {("organisation", "ORG"): None, ("cluster", "C0"): "ORG", ("cluster", "C1"): "ORG"}


def tokens(unit: str, n: int) -> tuple[str, ...]:
    return tuple(f"{unit}-{k:03d}" for k in range(n))


def monthly(sizes: dict[str, int], cases: dict[str, int], region: str = "NECK") -> list[Counted]:
    """Clusters of these sizes and the organisation above them."""
    below = [Counted("cluster", c, "ORG", region, tokens(c, n), n, cases[c]) for c, n in sizes.items()]
    everybody = tuple(sorted(t for c in below for t in c.tokens))
    total = Counted("organisation", "ORG", None, region, everybody, len(everybody), sum(cases.values()))
    return [total, *below]


def quarterly(sizes: dict[str, int], cases: dict[str, int]) -> list[Counted]:
    """Teams of one cluster."""
    return [Counted("team", t, "C0", "NECK", tokens(t, n), n, cases[t]) for t, n in sizes.items()]


@settings(max_examples=PATTERNS, deadline=None)
@given(
    st.lists(st.integers(0, 45), min_size=1, max_size=6),
    st.integers(0, 2**32 - 1),
    st.sampled_from([(MONTH_KIND, 20), (QUARTER_KIND, 10)]),
)
def test_the_pattern_is_the_same_whatever_the_health_values(sizes, seed, table):
    kind, floor = table
    rng = np.random.default_rng(seed)
    units = {f"U{k}": n for k, n in enumerate(sizes)}
    build = monthly if kind == MONTH_KIND else quarterly
    patterns = set()
    for _ in range(2):
        cases = {u: int(rng.integers(0, n + 1)) for u, n in units.items()}
        cells = protect(build(units, cases), kind, "2026-09", floor, 5, KEY)
        patterns.add("".join("x" if c.published is None else "." for c in cells).encode())
    assert len(patterns) == 1


@settings(max_examples=300, deadline=None)
@given(st.lists(st.integers(0, 45), min_size=1, max_size=6), st.integers(0, 2**32 - 1))
def test_what_is_published_stands_for_the_truth_and_passes_the_second_check(sizes, seed):
    rng = np.random.default_rng(seed)
    units = {f"U{k}": n for k, n in enumerate(sizes)}
    counted = monthly(units, {u: int(rng.integers(0, n + 1)) for u, n in units.items()})
    cells = protect(counted, MONTH_KIND, "2026-09", 20, 5, KEY)
    for item, cell in zip(counted, cells, strict=True):
        assert cell.tokens == item.tokens
        if cell.published is not None:
            least, most = compatible_counts(cell.published, item.n, 5)
            assert least <= item.cases <= most
    parents = {("organisation", "ORG"): None} | {("cluster", u): "ORG" for u in units}
    assert all(row.passed for row in check_cells(cells, parents, PrivacySettings()))


@pytest.mark.parametrize(
    ("size", "kind", "floor", "shown"),
    [
        (19, MONTH_KIND, 20, False),
        (20, MONTH_KIND, 20, True),
        (9, QUARTER_KIND, 10, False),
        (10, QUARTER_KIND, 10, True),
    ],
)
def test_floors_are_exact(size, kind, floor, shown):
    build = monthly if kind == MONTH_KIND else quarterly
    cells = protect(build({"U": size}, {"U": 3}), kind, "2026-09", floor, 5, KEY)
    assert all((c.published is not None) == shown for c in cells)


def test_the_same_people_get_the_same_number_in_every_period():
    counted = quarterly({"T": 13}, {"T": 4})
    numbers = {
        protect(counted, QUARTER_KIND, p, 10, 5, KEY)[0].published for p in ("2026-Q1", "2026-Q2", "2027-Q4")
    }
    assert len(numbers) == 1


def test_a_cluster_with_the_code_of_a_team_is_another_unit():
    counted = [*quarterly({"C0": 12, "T": 11}, {"C0": 1, "T": 1})]
    cells = protect(counted, QUARTER_KIND, "2026-Q1", 10, 5, KEY)
    assert [c.unit for c in cells if c.published is not None] == ["C0", "T"]


def cell(
    published: int | None, n: int = 24, unit: str = "C0", level: str = "cluster", region: str = "NECK"
) -> HealthCell:
    return HealthCell(MONTH_KIND, level, unit, "2026-09", region, tokens(unit, n), 5, published)


def test_rows_of_shown_and_hidden_cells():
    shown, hidden = health_rows([cell(10), cell(None)])
    # 10/24 = 41.7 -> 40 %; true counts 6 to 14: Wilson 6/24 .120 and 14/24 .755, outward to 10 and 80.
    assert shown == ("2026-09", "month", "cluster", "C0", "NECK", "20-24", 10, 40, 10, 80, None)
    assert hidden == ("2026-09", "month", "cluster", "C0", "NECK", None, None, None, None, None, TOO_SMALL)


def test_averages_are_of_published_numbers_and_need_every_region():
    rows = health_rows([cell(10), cell(5, region="KNEE"), cell(0, region="ELBOW")])
    percents, lows, highs = zip(*((r[7], r[8], r[9]) for r in rows), strict=True)
    (average,) = average_rows(rows)
    assert average[:6] == ("2026-09", "month", "cluster", "C0", 3, round(sum(percents) / 3))
    assert average[6] <= sum(lows) / 3 <= sum(percents) / 3 <= sum(highs) / 3 <= average[7]
    (partly,) = average_rows(health_rows([cell(10), cell(None, region="KNEE")]))
    assert partly[4:] == (1, None, None, None, TOO_SMALL)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ([cell(5, n=19)], "19 people, fewer than 20"),
        ([cell(7)], "not rounded"),
        ([cell(25)], "not rounded"),
        ([cell(5), cell(None, n=12, unit="C1")], "12 people hidden"),
        ([HealthCell(MONTH_KIND, "cluster", "C0", "2026-09", "NECK", ("a",) * 24, 5, 5)], "fewer than 20"),
    ],
)
def test_the_second_check_refuses_what_must_not_be_published(cells, words):
    with pytest.raises(ReleaseRefused, match=words):
        check_cells(cells, UNITS, PrivacySettings())


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [
        (1, 30, "rising"), (-30, -1, "easing"), (0, 20, "steady"), (-20, 0, "steady"), (-20, 20, "steady"),
        (-21, 5, TOO_FEW), (-5, 21, TOO_FEW),
    ],
)  # fmt: skip
def test_trend_words(low, high, word):
    assert trend_word(low, high) == word


def test_trends_compare_published_counts_only_and_say_so_in_a_sentence():
    month = Month(2026, 9)
    big = cell(120, n=200, unit="ORG", level="organisation")
    key = ("organisation", "ORG", "NECK")
    (rising,) = trend_rows([big], month, {key: (40, 200)})
    assert rising[:6] == ("2026-09", "2025-09", "organisation", "ORG", "NECK", 40)
    assert rising[8] == "rising"
    assert rising[9].startswith(
        f"40 points higher than in 2025-09 (95 % interval {rising[6]:+d} to {rising[7]:+d}"
    )
    assert "not why" in rising[9]
    (same,) = trend_rows([big], month, {key: (120, 200)})
    assert same[8] == "steady"
    assert same[9].startswith("The same as in 2025-09")
    (alone,) = trend_rows([big], month, {})
    assert alone[5:9] == (None, None, None, TOO_FEW)
    (hidden,) = trend_rows([cell(None)], month, {("cluster", "C0", "NECK"): (5, 24)})
    assert hidden[5:9] == (None, None, None, TOO_FEW)
    assert (
        trend_rows(
            [HealthCell(QUARTER_KIND, "team", "T", "2026-Q3", "NECK", tokens("T", 12), 5, 5)], month, {}
        )
        == []
    )
