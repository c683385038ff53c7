"""Effects by quarters since the start: planted shapes come back, a drift before is seen, calm is not."""

import numpy as np
import pytest

from models.change_design import TeamRecord, decide
from models.change_world import Ground, draw_world
from models.evaluation import Answers, evaluate
from models.event_picture import event_picture, reassigned

TEAMS, PEOPLE, MONTHS, START = 10, 40, 24, 12
GROUND = Ground(prevalence=0.35, steady=0.3, persistence=0.3, answering=0.9, turnover=0.0, shock_sd=0.0)


def answers_of(seed, effect):
    """Answers of ten teams of 40; `effect` is added to the share, shape (teams, months)."""
    world = draw_world(np.random.default_rng(seed), [PEOPLE] * TEAMS, MONTHS, GROUND, effect=effect)
    month, _, team, seat = np.nonzero(world.answered)
    names = np.array([f"T{k}" for k in team])
    people = np.array([f"{k}-{s}" for k, s in zip(team, seat, strict=True)])
    return Answers(people, names, month, world.case[world.answered])


def design_of(starts, adherence=None, **more):
    used = adherence or [None] * TEAMS
    teams = tuple(
        TeamRecord(f"T{k}", 0, MONTHS - 1, start=s, changed=s is not None, adherence=used[k])
        for k, s in enumerate(starts)
    )
    return decide(teams, MONTHS, **more)


def added(starts, fall, drift=0.0):
    month = np.arange(MONTHS)
    still = np.zeros(MONTHS)
    rows = [still if s is None else np.where(month >= s, -fall, drift * (month - s) / 3) for s in starts]
    return np.array(rows)


TOGETHER = [START] * 5 + [None] * 5
APART = [9, 9, 15, 15, 15, *[None] * 5]


@pytest.mark.parametrize("starts", [TOGETHER, APART], ids=["one start", "two starts"])
def test_a_planted_fall_comes_back_quarter_by_quarter(starts):
    """Standard error of one quarter about 4 points; the mean of the quarters after is within 5 of 20."""
    answers = answers_of(41, added(starts, 0.2))
    begun = min(s for s in starts if s)
    found = event_picture(answers, design_of(starts), (0, 23), begun, np.random.default_rng(1))
    assert found is not None
    quarters = [point.quarter for point in found.points]
    assert quarters == sorted(quarters)
    assert -1 not in quarters
    after = [point.effect for point in found.points if point.quarter >= 0]
    before = [point.effect for point in found.points if point.quarter < 0]
    assert np.mean(after) == pytest.approx(-0.2, abs=0.05)
    assert np.mean(before) == pytest.approx(0.0, abs=0.06)
    assert found.trend_p > 0.05
    for point in found.points:
        assert point.low <= point.effect <= point.high
        assert max(point.changed_people, point.other_people) <= len(point.used)
        assert len(point.used) <= point.changed_people + point.other_people


def test_a_drift_before_is_seen_and_said_how_large_it_must_be():
    """Five points a quarter before the start; the design sees about as much in four of five cases."""
    rng = np.random.default_rng(2)
    drifting = event_picture(
        answers_of(42, added(TOGETHER, 0.0, 0.08)), design_of(TOGETHER), (0, 23), START, rng
    )
    assert drifting.trend_p <= 0.05
    assert 0.01 < drifting.trend_seen < 0.08
    first = drifting.points[0]
    assert first.quarter == -4
    assert first.effect == pytest.approx(-3 * 0.08, abs=0.1)


def test_calm_quarters_before_seldom_show_a_drift():
    """60 worlds without any effect: 3 expected, 7 or more in 3 of 100 such runs."""
    rng = np.random.default_rng(3)
    alarms = 0
    for seed in range(60):
        found = event_picture(answers_of(100 + seed, 0.0), design_of(TOGETHER), (0, 23), START, rng)
        alarms += found.trend_p <= 0.05
    assert alarms <= 7


def test_no_picture_where_it_would_mislead():
    answers = answers_of(43, 0.0)
    chosen = design_of(TOGETHER, chosen_on_outcome=True)
    assert event_picture(answers, chosen, (0, 23), START, np.random.default_rng(4)) is None
    alone = design_of([START] * TEAMS)
    assert event_picture(answers, alone, (0, 23), START, np.random.default_rng(4)) is None


def test_reassignments_are_all_there_are_and_begin_with_the_one_made():
    doses = reassigned(np.array([True, False, True, False]), np.random.default_rng(5))
    assert doses[0].tolist() == [1, 0, 1, 0]
    assert len({tuple(d) for d in doses}) == len(doses) == 6
    many = reassigned(np.arange(24) < 12, np.random.default_rng(6))
    assert (many.sum(1) == 12).all()
    assert (many[0] == (np.arange(24) < 12)).all()


def test_teams_that_use_it_more_change_more():
    """Falls of 5 to 35 points with adherence of 10 to 100 %, against none whatever the adherence."""
    used = [0.1, 0.3, 0.5, 0.8, 1.0, *[None] * 5]
    month = np.arange(MONTHS) >= START
    dosed = np.array([-0.33 * (share or 0.0) * month for share in used])
    for effect, seen in ((dosed, True), (np.zeros((TEAMS, MONTHS)), False)):
        design = design_of(TOGETHER, used)
        found = evaluate(answers_of(44, effect), design, (0, 23), START, np.random.default_rng(7))
        assert (found.dose_p <= 0.05) is seen
        assert found.dose_effect == pytest.approx(-0.33 if seen else 0.0, abs=0.15)
    unknown = design_of(TOGETHER, [0.5, None, 0.3, 0.2, 0.1, *[None] * 5])
    found = evaluate(answers_of(44, dosed), unknown, (0, 23), START, np.random.default_rng(7))
    assert found.dose_p is None
