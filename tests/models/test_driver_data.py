"""Driver data: what is refused by name, lag windows, onset, calendar, patterns."""

import numpy as np
import pytest

from models.driver_data import DriverData
from models.driver_records import Refusal, Refused, attempt
from models.driver_windows import ExposureHistory, calendar_terms, lag_windows, next_onset, patterns
from models.incidence import onsets


def _data(**changed) -> DriverData:
    columns = {
        "person": [1, 1, 1, 1, 2, 2],
        "team": [0, 0, 0, 1, 1, 1],
        "month": [0, 1, 2, 4, 1, 2],
        "hours": [5.0, 6, 7, 8, 1, 2],
        "force": [1.0, 2, 3, 4, 5, 6],
        "case": [0, 1, 0, 1, 0, 0],
        "covariates": {"age": np.array([3, 3, 3, 3, 1, 1])},
    } | changed
    return DriverData(**columns)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"hours": [5.0, 6]}, "differ in length"),
        ({"force": [1.0, 2, np.nan, 4, 5, 6]}, "force is unknown in 1 of 6 rows"),
        ({"case": [0, 1, 2, 1, 0, 0]}, "besides 0 and 1"),
        ({"person": [1.0, 1, 1, 1, 2, 2]}, "person is of type float64"),
        ({"month": [0, 1, 2, 2, 1, 2]}, "two answers in one month"),
        ({"hours": [-1.0, 6, 7, 8, 1, 2]}, "hours is negative"),
        ({"covariates": {"age": [1.0, np.inf, 1, 1, 1, 1]}}, "age is unknown"),
        ({"covariates": {"age": [1, 2]}}, "age not of shape"),
    ],
)
def test_bad_input_is_refused_by_name(changed, said):
    with pytest.raises(Refused, match=said):
        _data(**changed)


def test_a_missing_covariate_says_what_to_load():
    found = attempt(lambda: _data().column("tenure"))
    assert isinstance(found, Refusal)
    assert "'tenure' is missing (there: age)" in found.why
    assert found.needed.startswith("Load tenure")
    assert attempt(lambda: _data().column("age")).tolist() == [3, 3, 3, 3, 1, 1]


def test_an_error_that_is_no_refusal_passes_through():
    with pytest.raises(ZeroDivisionError):
        attempt(lambda: 1 / 0)


def test_windows_are_complete_only():
    kept, window = lag_windows(_data(), "hours", 2)
    assert kept.tolist() == [2]
    assert window.tolist() == [[7.0, 6.0, 5.0]]
    with pytest.raises(Refused, match="no answer has exposure known"):
        lag_windows(_data(), "hours", 3)


def test_a_history_of_all_months_fills_windows():
    past = ExposureHistory(
        np.array([1, 1, 1, 1, 1, 2, 2]), np.array([0, 1, 2, 3, 4, 2, 1]),
        np.array([5.0, 6, 7, 9, 8, 2, 1]), np.ones(7),
    )  # fmt: skip
    kept, window = lag_windows(_data(), "hours", 1, past)
    assert kept.tolist() == [1, 2, 3, 5]
    assert window.tolist() == [[6, 5], [7, 6], [8, 9], [2, 1]]
    doubled = ExposureHistory(past.person, np.array([0, 0, 2, 3, 4, 2, 1]), past.hours, past.force)
    with pytest.raises(Refused, match="twice"):
        lag_windows(_data(), "hours", 1, doubled)


def test_onset_takes_exposure_from_before():
    found = next_onset(_data())
    # Person 1: free in month 0 and 2; person 2: free in month 1. Month 1 had discomfort: not at risk after.
    assert found.month.tolist() == [1, 4, 2]
    assert found.hours.tolist() == [5, 7, 1]
    assert found.case.tolist() == [1, 1, 0]
    assert found.team.tolist() == [0, 0, 1]
    assert found.covariates["gap"].tolist() == [1, 2, 1]
    assert len(next_onset(_data(), longest_gap=1)) == 2


def test_onset_counts_as_the_incidence_does():
    rng = np.random.default_rng(3)
    keep = rng.random((40, 24)) < 0.6
    person, month = np.nonzero(keep)
    n = len(person)
    data = DriverData(person, person % 4, month, np.ones(n), np.ones(n), rng.integers(0, 2, n))
    assert next_onset(data).case.sum() == onsets(person, month, data.case).events.sum()


def test_calendar_terms_grow_with_the_span():
    assert calendar_terms([3, 3]).shape == (2, 0)
    assert calendar_terms(np.arange(12)).shape == (12, 1)
    wave = calendar_terms(np.arange(36))
    assert wave[:12, 1:] == pytest.approx(wave[12:24, 1:])


def test_patterns_group_equal_rows():
    first, code, count = patterns([1, 1, 2, 1], [[0, 5], [0, 6], [0, 5], [0, 5]])
    assert count.sum() == 4
    assert sorted(count.tolist()) == [1, 1, 2]
    assert code[0] == code[3] != code[1]
    assert code[first].tolist() == [0, 1, 2]
