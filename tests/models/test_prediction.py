"""Prediction of next quarter's group prevalence: what it may know, and when it has to admit defeat."""

import numpy as np
import pytest
from scipy.special import expit

from models.driver_records import Refused
from models.prediction import BY_TEAM, BY_TIME, _by_time, _fit, predict_groups
from models.prediction_cells import Ahead, GroupCells, one_ahead
from models.prediction_records import BOOSTED, LAST, MODELS, Prediction


def cells(
    slope: float,
    rng: np.random.Generator,
    groups: int = 12,
    quarters: int = 10,
    n: int = 60,
    jump: float = 1.0,
) -> GroupCells:
    """Draw groups whose exposure of a quarter decides on discomfort of the next."""
    group, quarter = np.divmod(np.arange(groups * quarters), quarters)
    hours = rng.normal(0, jump, (groups, quarters))
    risk = expit(-1.0 + slope * np.column_stack([np.zeros(groups), hours[:, :-1]]))
    cases = rng.binomial(n, risk).astype(float)
    noise = rng.standard_normal(groups * quarters)
    return GroupCells(
        group, quarter, cases.ravel(), np.full(len(group), float(n)), {"hours": hours.ravel(), "noise": noise}
    )


def test_pairs_join_a_quarter_with_the_next_and_know_nothing_later() -> None:
    given = cells(1.0, np.random.default_rng(1), groups=3, quarters=4)
    found = one_ahead(given)
    assert len(found.n) == 9
    for k in range(len(found.n)):
        now = (given.group == found.group[k]) & (given.quarter == found.quarter[k])
        then = (given.group == found.group[k]) & (given.quarter == found.quarter[k] + 1)
        assert found.last[k] == (given.cases / given.n)[now][0]
        assert found.cases[k] == given.cases[then][0]
        assert found.x[k, 2] == given.exposure["hours"][now][0]
    shaken = GroupCells(
        given.group, given.quarter, np.where(given.quarter == 3, 0.0, given.cases), given.n, given.exposure
    )
    assert np.array_equal(one_ahead(shaken).x, found.x), "the last quarter is nobody's past"


def test_a_gap_makes_no_pair() -> None:
    given = cells(1.0, np.random.default_rng(1), groups=3, quarters=4)
    empty = GroupCells(
        given.group, given.quarter, np.where(given.quarter == 1, 0.0, given.cases),
        np.where(given.quarter == 1, 0.0, given.n), given.exposure,
    )  # fmt: skip
    assert set(one_ahead(empty).quarter) == {2}


def test_later_quarters_are_predicted_from_earlier_ones_only() -> None:
    ahead = one_ahead(cells(1.0, np.random.default_rng(1)))
    for teach, hold in _by_time(ahead):
        assert ahead.quarter[teach].max() < ahead.quarter[hold].min()


@pytest.fixture(scope="module")
def driven() -> Prediction:
    return predict_groups(one_ahead(cells(1.0, np.random.default_rng(2))), np.random.default_rng(3))


def test_where_exposure_decides_it_is_found_and_named(driven: Prediction) -> None:
    assert driven.best != LAST
    assert driven.beats_last
    assert driven.exposure_adds
    assert driven.importance[0].feature == "hours"
    assert driven.importance[0].low > 0
    noise = next(one for one in driven.importance if one.feature == "noise")
    assert noise.points < driven.importance[0].points / 4
    assert "Exposure adds" in driven.sentence
    assert driven.calibration.slope == pytest.approx(1.0, abs=0.35)
    assert driven.calibration.predicted == pytest.approx(driven.calibration.observed, abs=0.05)


def test_every_model_is_scored_under_both_schemes(driven: Prediction) -> None:
    assert [(s.scheme, s.model) for s in driven.scores] == [
        (scheme, model) for scheme in (BY_TEAM, BY_TIME) for model in MODELS
    ]
    assert all(s.low <= s.gain <= s.high for s in driven.scores)


def test_without_anything_to_find_it_rarely_claims_to_have_found_something() -> None:
    """No exposure matters: in 12 samples at most 2 may say that it adds something (1 of 40 each way)."""
    claims = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        claims += predict_groups(one_ahead(cells(0.0, rng, groups=8, quarters=8)), rng).exposure_adds
    assert claims <= 2


def test_the_boosted_prediction_never_falls_with_exposure() -> None:
    ahead = one_ahead(cells(-1.0, np.random.default_rng(5)))
    made = _fit(ahead, np.arange(len(ahead.n)), list(range(4)), BOOSTED)
    x = np.tile(np.median(ahead.x, axis=0), (50, 1))
    x[:, 2] = np.linspace(-3, 3, 50)
    assert (np.diff(made.predict_proba(x)[:, 1]) >= 0).all()


def test_missing_exposure_is_no_obstacle() -> None:
    ahead = one_ahead(cells(1.0, np.random.default_rng(6)))
    x = ahead.x.copy()
    x[::3, 2], x[:, 3] = np.nan, np.nan
    holes = Ahead(x, ahead.names, ahead.group, ahead.quarter, ahead.last, ahead.cases, ahead.n)
    found = predict_groups(holes, np.random.default_rng(1))
    assert all(np.isfinite(score.error) for score in found.scores)


@pytest.mark.parametrize(
    ("groups", "quarters", "what"), [(3, 12, "groups"), (12, 4, "quarters"), (6, 5, "pairs")]
)
def test_too_little_is_refused(groups: int, quarters: int, what: str) -> None:
    given = one_ahead(cells(1.0, np.random.default_rng(1), groups, quarters))
    with pytest.raises(Refused, match=what):
        predict_groups(given, np.random.default_rng(1))
