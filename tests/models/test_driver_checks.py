"""Checks that withhold a headline, and regions looked at together."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from models.driver_checks import diagnose, without_team
from models.driver_data import DriverData
from models.driver_effect import effect_of, fit_model
from models.driver_headline import headline
from models.driver_many import discovery, look, pulled
from models.driver_records import FAILS, INFORMS, PASSES, Diagnostic, Refusal
from tests.support.driver_worlds import driver_world


def _verdicts(fitted, exposure="hours"):
    return {one.key: one.verdict for one in diagnose(fitted, exposure)}


def _changed(data: DriverData, **columns) -> DriverData:
    names = ("person", "team", "month", "hours", "force", "case")
    return DriverData(**({name: getattr(data, name) for name in names} | columns))


@pytest.fixture(scope="module")
def world():
    return driver_world(np.random.default_rng(1), [12] * 20, months=18, slope=0.45)


def test_a_sound_fit_passes_and_speaks(world):
    fitted = fit_model(world, ("hours",), ("age",))
    found = diagnose(fitted, "hours")
    assert {one.verdict for one in found} == {PASSES}
    assert all(one.sentence.endswith(".") for one in found)
    told = headline(effect_of(fitted, "hours"), found)
    assert isinstance(told, str)
    assert told.startswith("5 h/week more hours: goes with more discomfort; prevalence ratio 1.")
    assert "not proof of a cause" in told


def test_a_failed_check_withholds_the_headline(world):
    effect = effect_of(fit_model(world, ("hours",)), "hours")
    failed = (
        Diagnostic("events", FAILS, "30 answers for 9 terms: too few."),
        Diagnostic("teams", PASSES, "Fine."),
    )
    told = headline(effect, failed)
    assert isinstance(told, Refusal)
    assert told.why == "30 answers for 9 terms: too few"
    assert told.needed == "More answers, or fewer terms"
    informs = (Diagnostic("teams", INFORMS, "Few."),)
    assert isinstance(headline(effect, informs), str)
    assert headline(told, ()) is told


def test_words_follow_the_interval(world):
    effect = effect_of(fit_model(world, ("hours",)), "hours")
    none = replace(effect, ratio=1.0, ratio_low=0.8, ratio_high=1.2)
    less = replace(effect, ratio=0.6, ratio_low=0.5, ratio_high=0.8)
    assert "no clear association with discomfort" in str(headline(none, ()))
    assert "goes with less discomfort" in str(headline(less, ()))


def test_few_events_fail(world):
    rare = np.zeros(len(world), int)
    rare[np.random.default_rng(2).permutation(len(world))[:14]] = 1
    assert _verdicts(fit_model(_changed(world, case=rare), ("hours", "force")))["events"] == FAILS


def test_exposure_that_is_the_team_fails(world):
    hours = 2.0 + world.team + 0.05 * world.hours
    assert _verdicts(fit_model(_changed(world, hours=hours), ("hours",)))["overlap"] == FAILS


def test_one_team_that_decides_fails():
    data = driver_world(np.random.default_rng(3), [12] * 10, months=12)
    odd = data.team == 0
    rng = np.random.default_rng(4)
    # Everywhere more hours go with less discomfort; one team with long hours has nearly always discomfort.
    risk = np.where(odd, 0.9, 0.15 * np.exp(-0.9 * (data.hours - 6) / 5))
    hours = np.where(odd, 20 + rng.random(len(data)), data.hours)
    case = (rng.random(len(data)) < risk).astype(int)
    fitted = fit_model(_changed(data, case=case, hours=hours), ("hours",))
    found = {one.key: one for one in diagnose(fitted, "hours")}
    assert found["influence"].verdict == FAILS
    assert "one team alone decides it" in found["influence"].sentence
    assert found["teams"].verdict == INFORMS
    assert isinstance(headline(effect_of(fitted, "hours"), tuple(found.values())), Refusal)


def test_leaving_out_a_team_is_a_fit_without_it(world):
    fitted = fit_model(world, ("hours",), calendar=False)
    alone = fit_model(world.where(world.team != 3), ("hours",), calendar=False)
    one = without_team(fitted, "hours", 3)
    other = alone.fit.estimate(alone.design.unit("hours"))
    assert (one.value, one.low, one.high) == pytest.approx((other.value, other.low, other.high), abs=1e-7)


def test_a_trend_that_goes_with_hours_fails():
    """Everybody's hours swing in a bow over two years, and so does discomfort, for another reason."""
    rng = np.random.default_rng(5)
    person, month = np.divmod(np.arange(160 * 24), 24)
    bow = (month - 11.5) ** 2 / 60
    hours = 5 + bow + 0.5 * rng.random(len(month))
    case = (rng.random(len(month)) < np.where(bow > 0.8, 0.5, 0.1)).astype(int)
    data = DriverData(person, person % 8, month, hours, hours, case)
    found = {one.key: one for one in diagnose(fit_model(data, ("hours",)), "hours")}
    assert found["trend"].verdict == FAILS
    calm = DriverData(person, person % 8, month, hours, hours, (rng.random(len(month)) < 0.2).astype(int))
    assert _verdicts(fit_model(calm, ("hours",)))["trend"] == PASSES


