"""Bench fit: the joint normal model against seeded draws, order, and what changes do."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from models.anthropometry import MEN, WOMEN, Body, correlation_of_difference
from models.bench import FIT_RULE, Bench, FitRule
from models.bench_changes import Remedies, bench_fit, fit_changes
from models.bench_fit import seat_range_share, seated_share, standing_share

DRAWS = 200_000
HOOD = Bench(height=900, edge_thickness=40, chair_low=560, chair_high=760, foot_support=True)
DESK = Bench(height=720, edge_thickness=30, chair_low=400, chair_high=530, foot_support=False)


@cache
def draw(body: Body, seed: int) -> np.ndarray:
    """Return people's elbow rest, thigh clearance and popliteal height, shape (DRAWS, 3)."""
    rng = np.random.default_rng(seed)
    parts = (body.elbow_rest, body.thigh_clearance, body.popliteal)
    correlation = np.array(
        [
            [1, body.elbow_rest_with_thigh, body.popliteal_with_elbow_rest],
            [body.elbow_rest_with_thigh, 1, body.popliteal_with_thigh],
            [body.popliteal_with_elbow_rest, body.popliteal_with_thigh, 1],
        ]
    )
    sds = np.array([part.sd for part in parts])
    return rng.multivariate_normal([part.mean for part in parts], correlation * np.outer(sds, sds), DRAWS)


def share_of_people(bench: Bench, people: np.ndarray, rule: FitRule = FIT_RULE) -> float:
    """Return the share for whom a seat height exists: the rule as written, person by person."""
    rest, thigh, popliteal = people.T
    least, most = rule.seated_elbow_above
    low = np.maximum(bench.chair_low, bench.height + least - rest)
    high = np.minimum(bench.chair_high, bench.height + most - rest)
    high = np.minimum(high, bench.height - bench.thickness - rule.thigh_gap - thigh)
    if not bench.foot_support:
        high = np.minimum(high, popliteal + rule.shoes.value)
    return float((low <= high).mean())


@pytest.mark.parametrize("body", [WOMEN, MEN], ids=["women", "men"])
@pytest.mark.parametrize(
    "bench",
    [
        HOOD,
        DESK,
        replace(DESK, foot_support=True),
        replace(HOOD, chair_low=640, chair_high=660),
        replace(HOOD, chair_low=690, edge_thickness=0),
        replace(DESK, height=660, edge_thickness=25),
    ],
    ids=["hood", "desk", "desk-footrest", "narrow-chair", "high-chair", "low-desk"],
)
def test_seated_share_matches_a_draw(bench, body) -> None:
    body = replace(body, popliteal_with_thigh=0.3)
    drawn = share_of_people(bench, draw(body, 20261))
    # Four standard errors of a share of 200,000 people.
    assert seated_share(bench, body) == pytest.approx(drawn, abs=4 * 0.5 / DRAWS**0.5)


def test_elbow_above_floor_has_the_published_spread() -> None:
    # ANSUR II (Gordon et al. 2014): elbow above the seated floor, popliteal + elbow rest, SD 31.9 and 35.1
    # mm; the sum of two 5th percentiles (350 + 189 = 539) lies 31 mm under the true one of women (570).
    for body, mean, sd in ((WOMEN, 620.6, 31.9), (MEN, 674.9, 35.1)):
        rest, _, popliteal = draw(body, 20261).T
        assert (popliteal + rest).mean() == pytest.approx(mean, abs=0.3)
        assert (popliteal + rest).std() == pytest.approx(sd, abs=0.15)
    women = draw(WOMEN, 20261)
    assert np.quantile(women[:, 0] + women[:, 2], 0.05) == pytest.approx(570, abs=3)


def test_room_under_the_elbow_has_the_published_shares() -> None:
    # ANSUR II, people measured: P(elbow rest - thigh clearance >= x) for x = 20, 35, 45, 60; mean 64.6, SD
    # 28.7 mm.
    shares = {20: (0.9426, 0.9366), 35: (0.8439, 0.8601), 45: (0.7533, 0.7634), 60: (0.5811, 0.5835)}
    for body, place in ((WOMEN, 0), (MEN, 1)):
        rest, thigh, _ = draw(body, 20261).T
        for room, expected in shares.items():
            assert (rest - thigh >= room).mean() == pytest.approx(expected[place], abs=0.025)


def test_any_chair_leaves_the_room_for_thighs_as_ceiling() -> None:
    wide = seated_share(replace(HOOD, chair_low=200, chair_high=1200), WOMEN)
    assert seated_share(HOOD, WOMEN) <= wide + 1e-12
    assert wide == pytest.approx(
        seated_share(replace(HOOD, height=1000, chair_low=200, chair_high=1200), WOMEN)
    )


