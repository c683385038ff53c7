"""Shapes: against the reference basis, a test of bends that keeps its level, monotone band, thresholds."""

import numpy as np
import patsy
import pytest
import statsmodels.api as sm
from scipy.special import ndtr

from models.driver_curve import curve_of
from models.driver_data import DriverData
from models.driver_effect import prevalence_effect
from models.driver_monotone import monotone_curve, ramp_columns
from models.driver_records import Refused
from models.driver_shape import curvature, line_fit, spline_fit
from models.driver_threshold import threshold
from tests.support.driver_worlds import driver_world


def _curved(rng, risk, teams=20, size=15, months=12) -> DriverData:
    """Answers with a given risk by hours; persons' answers go together."""
    people = teams * size
    hours = np.clip(rng.uniform(0, 18, people)[:, None] + rng.normal(size=(people, months)), 0, 18)
    noise = np.sqrt(0.4) * rng.normal(size=(people, 1)) + np.sqrt(0.6) * rng.normal(size=hours.shape)
    case = (ndtr(noise) < risk(hours)).astype(int)
    person, month = np.divmod(np.arange(hours.size), months)
    return DriverData(person, person % teams, month, hours.ravel(), hours.ravel(), case.ravel())


def _straight(hours):
    return 0.1 * np.exp(0.08 * hours)


def _bent(hours):
    return 0.10 * np.exp(0.18 * np.maximum(hours - 9, 0))


def test_spline_equals_the_reference_basis():
    """patsy.cr with the same knots spans the same space: fitted values equal, statsmodels GLM."""
    data = driver_world(np.random.default_rng(1), [15] * 6, months=8, slope=0.4)
    found = spline_fit(data, "hours")
    t = found.knots
    basis = patsy.cr(data.hours, knots=t[1:-1], lower_bound=t[0], upper_bound=t[-1])
    calendar = ((data.month - data.month.mean()) / 12)[:, None]
    reference = sm.GLM(data.case, np.hstack([basis, calendar]), family=sm.families.Poisson()).fit(tol=1e-12)
    own = np.hstack([np.ones((len(data), 1)), found.columns(data.hours), calendar])
    assert own @ found.fit.coefficient == pytest.approx(reference.predict(which="linear"), abs=1e-7)


def test_line_curve_is_the_effect():
    data = driver_world(np.random.default_rng(2), [15] * 6, months=8, slope=0.4)
    curve, effect = curve_of(line_fit(data, "hours", ("age",))), prevalence_effect(data, "hours", ("age",))
    wide = curve.x[-1] - curve.x[0]
    assert (curve.percent[-1] / curve.percent[0]) ** (5 / wide) == pytest.approx(effect.ratio, rel=1e-6)
    assert curve.observed == (curve.x[0], curve.x[-1])
    assert data.hours.min() <= curve.x[0] < curve.x[-1] <= data.hours.max()
    assert all(a < b < c for a, b, c in zip(curve.low, curve.percent, curve.high, strict=True))


@pytest.mark.parametrize("link", ["log", "logit"])
def test_bands_cover_the_truth_of_a_bent_world(link):
    """Spline bands over eight worlds; the truth is inside at most points, as bands are pointwise."""
    rng = np.random.default_rng(3)
    inside = []
    for _ in range(8):
        curve = curve_of(spline_fit(_curved(rng, _straight), "hours", link=link))
        truth = 100 * _straight(np.array(curve.x))
        inside.append(np.mean((np.array(curve.low) <= truth) & (truth <= np.array(curve.high))))
    assert np.mean(inside) > 0.85


def test_a_bend_is_found_in_5_percent_of_straight_worlds_with_8_teams():
    """Error of 0.9 points."""
    rng = np.random.default_rng(4)
    worlds = (driver_world(rng, [10, 14] * 4, months=8, slope=0.2) for _ in range(600))
    found = np.mean([curvature(spline_fit(world, "hours")).p < 0.05 for world in worlds])
    assert 0.02 <= found <= 0.07


def test_monotone_never_falls_and_is_the_free_fit_where_that_rises():
    rng = np.random.default_rng(5)
    curve = monotone_curve(_curved(rng, _straight), "hours", rng)
    assert (np.diff(curve.percent) >= -1e-9).all()
    assert (np.diff(curve.low) >= -1e-9).all()
    truth = 100 * _straight(np.array(curve.x))
    assert np.mean((np.array(curve.low) <= truth) & (truth <= np.array(curve.high))) > 0.8
    falling = _curved(rng, lambda hours: 0.5 * np.exp(-0.08 * hours))
    flat = monotone_curve(falling, "hours", rng)
    assert np.ptp(flat.percent) < 1e-6
    assert flat.percent[0] == pytest.approx(100 * falling.case.mean(), abs=1.5)


def test_ramps_sum_to_the_place_between_knots():
    x = np.linspace(0, 10, 21)
    assert ramp_columns(x, [0, 2, 5, 10]) @ [2, 3, 5] == pytest.approx(x)


def test_a_threshold_is_named_only_where_there_is_one():
    """A hinge at 9 h is found; of 30 straight worlds none more than chance allows."""
    rng = np.random.default_rng(6)
    there = [threshold(_curved(rng, _bent, teams=60), "hours") for _ in range(4)]
    named = [one for one in there if one.low is not None]
    assert len(named) >= 3
    assert sum(one.low <= 9.5 and one.high >= 8.5 for one in named) >= len(named) - 1
    assert "not a safe limit" in named[0].sentence
    straight = [threshold(_curved(rng, _straight, months=6), "hours") for _ in range(30)]
    assert sum(one.low is not None for one in straight) <= 2
    assert "do not tell a bent curve from a straight line" in straight[0].sentence


def test_what_has_no_shape_is_refused():
    data = driver_world(np.random.default_rng(7), [12] * 6, months=6)
    coarse = DriverData(
        data.person, data.team, data.month, np.where(data.hours > 6, 10.0, 2.0), data.force, data.case
    )
    for fit in (spline_fit, lambda d, e: monotone_curve(d, e, np.random.default_rng(0))):
        with pytest.raises(Refused, match="one and the same exposure"):
            fit(coarse, "hours")
    told = threshold(coarse, "hours")
    assert told.low is None
    assert "straight line is shown" in told.sentence
    few = driver_world(np.random.default_rng(8), [30] * 3, months=6, base=0.4)
    with pytest.raises(Refused, match="3 teams are too few"):
        curvature(spline_fit(few, "hours"))
