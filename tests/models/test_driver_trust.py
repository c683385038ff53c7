"""What is worked out from published ratios: E-values, correction for error, regions together."""

import numpy as np
import pytest

from models.driver_error import corrected, known_reliability
from models.driver_records import Effect
from models.driver_trust import Ratio, calibrated, e_values, together


def test_e_values_are_those_of_the_paper():
    # VanderWeele and Ding 2017, Ann Intern Med 167:268: risk ratio 3.9 (1.8 to 8.7) has 7.26 and 3.00.
    assert e_values(Ratio(3.9, 1.8, 8.7)) == (7.3, 3.0)


@pytest.mark.parametrize("ratio", [Ratio(1.2, 1.0, 1.5), Ratio(1.2, 0.9, 1.5), Ratio(0.9, 0.0, 1.2)])
def test_an_interval_that_reaches_one_needs_nothing_to_be_explained(ratio):
    assert e_values(ratio)[1] == 1.0


def test_less_is_judged_as_its_inverse():
    assert e_values(Ratio(0.5, 0.4, 0.8)) == e_values(Ratio(2.0, 1.25, 2.5))


@pytest.mark.parametrize("reliability", [0.5, 0.8, 1.0])
def test_calibration_is_that_of_the_models(reliability):
    effect = Effect(
        "prevalence", "hours", 5.0, "h/week", 1.5, 1.5 / 1.25, 1.5 * 1.25, None, None, None, 0.01, 12.0, 900,
        90, 13, "prevalence ratio", "", "",
    )  # fmt: skip
    one = corrected(effect, known_reliability(reliability))
    found = calibrated(Ratio(effect.ratio, effect.ratio_low, effect.ratio_high), reliability)
    assert found is not None
    assert [found.value, found.low, found.high] == pytest.approx([one.ratio, one.ratio_low, one.ratio_high])


def test_hardly_any_true_exposure_cannot_be_corrected():
    assert calibrated(Ratio(1.4, 1.1, 1.8), 0.05) is None
    with pytest.raises(ValueError, match="more than 1"):
        calibrated(Ratio(1.4, 1.1, 1.8), 1.1)


def test_a_limit_of_nothing_stays_one():
    found = calibrated(Ratio(1.4, 0.0, np.inf), 0.5)
    assert found is not None
    assert (found.low, found.high) == (0.0, np.inf)


def test_regions_are_pulled_towards_their_mean_and_keep_their_order():
    ratios = {
        "a": Ratio(1.8, 0.9, 3.6),
        "b": Ratio(1.2, 0.9, 1.6),
        "c": Ratio(1.1, 0.9, 1.4),
        "d": Ratio(1.0, 0.0, 2),
    }
    found = together(ratios, 12.0)
    assert set(found) == {"a", "b", "c"}, "a limit of 0 says nothing about the error"
    assert found["a"].value < 1.8
    assert found["c"].value > 1.1 - 1e-9
    assert found["a"].value > found["b"].value > found["c"].value
    assert found["a"].high / found["a"].low < 4
    assert together(dict(list(ratios.items())[:2]), 12.0) == {}
