"""Months, quarters and ISO weeks of a release."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl.errors import ReleaseRefused
from etl.release_calendar import Month, iso_week, month_of, parse_month, refuse_period

months = st.builds(Month, st.integers(2000, 2100), st.integers(1, 12))


@given(months, st.integers(-500, 500))
def test_adding_months_goes_there_and_back(month, k):
    assert month.plus(k).plus(-k) == month
    assert month.plus(1).first_day - month.last_day == timedelta(days=1)
    assert parse_month(str(month)) == month == month_of(month.last_day)


@given(months)
def test_every_week_ends_in_exactly_one_month(month):
    weeks = month.weeks_ending()
    assert all(w.weekday() == 0 and month_of(w + timedelta(days=6)) == month for w in weeks)
    assert month.plus(1).weeks_ending()[0] - weeks[-1] == timedelta(weeks=1)


def test_quarters():
    assert [str(m) for m in Month(2026, 9).quarter_months()] == ["2026-07", "2026-08", "2026-09"]
    assert [str(m) for m in Month(2026, 8).quarter_months()] == ["2026-07", "2026-08"]
    assert (Month(2026, 9).quarter, Month(2026, 10).quarter) == ("2026-Q3", "2026-Q4")
    assert [k for k in range(1, 13) if Month(2026, k).is_quarter_end] == [3, 6, 9, 12]


def test_iso_weeks_over_the_turn_of_the_year():
    # ISO 8601: 29 December 2025 is the Monday of week 1 of 2026; 28 December 2026 of its week 53.
    assert iso_week(date(2025, 12, 29)) == "2026-W01"
    assert iso_week(date(2026, 12, 28)) == "2026-W53"
    assert Month(2026, 1).weeks_ending()[0] == date(2025, 12, 29)


@pytest.mark.parametrize(
    "text", ["2026-13", "2026-00", "2026-1", "2026", "2026-Q1", " 2026-01", "2026-01-01", ""]
)
def test_what_is_no_month_is_refused(text):
    with pytest.raises(ReleaseRefused, match="2026-10"):
        parse_month(text)


def test_a_month_is_released_when_it_is_over_and_after_the_last():
    refuse_period(Month(2026, 5), Month(2026, 4), date(2026, 6, 1))
    refuse_period(Month(2026, 5), None, date(2026, 6, 1))
    with pytest.raises(ReleaseRefused, match=r"not over .*from 2026-06-01 on"):
        refuse_period(Month(2026, 5), None, date(2026, 5, 31))
    with pytest.raises(ReleaseRefused, match=r"already released.*release 2026-06"):
        refuse_period(Month(2026, 5), Month(2026, 5), date(2026, 7, 1))
    with pytest.raises(ReleaseRefused, match=r"lies before 2026-05.*next one is 2026-06"):
        refuse_period(Month(2026, 4), Month(2026, 5), date(2026, 7, 1))