@pytest.mark.parametrize("body", [WOMEN, MEN], ids=["women", "men"])
def test_more_room_never_fits_fewer(body) -> None:
    edges = [
        seated_share(replace(DESK, foot_support=True, edge_thickness=e), body) for e in range(0, 101, 10)
    ]
    assert (np.diff(edges) <= 1e-12).all()
    chairs = [
        seated_share(replace(HOOD, chair_low=600 - e, chair_high=640 + e), body) for e in range(0, 150, 10)
    ]
    assert (np.diff(chairs) >= -1e-12).all()
    assert seated_share(replace(DESK, foot_support=True), body) >= seated_share(DESK, body)
    assert 0 <= min(edges + chairs) <= max(edges + chairs) <= 1


def test_moving_bench_and_platform_together_changes_nothing() -> None:
    heights = np.arange(800, 1200, 50.0)
    assert standing_share(heights + 80, MEN, platform=80) == pytest.approx(standing_share(heights, MEN))
    assert np.isnan(standing_share([np.nan, 900], WOMEN)).tolist() == [True, False]
    assert seat_range_share(500, 400, WOMEN) == 0


def test_unknown_measures_stay_unknown_where_they_matter() -> None:
    nan = float("nan")
    for bench in (
        replace(HOOD, edge_thickness=nan),
        replace(HOOD, chair_high=nan),
        replace(HOOD, foot_support=None),
    ):
        fit = bench_fit(bench, 0.6)
        assert np.isnan([fit.seated_women, fit.seated, fit.either_low]).all()
        assert fit.standing > 0
        assert {change.posture for change in fit_changes(bench, 0.6)} == {"standing"}
    assert not np.isnan(bench_fit(replace(HOOD, edge_thickness=nan, cut_out_thickness=20.0), 0.6).seated)


def test_group_is_the_mix_of_women_and_men_and_bounds_hold_both_postures() -> None:
    fit = bench_fit(HOOD, 0.7)
    assert fit.standing == pytest.approx(0.7 * fit.standing_women + 0.3 * fit.standing_men)
    assert fit.seated == pytest.approx(0.7 * fit.seated_women + 0.3 * fit.seated_men)
    assert max(fit.standing, fit.seated) <= fit.either_low + 1e-12
    assert fit.either_low <= fit.either_high <= fit.standing + fit.seated + 1e-12
    assert bench_fit(HOOD, 1.0).seated == fit.seated_women


def test_thigh_room_not_the_chair_limits_a_hood_with_a_footring() -> None:
    first, *_ = fit_changes(HOOD, 0.6)
    assert first.changes == ("edge of 20 mm",)
    assert first.gain == pytest.approx(first.after - first.before)
    assert first.gain > 0.1
    gains = {change.changes: change.gain for change in fit_changes(HOOD, 0.6)}
    assert gains[("chair 50 mm lower and higher",)] < 0.01


def test_foot_support_comes_first_where_the_chair_leaves_feet_hanging() -> None:
    single = [c for c in fit_changes(replace(HOOD, foot_support=False), 0.6) if len(c.changes) == 1]
    assert single[0].changes == ("foot support",)


def test_a_platform_helps_at_a_high_bench_only() -> None:
    high, low = (
        {
            c.changes[0]: c.gain
            for c in fit_changes(replace(HOOD, height=height), 0.9)
            if c.posture == "standing"
        }
        for height in (1050, 850)
    )
    assert high["platform of 50 mm"] > 0 > max(low.values())


def test_changes_already_made_are_not_offered() -> None:
    thin = replace(HOOD, edge_thickness=15, platform=50.0)
    offered = {
        name
        for change in fit_changes(thin, 0.5, remedies=Remedies(platforms=(50.0, 100.0)))
        for name in change.changes
    }
    assert offered == {"chair 50 mm lower and higher", "platform of 100 mm"}


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: replace(HOOD, height=90.0), r"bench height \(mm\) is 90.*Give millimetres"),
        (lambda: replace(HOOD, chair_low=800), "lowest seat 800 mm is above the highest 760"),
        (lambda: bench_fit(HOOD, 60), "share of women is 60"),
        (lambda: fit_changes(HOOD, -0.1), "divide a percentage by 100"),
        (lambda: standing_share([900, 90], WOMEN), "at index 1"),
        (lambda: correlation_of_difference(1, 1, 3), "same people and unit"),
    ],
)
def test_message_names_value_and_remedy(call, message) -> None:
    with pytest.raises(ValueError, match=message):
        call()
