"""The latent course: sizes, spells, shifts and the parts that teams play."""

from itertools import pairwise

import numpy as np
import pytest

from demo_data.institute import plan
from demo_data.people import LEAVE_PER_MONTH, Spell
from demo_data.symptoms import CHANCE_MONTHS
from demo_data.world import World, streams, world

# Bjorksten, Almby & Jansson 1994: 300 hours a year over 44 working weeks.
GUIDE_HOURS = 300 / 44


def spells_by_person(found: World) -> dict[int, list[Spell]]:
    grouped: dict[int, list[Spell]] = {}
    for spell in found.staff.spells:
        grouped.setdefault(spell.person, []).append(spell)
    return grouped


@pytest.mark.parametrize(("scale", "teams", "least", "most"), [("full", 16, 225, 245), ("small", 8, 95, 112)])
def test_sizes_of_the_institute(scale: str, teams: int, least: int, most: int) -> None:
    the_plan = plan(scale)
    seats = sorted(team.seats for team in the_plan.teams)
    assert len(seats) == teams
    assert least <= sum(seats) <= most
    assert seats[0] < 5
    assert sum(6 <= size <= 9 for size in seats) == 1
    assert sum(10 <= size <= 15 for size in seats) >= 3


@pytest.mark.parametrize("scale", ["small", "full"])
def test_clusters_keep_twenty_people_in_every_month_and_follow_sites(scale: str) -> None:
    found = world(scale, streams(20261))
    clusters = {team.cluster for team in found.plan.teams}
    assert len(clusters) == (6 if scale == "full" else 4)
    for cluster in clusters:
        members = [i for i, team in enumerate(found.plan.teams) if team.cluster == cluster]
        assert len({found.plan.teams[i].site for i in members}) == 1
        assert np.isin(found.health.team, members).sum(0).min() >= 20, cluster


def test_full_size_has_about_one_and_a_half_million_bouts_and_240_people() -> None:
    found = world("full", streams(20261))
    assert 1.35e6 < found.bouts.start.size < 1.65e6
    assert 225 < (found.staff.team_on >= 0).sum(0).mean() < 245
    leavers = sum(spell.last is not None for spell in found.staff.spells)
    rate = leavers / (36 * 238)
    assert 0.8 * LEAVE_PER_MONTH < rate < 0.02
    moved = sum(len(spells) > 1 for spells in spells_by_person(found).values())
    assert moved >= 5


def test_spells_of_a_person_never_overlap(small: World) -> None:
    for spells in spells_by_person(small).values():
        for before, after in pairwise(spells):
            assert before.last is not None
            assert before.first <= before.last < after.first


def test_every_bout_lies_in_a_spell_on_its_team(small: World) -> None:
    first_day = small.cal.days[0].astype(int)
    for instant in (small.bouts.start, small.bouts.end):
        day = instant // 86_400 - first_day
        night = np.isin(small.bouts.team, small.plan.of_part("night"))
        team = small.staff.team_on[small.bouts.person, np.minimum(day, small.cal.days.size - 1)]
        assert (team >= 0).all()
        assert (team == small.bouts.team)[~night].all()


def test_bouts_of_a_person_follow_each_other_and_last_2_to_45_minutes(small: World) -> None:
    bouts = small.bouts
    same = bouts.person[1:] == bouts.person[:-1]
    assert (bouts.start[1:] >= bouts.end[:-1])[same].all()
    length = bouts.end - bouts.start
    # Whole minutes at one site can stretch a bout by one minute.
    assert length.min() >= 120
    assert length.max() <= 2760


def test_nobody_starts_at_the_weekend_and_nights_cross_midnight(small: World) -> None:
    shift_day = (small.bouts.start - 6 * 3600) // 86_400
    assert ((shift_day + 3) % 7 < 5).all()
    crosses = small.bouts.start // 86_400 != (small.bouts.end - 1) // 86_400
    assert crosses.sum() > 50
    assert np.isin(small.bouts.team[crosses], small.plan.of_part("night")).all()


@pytest.mark.parametrize("scale", ["small", "full"])
def test_one_team_alone_is_far_over_guide(scale: str) -> None:
    found = world(scale, streams(20261))
    hours = np.array([found.dose.hours[found.health.team == i].mean() for i in range(len(found.plan.teams))])
    heavy = found.plan.of_part("overloaded")[0]
    assert hours[heavy] > 1.5 * GUIDE_HOURS
    assert (np.delete(hours, heavy) < 1.15 * GUIDE_HOURS).all()


def test_the_chance_team_looks_worse_although_nothing_changed(small: World) -> None:
    chance = small.plan.of_part("chance")[0]
    here = small.health.team == chance
    late = np.arange(small.plan.months) >= small.plan.months - CHANCE_MONTHS
    score = small.health.score.mean(2)
    assert score[here & late].mean() > score[here & ~late].mean() + 0.3
    risk = 1 / (1 + np.exp(-small.health.eta))
    assert abs(risk[here & late].mean() - risk[here & ~late].mean()) < 0.02
    assert small.health.chance_rank > 2


def test_response_by_team_is_60_to_90_percent_and_falls_with_last_months_score() -> None:
    found = world("full", streams(20261))
    asked = found.health.team >= 0
    rates = [found.health.answered[found.health.team == i].mean() for i in range(16)]
    assert min(rates) > 0.58
    assert max(rates) < 0.92
    worst = found.health.score.max(2)[:, :-1]
    both = asked[:, 1:] & asked[:, :-1]
    answered = found.health.answered[:, 1:]
    assert answered[both & (worst >= 7)].mean() < answered[both & (worst <= 3)].mean() - 0.03


def test_changes_are_six_of_which_one_was_chosen_by_looking_and_one_is_planned() -> None:
    found = world("full", streams(20261))
    kinds = {change.kind.code: change for change in found.changes}
    assert len(kinds) == 6
    assert [code for code, change in kinds.items() if change.kind.chosen_on_outcome] == ["CH-04"]
    assert [code for code, change in kinds.items() if change.month is None] == ["CH-06"]
    months = [change.month for change in found.changes if change.kind.code == "CH-05"]
    assert len(set(months)) == len(months) == 4


def test_the_outcome_change_went_to_the_candidate_with_most_complaints(small: World) -> None:
    change = next(change for change in small.changes if change.kind.chosen_on_outcome)
    assert change.month is not None
    window = slice(change.month - 6, change.month - 3)
    hand = small.health.score[:, window, 4] >= 4
    share = {}
    for team in small.plan.of_part("outcome_candidates"):
        here = small.health.answered[:, window] & (small.health.team[:, window] == team)
        share[int(team)] = hand[here].mean()
    assert max(share, key=lambda team: share[team]) == change.team
