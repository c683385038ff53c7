"""All questions of all regions: answered or refused by name, with progress."""

from dataclasses import replace

import numpy as np
import pytest

from models.driver_data import DriverData
from models.driver_effect import prevalence_effect
from models.driver_records import Curve, Effect, LagPicture, Refusal
from models.driver_run import PARTS, Question, drive
from models.driver_windows import ExposureHistory
from tests.support.driver_worlds import driver_world


@pytest.fixture(scope="module")
def found():
    data = driver_world(np.random.default_rng(1), [12] * 16, months=18, slope=0.4)
    two = np.zeros(len(data), int)
    two[:2] = 1
    told = []
    answered, looked = drive(
        {"hand": data, "ankle": replace(data, case=two), "neck": replace(data, case=np.roll(data.case, 5))},
        Question("hours", ("age",), ("force",)),
        np.random.default_rng(2),
        main=("hand",),
        progress=lambda *said: told.append(said),
    )
    return data, {one.region: one for one in answered}, looked, told


def test_every_part_is_told(found):
    _, answered, _, told = found
    assert [done for _, done, _ in told] == list(range(1, 3 * len(PARTS) + 1))
    assert {of for _, _, of in told} == {3 * len(PARTS)}
    assert told[0][0] == "hand: association"
    assert set(answered) == {"hand", "ankle", "neck"}


def test_a_region_is_answered_in_full(found):
    data, answered, _, _ = found
    hand = answered["hand"]
    assert hand.effect == prevalence_effect(data, "hours", ("age",), beside=("force",))
    assert isinstance(hand.headline, str)
    assert [curve.kind for curve in hand.curves if isinstance(curve, Curve)] == ["line", "spline", "monotone"]
    assert isinstance(hand.lags, LagPicture)
    measures = {name: getattr(hand, name).measure for name in ("described", "within", "nested", "onset")}
    assert measures == {
        "described": "prevalence ratio", "within": "prevalence ratio", "nested": "odds ratio",
        "onset": "risk ratio",
    }  # fmt: skip
    assert hand.e_values is not None
    assert hand.e_values[0] >= hand.e_values[1] >= 1


def test_a_region_with_two_cases_is_refused_throughout(found):
    _, answered, looked, _ = found
    ankle = answered["ankle"]
    assert isinstance(ankle.headline, Refusal)
    assert "only 2 of" in ankle.headline.why
    assert "At least 10 answers with it" in ankle.headline.needed
    parts = (
        ankle.effect,
        ankle.described,
        ankle.within,
        ankle.nested,
        ankle.onset,
        ankle.lags,
        *ankle.curves,
    )
    assert all(isinstance(part, Refusal) for part in parts)
    assert ankle.diagnostics == ()
    assert [one.region for one in looked] == ["hand", "neck"]
    assert [one.label for one in looked] == ["main question", "exploratory"]


def test_odds_ratios_have_no_e_value_and_steps_hold():
    data = driver_world(np.random.default_rng(3), [12] * 8, months=10, slope=0.4)
    who, when = np.divmod(np.arange(96 * 10), 10)
    past = ExposureHistory(who, when, np.full(len(who), 3.0) + who % 4 + when % 3, np.ones(len(who)))
    question = Question("hours", step=2.0, link="logit")
    (one,), looked = drive({"hand": data}, question, np.random.default_rng(4), history=past)
    assert isinstance(one.effect, Effect)
    assert (one.effect.measure, one.effect.step, one.e_values) == ("odds ratio", 2.0, None)
    assert len(looked) == 1
    assert isinstance(data, DriverData)


def test_intervals_hold_the_truth_of_hours_and_force():
    """60 worlds in which hours and force act together; each interval holds its truth in 90 % or more.

    Under 54 of 60 has a chance of 3 % at 95 %.
    """
    rng = np.random.default_rng(5)
    inside = np.zeros(2)
    for _ in range(60):
        people, months = 240, 10
        hours = np.clip(6 + 2 * rng.normal(size=(people, 1)) + rng.normal(size=(people, months)), 0, None)
        force = np.clip(40 + 15 * rng.normal(size=(people, months)), 0, None)
        share = 0.12 * np.exp(0.3 * (hours - 6) / 5 + 0.2 * (force - 40) / 50)
        case = (rng.random(share.shape) < share).astype(int).ravel()
        person, month = np.divmod(np.arange(case.size), months)
        data = DriverData(person, person % 12, month, hours.ravel(), force.ravel(), case)
        told = (("hours", "force", 5.0, 0.3), ("force", "hours", 50.0, 0.2))
        for k, (name, other, step, truth) in enumerate(told):
            effect = prevalence_effect(data, name, beside=(other,), step=step)
            inside[k] += effect.ratio_low <= np.exp(truth) <= effect.ratio_high
    assert (inside >= 54).all()
