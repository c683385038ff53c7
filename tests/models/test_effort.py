"""Acceptable effort, mean load, load distribution and relative fatigue damage."""

import numpy as np
import pytest

from models.effort import (
    INTERMITTENT_ENDURANCE,
    INTERMITTENT_HANDGRIP,
    SUSTAINED_ENDURANCE,
    maximum_acceptable_effort,
    mean_load,
)
from models.fatigue import StressLifeLine, cycles_to_failure, relative_fatigue_damage
from models.guides import standing
from models.load_distribution import (
    LoadLevels,
    LoadLimits,
    levels_from_classes,
    levels_from_samples,
    load_standing,
)


def test_acceptable_effort_falls_from_one_to_nothing() -> None:
    effort = maximum_acceptable_effort(np.linspace(0, 1, 1001))
    assert effort[0] == 1
    assert (np.diff(effort) < 0).all()
    assert effort[-1] == pytest.approx(0, abs=1e-5)
    assert maximum_acceptable_effort(1 / 28800) == 1


def test_mean_load_against_the_three_limits() -> None:
    # Bjorksten & Jonsson 1977: 14.0 % intermittent, 7.9 % sustained; Bystrom & Fransson-Hall 1994: 17 %.
    load = float(mean_load([34, 0], [1, 1]))
    assert [standing(load, guide) for guide in (SUSTAINED_ENDURANCE, INTERMITTENT_ENDURANCE)] == [
        "over guide"
    ] * 2
    assert standing(load, INTERMITTENT_HANDGRIP) == "near guide"
    assert INTERMITTENT_HANDGRIP.status == "from memory"


def test_mean_load_does_not_know_the_unit_of_time_or_how_parts_are_cut() -> None:
    rng = np.random.default_rng(1)
    force, time = rng.uniform(0, 100, (50, 6)), rng.uniform(0.1, 10, (50, 6))
    found = mean_load(force, time)
    assert mean_load(force, time * 60) == pytest.approx(found)
    assert mean_load(np.repeat(force, 2, axis=1), np.repeat(time / 2, 2, axis=1)) == pytest.approx(found)
    assert ((found >= force.min(axis=1)) & (found <= force.max(axis=1))).all()
    assert np.isnan(mean_load([[30, np.nan], [1, 2]], [[1, 1], [0, 0]])).all()


def test_levels_of_samples_and_of_fine_classes_agree() -> None:
    load = np.random.default_rng(2).gamma(2, 8, 20_000).clip(0, 150)
    counts, edges = np.histogram(load, bins=np.linspace(0, 150, 601))
    sampled, classed = levels_from_samples(load), levels_from_classes(edges, counts)
    expected = np.quantile(load, [0.1, 0.5, 0.9])
    for name, value in zip(("static", "median", "peak"), expected, strict=True):
        assert getattr(sampled, name) == pytest.approx(value, abs=0.02)
        assert getattr(classed, name) == pytest.approx(value, abs=0.25)


def test_levels_weigh_by_time() -> None:
    assert levels_from_samples([40, 5], [1, 3]) == levels_from_samples([5, 40, 5, 5])
    # Even spread over 0-10 %MVC: the levels are the probabilities.
    assert levels_from_classes([0, 10], [3600]) == LoadLevels(*(pytest.approx(x) for x in (1, 5, 9)))


def test_levels_step_over_classes_without_time() -> None:
    levels = levels_from_classes([0, 10, 20, 30], [10, 0, 10])
    assert (levels.static, levels.median, levels.peak) == pytest.approx((2, 10, 28))


def test_unknown_levels_have_no_standing() -> None:
    for levels in (levels_from_samples([1, np.nan]), levels_from_classes([0, 1, 2], [1, np.nan])):
        assert set(load_standing(levels).values()) == {None}


def test_a_value_on_the_limit_does_not_exceed_it() -> None:
    assert set(load_standing(LoadLevels(2, 10, 50)).values()) == {"within guide"}
    assert set(load_standing(LoadLevels(5, 14, 70)).values()) == {"near guide"}
    stricter = LoadLimits(must_not_exceed=(4, 13, 69))
    assert set(load_standing(LoadLevels(5, 14, 70), stricter).values()) == {"over guide"}


def test_damage_adds_up_and_rises_steeply_with_stress() -> None:
    rng = np.random.default_rng(3)
    stress, times = rng.uniform(5, 100, (100, 4)), rng.integers(0, 5000, (100, 4))
    damage = relative_fatigue_damage(stress, times)
    assert relative_fatigue_damage(stress, 2 * times) == pytest.approx(2 * damage)
    assert (relative_fatigue_damage(stress[:, :3], times[:, :3]) <= damage).all()
    # The line falls by its slope for each tenfold of cycles.
    assert cycles_to_failure(30) / cycles_to_failure(30 + 14.83) == pytest.approx(10)
    assert cycles_to_failure(50, StressLifeLine(intercept=100, slope=10)) == pytest.approx(1e5)
    assert np.isnan(relative_fatigue_damage([30, np.nan], [1, 1]))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: maximum_acceptable_effort(30), "divide a percentage by 100"),
        (lambda: mean_load([10, 20], [1, -1]), "is -1 at index 1"),
        (lambda: levels_from_samples([1, 2], [0, 0]), "no time to distribute"),
        (lambda: levels_from_samples([1, 2], [1]), "one duration for each load"),
        (lambda: levels_from_classes([0, 2, 1], [1, 1]), "Give rising edges"),
        (lambda: levels_from_classes([0, 1], [1, 1]), "2 edges for 2 classes"),
        (lambda: cycles_to_failure([0, 10]), "is 0 at index 0"),
        (lambda: cycles_to_failure(10, StressLifeLine(slope=0)), "slope above 0"),
        (lambda: relative_fatigue_damage(10, -1), "repetitions is -1"),
    ],
)
def test_message_names_value_and_remedy(call, message) -> None:
    with pytest.raises(ValueError, match=message):
        call()
