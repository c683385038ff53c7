"""The driver models find the invented institute's truth: intervals of hours and force hold what was put in.

Seed 20261, small scale, from what people felt and did; loading, facts and release have tests of their own.
"""

import numpy as np
import pytest

from demo_data.institute import REGIONS
from demo_data.symptoms import FORCE_EFFECT, FORCE_UNIT, HOURS_EFFECT, HOURS_UNIT
from demo_data.world import World, streams, world
from models.driver_data import DriverData
from models.driver_effect import fit_model

HAND = REGIONS.index("WRIST_HAND")


def answers_of(found: World, region: int = HAND) -> DriverData:
    """Return what those who answered felt, with the month's true exposure; months without work left out."""
    health, dose = found.health, found.dose
    person, month = np.nonzero(health.answered & ~np.isnan(dose.force) & ~changed(found))
    age = found.staff.age[person]
    return DriverData(
        person, health.team[person, month], month, dose.hours[person, month], np.zeros(len(person)),
        (health.score[person, month, region] >= 4).astype(int),
        {"age": age, "thumb_force": dose.force[person, month]},
    )  # fmt: skip


def changed(found: World) -> np.ndarray:
    """Return the person-months in which a change has a direct effect of its own."""
    months = np.arange(found.plan.months)
    touched = np.zeros(found.health.team.shape, bool)
    for change in found.changes:
        if change.month is not None and change.kind.direct:
            touched |= (found.health.team == change.team) & (months >= change.month)
    return touched


def intervals(found: World) -> dict[str, tuple[float, float]]:
    """Return the 95 % intervals of the log-odds for 5 h a week and 10 N more."""
    fitted = fit_model(
        answers_of(found), ("hours", "thumb_force"), ("age",), steps=(HOURS_UNIT, FORCE_UNIT), link="logit"
    )
    told = {name: fitted.fit.estimate(fitted.design.unit(name)) for name in ("hours", "thumb_force")}
    return {name: (one.low, one.high) for name, one in told.items()}


def test_the_true_effects_of_hours_and_force_lie_in_their_intervals(small: World) -> None:
    found = intervals(small)
    assert found["hours"][0] < HOURS_EFFECT[HAND] < found["hours"][1]
    assert found["thumb_force"][0] < FORCE_EFFECT[HAND] < found["thumb_force"][1]


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Eight seeds, two exposures: 95 % of 16 is 15; 12 or fewer would have a chance of 0.1 %."""
    held = 0
    for seed in range(8):
        found = intervals(world("small", streams(seed)))
        held += found["hours"][0] < HOURS_EFFECT[HAND] < found["hours"][1]
        held += found["thumb_force"][0] < FORCE_EFFECT[HAND] < found["thumb_force"][1]
    assert held >= 13


def test_the_intervals_are_no_empty_words(small: World) -> None:
    low, high = intervals(small)["hours"]
    assert low > 0
    assert high - low < 3 * HOURS_EFFECT[HAND]
    assert pytest.approx(HOURS_EFFECT[HAND], abs=0.5) == (low + high) / 2
