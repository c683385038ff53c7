"""Floors, dominance and hidden remainder of nested tables."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.disclosure import DOMINATED, TOO_SMALL
from models.suppression import Cell, Rule, cell_of, merge, suppress, verdict


def table(*teams: int, clusters: tuple[int, ...] = ()) -> list[Cell]:
    """One cluster of these teams, and further clusters by size."""
    sizes = {"C0": sum(teams)} | {f"C{k}": n for k, n in enumerate(clusters, start=1)}
    cells = [Cell("ORG", None, sum(sizes.values()))]
    cells += [Cell(name, "ORG", n) for name, n in sizes.items()]
    return cells + [Cell(f"T{k}", "C0", n) for k, n in enumerate(teams)]


@pytest.mark.parametrize(("floor", "below"), [(5, 4), (10, 9), (20, 19)])
def test_the_floor_is_exact(floor, below):
    assert verdict(Cell("T", None, below), Rule(floor)) == TOO_SMALL
    assert verdict(Cell("T", None, floor), Rule(floor)) is None


@pytest.mark.parametrize(("floor", "below"), [(5, 4), (10, 9), (20, 19)])
def test_a_hidden_rest_below_the_floor_takes_the_smallest_neighbour_along(floor, below):
    hidden = suppress(table(floor + 2, floor + 1, below), Rule(floor))
    assert hidden["T2"] == hidden["T1"] == TOO_SMALL
    assert hidden["T0"] is None


@pytest.mark.parametrize("floor", [5, 10, 20])
def test_a_hidden_rest_at_the_floor_is_enough(floor):
    parts = (floor // 2, floor - floor // 2)
    hidden = suppress(table(floor, *parts), Rule(floor))
    assert [hidden[t] for t in ("T0", "T1", "T2")] == [None, TOO_SMALL, TOO_SMALL]


def test_an_empty_team_hides_nobody():
    assert suppress(table(12, 11, 0), Rule(10))["T1"] is None


def test_teams_of_a_hidden_cluster_are_hidden():
    hidden = suppress(table(12, 7, clusters=(30,)), Rule(20))
    assert hidden["ORG"] is None
    assert hidden["C0"] == hidden["T0"] == TOO_SMALL
    # 19 people hidden under the organisation would be its total less the other cluster.
    assert hidden["C1"] == TOO_SMALL


def test_dominance_is_judged_also_of_less_than_an_hour():
    assert verdict(Cell("T", None, 5, 0.5, 0.4, 0.05), Rule(5, dominance=True)) == DOMINATED
    assert verdict(Cell("T", None, 5, 0.5, 0.1, 0.1), Rule(5, dominance=True)) is None


def test_ties_go_by_code():
    hidden = suppress(table(11, 11, 5), Rule(10))
    assert (hidden["T0"], hidden["T1"]) == (TOO_SMALL, None)


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        ([50, 20, 10, 10, 10], None),  # largest exactly 50 %, two largest 70 %
        ([50.1, 20, 10, 10, 9.9], DOMINATED),
        ([40, 35, 10, 10, 5], None),  # two largest exactly 75 %
        ([40, 35.1, 10, 10, 4.9], DOMINATED),
        ([0, 0, 0, 0, 0], None),
        ([100, 1, 1, 1], TOO_SMALL),
    ],
)
def test_dominance_edges(hours, expected):
    assert verdict(cell_of("T", None, hours), Rule(5, dominance=True)) == expected


def test_dominance_is_not_asked_of_headcounts():
    assert verdict(cell_of("T", None, [100, 1, 1, 1, 1]), Rule(5)) is None


def test_a_hidden_dominated_team_must_not_be_the_only_one_hidden():
    cells = [
        cell_of("C", None, [30, 1, 1, 1, 1] + [5] * 14),
        cell_of("T0", "C", [30, 1, 1, 1, 1]),
        cell_of("T1", "C", [5] * 6),
        cell_of("T2", "C", [5] * 8),
    ]
    hidden = suppress(cells, Rule(5, dominance=True))
    assert hidden["T0"] == DOMINATED
    assert hidden["T1"] == TOO_SMALL
    assert hidden["T2"] is None


def test_merging_keeps_the_two_largest_of_all():
    both = merge([cell_of("a", None, [9, 2, 1]), cell_of("b", None, [8, 7])])
    assert (both.n, both.total, both.largest, both.second) == (5, 27, 9, 8)
    assert merge([]).n == 0


def test_cells_hidden_for_another_reason_count_as_hidden():
    hidden = suppress(table(30, 12, 12), Rule(10), {"T1": "withheld"})
    assert hidden == {"ORG": None, "C0": None, "T0": None, "T1": "withheld", "T2": None}
    assert suppress(table(30, 5, 12), Rule(10), {"T2": "withheld"})["T1"] == TOO_SMALL


def test_a_broken_table_is_refused():
    with pytest.raises(ValueError, match="listed twice"):
        suppress([Cell("A", None, 5), Cell("A", None, 5)], Rule(5))
    with pytest.raises(ValueError, match="not in the table"):
        suppress([Cell("A", "B", 5)], Rule(5))


@st.composite
def lattices(draw) -> list[Cell]:
    clusters = draw(st.lists(st.lists(st.integers(0, 40), min_size=1, max_size=6), min_size=1, max_size=5))
    cells = [Cell("ORG", None, sum(map(sum, clusters)))]
    for c, teams in enumerate(clusters):
        cells.append(Cell(f"C{c}", "ORG", sum(teams)))
        cells += [Cell(f"C{c}T{t}", f"C{c}", n) for t, n in enumerate(teams)]
    return cells


@settings(max_examples=500)
@given(lattices(), st.sampled_from([5, 10, 20]), st.randoms(use_true_random=False))
def test_no_difference_of_shown_cells_holds_one_to_floor_less_one_people(cells, floor, random):
    shuffled = cells[:]
    random.shuffle(shuffled)
    hidden = suppress(shuffled, Rule(floor))
    assert hidden == suppress(cells, Rule(floor))  # the order of rows decides nothing
    by_unit = {c.unit: c for c in cells}
    for cell in cells:
        if hidden[cell.unit] is None:
            assert cell.n >= floor
            assert cell.parent is None or hidden[cell.parent] is None
        below = [c for c in cells if c.parent == cell.unit]
        if hidden[cell.unit] is None and any(hidden[c.unit] is None for c in below):
            rest = by_unit[cell.unit].n - sum(c.n for c in below if hidden[c.unit] is None)
            assert rest == 0 or rest >= floor


def test_small_groups_have_no_second_contribution_invented_for_them():
    assert cell_of("U", "P", []) == Cell("U", "P", 0, 0, 0.0, 0.0)
    assert cell_of("U", "P", [7.0]) == Cell("U", "P", 1, 7.0, 7.0, 0.0)
    assert cell_of("U", "P", [1.0, 3.0, 2.0]) == Cell("U", "P", 3, 6.0, 3.0, 2.0)
    assert merge([]) == Cell("", None, 0, 0, 0.0, 0.0)
    assert merge([Cell("U", "P", 1, 7.0, 7.0, 0.0)]) == Cell("", None, 1, 7.0, 7.0, 0.0)
