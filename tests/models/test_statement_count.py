"""How often the same people may be stated about: the counting, and the attack that it stops."""

import numpy as np
import pytest

from models.statement_count import Made, people_missing, share_again, why_not_again
from tests.benchmarks.bench_driver_quarters import verdicts


def people(n: int, first: int = 0) -> frozenset[str]:
    return frozenset(f"t{k}" for k in range(first, first + n))


@pytest.mark.parametrize(
    ("now", "earlier", "missing"),
    [
        (people(30), [], 0),
        # The second takes 200 people, the third 300.
        (people(99), [people(99)], 100),
        (people(100), [people(100)], 100),
        (people(199), [people(199)], 1),
        (people(200), [people(200)], 0),
        (people(200), [people(200), people(200)], 100),
        (people(299), [people(299)] * 2, 1),
        (people(300), [people(300)] * 2, 0),
        # Or 100 newcomers, whoever stays.
        (people(179), [people(80)], 1),
        (people(180), [people(80)], 0),
        (people(150, 49), [people(99)], 0),
        (people(149, 49), [people(99)], 1),
        # Somebody who left counts for nothing; a statement about others only is no earlier one.
        (people(100), [people(500, 99)], 1),
        (people(40), [people(100, 40)], 0),
        # Newcomers to one earlier statement, not to the other.
        (people(250), [people(100), people(160, 90)], 50),
    ],
)
def test_people_for_each_statement_made_about_them(now, earlier, missing):
    assert people_missing(now, earlier) == missing


def test_at_most_one_statement_a_calendar_year():
    made = [Made("2024-07 to 2025-09", people(500))]
    for month in ("2025-09", "2025-12"):
        told = why_not_again(f"2024-07 to {month}", people(900), made)
        assert told == "stated for Q3 2025; one statement a year"
    assert why_not_again("2024-07 to 2026-03", people(500), made) is None
    assert why_not_again("2024-07 to 2025-09", people(20), []) is None


def test_people_missing_are_told_in_fifties():
    made = [Made("2024-01 to 2024-12", people(140))]
    told = "stated for Q4 2024; said again when {} more people answer"
    assert why_not_again("2024-01 to 2025-12", people(140), made) == told.format(100)
    assert why_not_again("2024-01 to 2025-12", people(151), made) == told.format(50)
    assert why_not_again("2024-01 to 2025-12", people(199), made) == told.format(50)
    assert why_not_again("2024-01 to 2025-12", people(200), made) is None


def made_by_the_rule(n: int, years: int) -> int:
    """Count the statements that come out of so many years of quarters about the same people."""
    made: list[Made] = []
    for quarter in range(4 * years):
        period = f"2024-01 to {2024 + quarter // 4}-{3 * (quarter % 4) + 3:02d}"
        if why_not_again(period, people(n), made) is None:
            made.append(Made(period, people(n)))
    return len(made)


def test_as_many_statements_as_hundreds_of_people():
    assert [made_by_the_rule(n, 5) for n in (99, 100, 199, 200, 399, 999)] == [1, 1, 1, 2, 3, 5]


def test_the_attack_over_quarters_succeeds_without_the_rule_and_finds_nobody_with_it():
    """A hundred people who answer alike, over half of whom tell; one world, as a search takes seconds."""
    assert verdicts(np.random.default_rng(2), 100, 55, 2, 1, 60) == ["read off"]
    allowed = made_by_the_rule(100, 5)
    assert verdicts(np.random.default_rng(2), 100, 55, allowed, 1, 60) == ["open"]


@pytest.mark.parametrize(
    ("period", "count", "earlier", "again"),
    [
        ("2024-01 to 2025-06", 24, [], True),
        # One a calendar year.
        ("2024-01 to 2025-06", 24, ["2024-01 to 2025-03"], False),
        ("2024-01 to 2026-03", 24, ["2024-01 to 2025-03"], True),
        # Four in all, however long ago; the fifth year shows the fourth.
        ("2024-01 to 2028-03", 99, [f"2024-01 to {year}-03" for year in (2025, 2026, 2027)], True),
        ("2024-01 to 2029-03", 99, [f"2024-01 to {year}-03" for year in (2025, 2026, 2027, 2028)], False),
        # From 100 people on each quarter has its own.
        ("2024-01 to 2029-03", 100, [f"2024-01 to {year}-03" for year in (2025, 2026, 2027, 2028)], True),
        ("2024-01 to 2025-06", 100, ["2024-01 to 2025-03"], True),
    ],
)
def test_a_share_of_few_people_is_said_four_times_in_four_years(
    period: str, count: int, earlier: list[str], again: bool
) -> None:
    assert share_again(period, count, earlier) is again