@given(st.lists(st.floats(1e-6, 1), min_size=1, max_size=12))
def test_discovery_is_the_reference(p):
    """statsmodels multipletests, method fdr_bh."""
    assert discovery(p) == pytest.approx(multipletests(p, method="fdr_bh")[1], abs=1e-12)


def test_discovery_published():
    """Fifteen p values, four stand out at 5 %; Benjamini and Hochberg 1995, section 3.2."""
    p = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
        0.6528, 0.7590, 1.0000,
    ]  # fmt: skip
    assert (discovery(p) <= 0.05).sum() == 4


def test_pulling_published():
    """Eight schools; Gelman and others, Bayesian Data Analysis, table 5.3 (200 draws), from memory.

    Medians 10 8 7 8 5 6 10 8, 2.5 % -2 -5 -11 -7 -9 -7 -1 -6, 97.5 % 31 23 19 21 18 17 26 33.
    """
    found = pulled([28, 8, -3, 7, -1, 1, 18, 12], [15, 10, 16, 11, 9, 11, 10, 18])
    assert found.value == pytest.approx([10, 8, 7, 8, 5, 6, 10, 8], abs=1.6)
    assert found.low == pytest.approx([-2, -5, -11, -7, -9, -7, -1, -6], abs=2.5)
    # The last upper limit, 33 there, is left out: extreme of 200 draws for the school with the largest error.
    assert found.high[:7] == pytest.approx([31, 23, 19, 21, 18, 17, 26], abs=3.5)


def test_pulled_values_are_nearer_to_the_truth_and_cover_it():
    """Nine regions, 400 times: squared error falls, coverage 92 to 97 % (error 0.4 points)."""
    rng = np.random.default_rng(6)
    raw = near = inside = 0.0
    for _ in range(400):
        truth = rng.normal(0.1, 0.12, 9)
        error = rng.uniform(0.08, 0.25, 9)
        seen = truth + error * rng.normal(size=9)
        found = pulled(seen, error)
        raw += ((seen - truth) ** 2).mean() / 400
        near += ((found.value - truth) ** 2).mean() / 400
        inside += ((found.low <= truth) & (truth <= found.high)).mean() / 400
    assert near < 0.8 * raw
    assert 0.92 <= inside <= 0.97


def test_regions_side_by_side(world):
    effect = effect_of(fit_model(world, ("hours",)), "hours")
    effects = {
        "hand": effect,
        "neck": replace(effect, p=0.04),
        "knee": replace(effect, p=0.5, ratio=1.0, ratio_low=0.9, ratio_high=1.1),
        "back": replace(effect, p=0.6),
    }
    found = {one.region: one for one in look(effects, main=("hand",))}
    assert [one.label for one in found.values()] == ["main question", *["exploratory"] * 3]
    assert found["hand"].q is None
    assert found["neck"].q == pytest.approx(0.12)
    assert found["knee"].ratio > 1.0
    two = look({"hand": effect, "neck": effect})
    assert [one.ratio for one in two] == [effect.ratio] * 2
    with pytest.raises(ValueError, match="different kinds"):
        look({"hand": effect, "neck": replace(effect, measure="odds ratio")})
    with pytest.raises(ValueError, match="three are needed"):
        pulled([0.1], [0.1])
