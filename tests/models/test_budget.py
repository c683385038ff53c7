"""The hours budget: what it says at its edges, and how often its bound holds."""

import numpy as np
import pytest
from patsy import cr
from scipy.special import expit, ndtr

from models.attributable import miettinen_share
from models.budget import Rise, first_crossing, hours_budget
from models.curve_shapes import HINGE, LINE, SPLINE, spline_columns
from models.driver_fit import fit_groups
from models.driver_records import Refused
from models.shape_average import AveragedCurve, averaged_curve


def people(
    risk, rng: np.random.Generator, count: int = 120, months: int = 12
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return hours, answers and persons; half of the noise stays with the person."""
    drive = rng.gamma(4, 1.6, count)
    hours = np.clip(drive[:, None] * rng.gamma(9, 1 / 9, (count, months)), 0, 25)
    noise = np.sqrt(0.5) * (rng.standard_normal((count, 1)) + rng.standard_normal((count, months)))
    case = ndtr(noise) < risk(hours)
    return hours.ravel(), case.ravel().astype(float), np.repeat(np.arange(count), months)


def curve_of(risk: np.ndarray, draws: np.ndarray | None = None) -> AveragedCurve:
    grid = np.linspace(0, 10, len(risk))
    many = np.tile(risk, (20, 1)) if draws is None else draws
    return AveragedCurve(grid, risk, many, (), 20, (0.3, 0.2), np.tile([0.3, 0.2], (20, 1)), 5.0)


def test_a_straight_rise_is_read_off_exactly() -> None:
    found = hours_budget(curve_of(0.2 + 0.02 * np.linspace(0, 10, 61)))
    assert found.hours == pytest.approx(5.0)
    assert found.low == pytest.approx(5.0)
    extra = hours_budget(curve_of(0.2 + 0.02 * np.linspace(0, 10, 61)), kind=Rise.EXTRA)
    assert extra.hours == pytest.approx(4.0), "a tenth of the 80 % without discomfort"


def test_beyond_what_was_observed_nothing_is_estimated() -> None:
    flat = np.full(61, 0.2)
    none = hours_budget(curve_of(flat))
    assert none.hours is None
    assert none.low is None
    assert "cannot be estimated" in none.sentence
    steep = np.tile(0.2 + 0.05 * np.linspace(0, 10, 61), (20, 1))
    unsure = hours_budget(curve_of(flat, steep))
    assert unsure.hours is None
    assert unsure.low == pytest.approx(2.0)
    assert "not ruled out" in unsure.sentence


def test_the_first_crossing_counts() -> None:
    grid = np.array([0.0, 1.0, 2.0, 3.0])
    found = first_crossing(
        grid, np.array([[0, 2, 0, 5.0], [1, 0, 0, 0], [0, 0, 0, 0]]), np.array([1, 1, 1.0])
    )
    assert found.tolist() == [0.5, 0.0, np.inf]


def test_no_rise_is_no_budget() -> None:
    with pytest.raises(ValueError, match="no share"):
        hours_budget(curve_of(np.full(61, 0.2)), rise=1.5)


def test_standardising_in_bins_equals_predicting_everybody() -> None:
    """One shape, so that the whole can be predicted row by row."""
    rng = np.random.default_rng(2)
    hours, case, person = people(lambda h: expit(-1.6 + 0.13 * h), rng)
    z = np.column_stack([rng.standard_normal(len(hours)), hours > 6])
    found = averaged_curve(hours, case, person, rng, covariates=z, shapes=(LINE,), edges=(0, 20))
    beta = fit_groups(
        case, np.column_stack([np.ones(len(hours)), hours, z]), person, link="logit"
    ).coefficient
    whole = [float(expit(beta[0] + beta[1] * h + z @ beta[2:]).mean()) for h in found.grid]
    assert found.risk == pytest.approx(whole, abs=2e-4)
    assert found.observed[0] == pytest.approx(case.mean(), abs=5e-4)


def test_the_average_holds_all_shapes_and_prefers_the_true_one() -> None:
    rng = np.random.default_rng(3)
    hours, case, person = people(lambda h: expit(-1.3 + 0.4 * np.maximum(h - 7, 0)), rng, 200, 24)
    found = averaged_curve(hours, case, person, rng)
    weight = {name: sum(s.weight for s in found.shapes if s.name == name) for name in (LINE, SPLINE, HINGE)}
    assert sum(weight.values()) == pytest.approx(1.0)
    assert weight[LINE] < 0.05


def test_the_spline_is_straight_beyond_its_outer_knots() -> None:
    at = np.array([-3.0, -2.0, -1.0, 21.0, 22.0, 23.0])
    bends = np.diff(spline_columns(at, (0.0, 5.0, 10.0, 20.0)).reshape(2, 3, -1), n=2, axis=1)
    assert np.abs(bends).max() < 1e-9
    with pytest.raises(Refused, match="too few values"):
        spline_columns(at, (0.0, 0.0, 1.0))


def test_the_spline_spans_the_same_curves_as_a_reference_library() -> None:
    """patsy 1.0 `cr`, the natural cubic spline of the same knots."""
    knots = (1.0, 4.0, 7.0, 15.0)
    x = np.linspace(1.0, 15.0, 200)
    own = np.column_stack([np.ones(len(x)), spline_columns(x, knots)])
    other = np.asarray(cr(x, knots=knots[1:-1], lower_bound=knots[0], upper_bound=knots[-1]))
    assert own.shape == other.shape
    for given, target in ((own, other), (other, own)):
        fitted = given @ np.linalg.lstsq(given, target, rcond=None)[0]
        assert np.abs(fitted - target).max() < 1e-9 * np.abs(target).max()


@pytest.mark.parametrize(
    ("hours", "case", "person"),
    [
        (np.ones(40), np.arange(40) % 2, np.arange(40)),
        (np.arange(40.0), np.ones(40), np.arange(40)),
        (np.arange(40.0), np.arange(40) % 2, np.zeros(40)),
    ],
    ids=["constant exposure", "everybody hurts", "one person"],
)
def test_data_without_an_answer_are_refused(hours, case, person) -> None:
    with pytest.raises(Refused, match="cannot be estimated"):
        averaged_curve(hours, case, person, np.random.default_rng(1))


@pytest.mark.parametrize("truth", ["line", "hinge"])
def test_the_bound_lies_below_the_truth_as_often_as_it_says(truth: str) -> None:
    """40 samples; 95 % of them are 38, and fewer than 33 would have a chance of 0.3 %.

    tests/benchmarks/bench_hours_budget.py draws 1000 of each, to a Monte-Carlo error of 0.7 points.
    """
    rng = np.random.default_rng(11)
    risk = {
        "line": lambda h: expit(-1.6 + 0.13 * h),
        "hinge": lambda h: expit(-1.3 + 0.25 * np.maximum(h - 7, 0)),
    }[truth]
    grid = np.linspace(1, 14, 5001)
    true = float(first_crossing(grid, risk(grid)[None], risk(grid[:1]) + 0.10)[0])
    held = 0
    for _ in range(40):
        curve = averaged_curve(*people(risk, rng, 80), rng, edges=(1.0, 14.0), draws=100)
        low = hours_budget(curve).low
        held += low is not None and low <= true
    assert held >= 33


def test_a_share_of_cases_is_a_share() -> None:
    assert miettinen_share(0.5, 2.0) == 0.25
    with pytest.raises(ValueError, match=r"share of 1\.2"):
        miettinen_share(1.2, 2.0)
