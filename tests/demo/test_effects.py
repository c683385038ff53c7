"""The truth can be found again: a pooled logistic regression on what everybody felt.

Newton steps for the maximum-likelihood fit and a sandwich variance summed by person (Liang & Zeger,
Biometrika 1986;73:13-22), because scores of one person belong together. Seed 20261, small scale.
"""

import numpy as np
import pytest

from demo_data.institute import REGIONS
from demo_data.symptoms import (
    AGE_EFFECT,
    FORCE_CENTRE,
    FORCE_UNIT,
    HOURS_CENTRE,
    HOURS_EFFECT,
    HOURS_UNIT,
    direct_effects,
)
from demo_data.work import Dose
from demo_data.world import World, streams, world
from tests.demo.conftest import Demo

Z = 1.96


def fit(x: np.ndarray, y: np.ndarray, person: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return coefficients and their standard errors, robust to repeats of a person."""
    beta = np.zeros(x.shape[1])
    for _ in range(25):
        p = 1 / (1 + np.exp(-x @ beta))
        beta = beta + np.linalg.solve(x.T @ (x * (p * (1 - p))[:, None]), x.T @ (y - p))
    p = 1 / (1 + np.exp(-x @ beta))
    score = np.zeros((person.max() + 1, x.shape[1]))
    np.add.at(score, person, x * (y - p)[:, None])
    bread = np.linalg.inv(x.T @ (x * (p * (1 - p))[:, None]))
    groups = np.unique(person).size
    return beta, np.sqrt(np.diag(bread @ (score.T @ score) @ bread) * groups / (groups - 1))


def hours_effect(found: World, region: int) -> tuple[float, float]:
    """Return the estimated log-odds effect of 5 h/week and its standard error."""
    team, dose = found.health.team, found.dose
    asked = team >= 0
    columns = [
        np.ones(team.shape),
        (dose.hours - HOURS_CENTRE) / HOURS_UNIT,
        np.nan_to_num((dose.force - FORCE_CENTRE) / FORCE_UNIT),
        np.broadcast_to(AGE_EFFECT[found.staff.age][:, None], team.shape),
    ]
    direct = direct_effects(found.changes, team)[..., region]
    if direct.any():
        columns.append(direct)
    x = np.column_stack([column[asked] for column in columns])
    y = (found.health.score[..., region] >= 4)[asked].astype(float)
    person = np.broadcast_to(np.arange(len(team))[:, None], team.shape)[asked]
    beta, error = fit(x, y, person)
    return float(beta[1]), float(error[1])


def test_the_fit_agrees_with_a_two_by_two_table() -> None:
    """One binary exposure: the coefficient is the log odds ratio ad/bc, its variance the sum of 1/n."""
    a, b, c, d = 30, 70, 15, 85
    x = np.column_stack([np.ones(200), np.repeat([1.0, 0.0], 100)])
    y = np.concatenate([np.repeat([1.0, 0.0], [a, b]), np.repeat([1.0, 0.0], [c, d])])
    beta, error = fit(x, y, np.arange(200))
    assert beta[1] == pytest.approx(np.log(a * d / (b * c)))
    assert error[1] == pytest.approx(np.sqrt(1 / a + 1 / b + 1 / c + 1 / d), rel=0.01)


@pytest.mark.parametrize("region", ["NECK", "SHOULDER", "ELBOW", "WRIST_HAND"])
def test_the_hours_effect_lies_in_its_interval(small: World, demo: Demo, region: str) -> None:
    told = demo.truth["effects"]["hours_effect_per_5_h_week"][region]
    estimate, error = hours_effect(small, REGIONS.index(region))
    assert abs(estimate - told) < Z * error


def test_hours_matter_for_the_hand_and_a_doubled_truth_would_be_noticed(small: World) -> None:
    hand = REGIONS.index("WRIST_HAND")
    estimate, error = hours_effect(small, hand)
    assert estimate - Z * error > 0
    assert abs(estimate - 2 * HOURS_EFFECT[hand]) > Z * error


def test_intervals_cover_the_truth_as_often_as_they_say() -> None:
    """Eight seeds, nine regions: 95 % of 72 is 68; 61 would have a chance of less than 0.5 %."""
    covered = 0
    for seed in range(8):
        found = world("small", streams(seed))
        for region in range(len(REGIONS)):
            estimate, error = hours_effect(found, region)
            covered += abs(estimate - HOURS_EFFECT[region]) < Z * error
    assert covered >= 62


def total_effects(demo: Demo) -> dict[str, float]:
    """Return each change's total true effect on the hand or the region it was meant for, in log-odds."""
    return {
        entry["change"]: entry["total_log_odds"]["WRIST_HAND"]
        for entry in demo.truth["changes"]
        if "total_log_odds" in entry
    }


def test_two_changes_helped_and_two_did_nothing(demo: Demo) -> None:
    found = total_effects(demo)
    assert found["CH-01"] < -0.6
    assert found["CH-02"] < -0.5
    # A person who came from a changed team within the month brings a trace of that team's exposure along.
    assert found["CH-03"] == pytest.approx(0, abs=0.01)
    assert found["CH-04"] == pytest.approx(0, abs=0.01)
    assert "CH-06" not in found


def test_force_and_hours_fell_where_the_changes_say_so(demo: Demo) -> None:
    told = {entry["change"]: entry for entry in demo.truth["changes"]}
    swap, moved = told["CH-01"], told["CH-02"]
    assert swap["peak_thumb_force_n"] < 0.65 * swap["peak_thumb_force_n_without"]
    assert swap["hours_per_week"] == swap["hours_per_week_without"]
    assert 0.55 < moved["hours_per_week"] / moved["hours_per_week_without"] < 0.75


def test_a_helpful_change_lowers_true_risk_at_its_team(small: World) -> None:
    change = next(one for one in small.changes if one.kind.code == "CH-01")
    assert change.month is not None
    here = small.health.team == change.team
    after = np.arange(small.plan.months) >= change.month
    eta = small.health.eta[..., REGIONS.index("WRIST_HAND")]
    assert eta[here & after].mean() < eta[here & ~after].mean() - 0.4


def test_dose_counts_each_hour_once(small: World) -> None:
    """Hours a week times weeks employed, summed over everything, are the hours of all bouts."""
    dose: Dose = small.dose
    employed = np.stack(
        [np.bincount(small.cal.month, row >= 0, small.plan.months) for row in small.staff.team_on]
    )
    seconds = (small.bouts.end - small.bouts.start).sum()
    assert (dose.hours * employed / 7).sum() * 3600 == pytest.approx(seconds, rel=1e-9)
