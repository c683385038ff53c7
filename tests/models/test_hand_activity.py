"""Hand activity level and its limits: bounds, order, editions."""

import numpy as np
import pytest

from models.hand_activity import (
    EDITIONS,
    hand_activity_level,
    hand_activity_limits,
    hand_activity_standing,
    normalised_peak_force,
)


def test_level_rises_with_frequency_and_duty_and_stays_in_bounds() -> None:
    frequency, duty = np.linspace(0, 10, 101)[:, None], np.linspace(0, 100, 201)[None, :]
    level = hand_activity_level(frequency, duty)
    assert (np.diff(level, axis=0) >= 0).all()
    assert (np.diff(level, axis=1) >= 0).all()
    assert level.min() == 0
    # 6.56 ln(100) / 3.18 is what the equation tends to.
    assert level.max() < 9.50


def test_level_matches_the_table_of_the_original_limit() -> None:
    # Radwin et al. 2015: the equation "generally matches" the lookup table (table from memory), within 1.2.
    table = {0.25: (2, 2, 3), 0.5: (3, 4, 5, 5, 6), 1.0: (4, 5, 5, 6, 7)}
    for frequency, row in table.items():
        found = hand_activity_level(frequency, [10, 30, 50, 70, 90][: len(row)])
        assert found == pytest.approx(np.array(row), abs=1.2)


def test_no_activity_at_no_frequency_or_duty() -> None:
    assert hand_activity_level([0, 1, 1], [50, 0, 1]).tolist() == [0, 0, 0]


def test_2001_lines_are_the_printed_ratios() -> None:
    level = np.linspace(0, 9.9, 100)
    limits = hand_activity_limits(level, EDITIONS["2001"])
    assert limits.threshold / (10 - level) == pytest.approx(np.full(100, 0.78))
    assert limits.action / (10 - level) == pytest.approx(np.full(100, 0.56))


def test_2018_is_stricter_and_its_action_limit_ends_at_6_43() -> None:
    level = np.linspace(0, 10, 101)
    old, new = hand_activity_limits(level, EDITIONS["2001"]), hand_activity_limits(level)
    assert (new.threshold <= old.threshold + 1e-12).all()
    assert (new.action <= old.action + 1e-12).all()
    assert (new.action >= 0).all()
    assert hand_activity_limits([6.42, 6.43]).action == pytest.approx([0.0048, 0], abs=1e-9)


def test_standing_at_the_lines() -> None:
    # HAL 2, 2018: action limit 2.48, threshold 4.48.
    words = [hand_activity_standing(force, 2) for force in (2.47, 2.49, 4.47, 4.49)]
    assert words == ["within guide", "near guide", "near guide", "over guide"]
    assert hand_activity_standing(4.49, 2, EDITIONS["2001"]) == "near guide"
    assert hand_activity_standing(float("nan"), 2) is None
    assert hand_activity_standing(1, float("nan")) is None
    assert EDITIONS["2018"].status == "cross-checked"


def test_unknown_stays_unknown() -> None:
    assert np.isnan(hand_activity_level([np.nan, 1], [50, np.nan])).all()
    assert np.isnan(normalised_peak_force(np.nan))
    assert np.isnan(hand_activity_limits([np.nan, 2]).action).tolist() == [True, False]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: hand_activity_level([1, 30], 50), "is 30 at index 1.*divide exertions per minute by 60"),
        (lambda: hand_activity_level(1, 101), "duty cycle"),
        (lambda: normalised_peak_force(120), "cannot be made"),
        (lambda: hand_activity_limits(11), "from 0 to 10"),
        (lambda: hand_activity_standing(11, 2), "normalised peak force is 11"),
    ],
)
def test_message_names_value_and_remedy(call, message) -> None:
    with pytest.raises(ValueError, match=message):
        call()
