"""Doubts: the causal diagram, what something unmeasured would have to be, error in exposure."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.driver_backdoor import as_words, back_door, is_acyclic, open_paths, parents
from models.driver_data import DriverData
from models.driver_diagram import ARROWS, DECLARED, NODES, Declared
from models.driver_effect import prevalence_effect
from models.driver_error import (
    corrected,
    e_value,
    e_value_of_limit,
    error_band,
    explained_share,
    known_reliability,
    reliability_of,
)
from models.driver_records import Refused

# Pearl 2009, Causality, 2nd edition, figure 3.4: X1..X6 between Xi and Xj; from memory. Sufficient there:
# {X3, X4} and {X4, X5}; not sufficient: {X4} and {X6}.
PEARL = (
    ("x1", "x3"), ("x1", "x4"), ("x2", "x4"), ("x2", "x5"), ("x3", "x"), ("x4", "x"), ("x4", "y"),
    ("x5", "y"), ("x", "x6"), ("x6", "y"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("closed", "shut"),
    [({"x3", "x4"}, True), ({"x4", "x5"}, True), ({"x4"}, False), ({"x6"}, False), (set(), False)],
)
def test_back_door_of_a_published_diagram(closed, shut):
    assert (not open_paths("x", "y", closed, PEARL)) is shut


def test_a_collider_opens_when_something_it_moves_is_held_fixed():
    butterfly = (("a", "x"), ("a", "m"), ("b", "m"), ("b", "y"), ("m", "child"), ("x", "y"))
    assert open_paths("x", "y", set(), butterfly) == []
    assert open_paths("x", "y", {"child"}, butterfly) == [("x", "a", "m", "b", "y")]
    assert open_paths("x", "y", {"child", "a"}, butterfly) == []
    assert as_words(("x", "a", "m"), butterfly) == "x <- a -> m"


def test_diagram_is_one():
    assert is_acyclic()
    assert not is_acyclic((*ARROWS, ("discomfort", "age")))
    keys = {node.key for node in NODES}
    assert {end for arrow in ARROWS for end in arrow} == keys
    assert all(0 <= node.x <= 1 and 0 <= node.y <= 1 for node in NODES)
    assert parents("dose") == {"hours", "thumb_force"}


@pytest.mark.parametrize("declared", DECLARED, ids=lambda d: f"{d.question} {d.exposure}")
def test_declared_sets_close_every_path_that_could_be_closed(declared):
    found = back_door(declared)
    assert found.wrong == ()
    assert found.descendants == ()
    assert "Not measured, so left open: " in found.sentence
    assert bool(found.left) == ("earlier" in declared.left)


def test_a_set_that_forgets_age_or_holds_a_mediator_is_wrong():
    forgot = back_door(Declared("prevalence", "hours", ("calendar", "thumb_force"), ("earlier",), "x"))
    assert "hours <- age -> discomfort" in forgot.wrong
    assert "could be closed" in forgot.sentence
    mediator = back_door(Declared("prevalence", "hours", ("age", "calendar", "dose"), ("earlier",), "x"))
    assert mediator.descendants == ("dose",)


def test_e_value_published():
    """3.9 (1.8-8.7): 7.26 and 3.0; VanderWeele and Ding 2017, Ann Intern Med 167:268, worked example."""
    assert e_value(3.9) == pytest.approx(7.26, abs=5e-3)
    assert e_value_of_limit(1.8, 8.7) == pytest.approx(3.0, abs=5e-3)
    assert e_value(1 / 3.9) == pytest.approx(e_value(3.9))
    assert e_value_of_limit(0.9, 2.0) == 1.0
    assert e_value_of_limit(0.3, 0.8) == e_value(0.8)
    with pytest.raises(ValueError, match="not positive"):
        e_value(0)


@given(st.floats(1.001, 20))
def test_e_value_is_the_bias_that_explains_all(ratio):
    """With both sides at E the bias factor E^2 / (2E - 1) is the ratio itself."""
    e = e_value(ratio)
    assert e * e / (2 * e - 1) == pytest.approx(ratio, rel=1e-9)


def test_reliability_published():
    """Six targets, four judges: ICC(1,1) .17; Shrout and Fleiss 1979, Psychol Bull 86:420, tables 2 and 4."""
    ratings = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
    found = reliability_of(ratings)
    assert found.value == pytest.approx(0.17, abs=5e-3)
    assert found.low < 0 < found.high
    with pytest.raises(Refused, match="duplicate reports"):
        reliability_of([[1.0, 1.0]] * 12)


def _reported(rng, reliability, slope=0.3, teams=60, size=10, months=10):
    people = teams * size
    true = np.clip(8 + 2 * rng.normal(size=(people, months)), 0.5, None)
    noise = 2 * np.sqrt(1 / reliability - 1)
    twice = true[..., None] + noise * rng.normal(size=(people, months, 2))
    case = rng.random(true.shape) < 0.12 * np.exp(slope * (true - 8) / 5)
    person, month = np.divmod(np.arange(true.size), months)
    hours = np.maximum(twice[..., 0].ravel(), 0)
    data = DriverData(person, person % teams, month, hours, hours, case.ravel())
    return data, twice[: people // 5, 0]


def test_error_of_reliability_point_8_is_corrected_to_within_10_percent():
    """Mean over 40 worlds of 6 000 answers; the naive slope is a fifth too small. Error about 4 %."""
    rng = np.random.default_rng(1)
    naive, fixed, covered = [], [], 0
    for _ in range(40):
        data, twice = _reported(rng, 0.8)
        effect = prevalence_effect(data, "hours")
        better = corrected(effect, reliability_of(twice), explained_share(data, "hours", ()))
        naive.append(np.log(effect.ratio))
        fixed.append(np.log(better.ratio))
        covered += better.ratio_low <= np.exp(0.3) <= better.ratio_high
    assert np.mean(naive) == pytest.approx(0.8 * 0.3, rel=0.1)
    assert np.mean(fixed) == pytest.approx(0.3, rel=0.1)
    assert covered >= 34


def test_band_runs_from_the_naive_ratio_outwards():
    data, _ = _reported(np.random.default_rng(2), 0.8)
    effect = prevalence_effect(data, "hours")
    band = error_band(effect)
    assert band[-1][1:] == pytest.approx((effect.ratio, effect.ratio_low, effect.ratio_high))
    assert [row[1] for row in band] == sorted((row[1] for row in band), reverse=True)
    assert np.log(band[0][1]) == pytest.approx(2 * np.log(effect.ratio))
    assert len(error_band(effect, explained=0.55)) == 5
    half = corrected(effect, known_reliability(0.5))
    assert half.points == pytest.approx(2 * effect.points)
    assert half.p == pytest.approx(effect.p)
    with pytest.raises(Refused, match="hardly any true exposure"):
        corrected(effect, known_reliability(0.5), 0.5)
    with pytest.raises(ValueError, match="outside"):
        known_reliability(0)


def test_what_the_model_explains():
    data, _ = _reported(np.random.default_rng(3), 1.0)
    copy = data.with_covariates(near=data.hours + np.random.default_rng(4).normal(size=len(data)))
    share = explained_share(copy, "hours", ("near",))
    assert share == pytest.approx(np.corrcoef(copy.hours, copy.column("near"))[0, 1] ** 2, abs=0.01)
