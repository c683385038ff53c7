"""Season, leavers, single breaks, scales and case definitions."""

import numpy as np
import pytest
from scipy.special import expit

from etl.contracts.outcomes import SURVEYS
from models.answering import Habits, simulate
from models.cases import DEFINITIONS, score_case
from models.changepoint import single_break
from models.questionnaire import GENERAL, MONTHLY, one_series
from models.scales import SCALES, build_bridge, cross
from models.season import leavers, partial_months, season


def test_a_yearly_wave_is_found_and_taken_out():
    rng = np.random.default_rng(61)
    month = np.arange(48)
    cases = rng.binomial(200, expit(-1 + 0.5 * np.cos(2 * np.pi * (month - 1) / 12)))
    found = season(cases, np.full(48, 200), first_month=1)
    assert found.amplitude == pytest.approx(0.5, abs=0.1)
    assert found.peak_month in (1, 2, 3)
    assert found.p_value is not None
    assert found.p_value < 0.001
    assert found.adjusted.std() < (cases / 200).std() / 2


def test_season_is_seldom_seen_where_there_is_none():
    # 300 series without a season: Monte-Carlo error 1.3 points at 5 %.
    rng = np.random.default_rng(62)
    n = np.full(36, 40)
    seen = [season(rng.binomial(n, 0.3), n, 1).p_value or 1.0 for _ in range(300)]
    assert np.mean(np.array(seen) < 0.05) <= 0.08


@pytest.mark.parametrize(
    ("cases", "answers"), [([5] * 23, [20] * 23), ([0] * 36, [20] * 36), ([0] * 36, [0] * 36)]
)
def test_season_says_why_it_cannot(cases, answers):
    found = season(cases, answers, 1)
    assert found.amplitude is None
    assert found.reason
    assert np.isfinite(found.adjusted).all()


def test_partial_months_are_those_cut_short():
    assert partial_months([20, 21, 19, 6, 22, 20]).tolist() == [False, False, False, True, False, False]
    assert partial_months([]).tolist() == []


def test_leavers_with_more_discomfort_are_pointed_out():
    assert "people leaving" in leavers(18, 20, 30, 100).sentence
    assert leavers(3, 5, 30, 100).points is None
    assert "cannot be ruled out" in leavers(6, 20, 30, 100).sentence
    assert leavers(0, 0, 0, 0).points is None


def test_a_break_is_found_where_it_was_put():
    rng = np.random.default_rng(63)
    share = np.where(np.arange(36) < 20, 0.2, 0.45)
    found = single_break(rng.binomial(40, share), np.full(36, 40), rng=rng, draws=199)
    assert found.index is not None
    assert abs(found.index - 20) <= 1
    assert found.before < 0.3 < found.after


def test_the_chance_allows_for_people_who_keep_their_symptoms():
    # 150 teams without any break, answers that hang together: Monte-Carlo error 1.8 points at 5 %.
    rng = np.random.default_rng(64)
    answers = simulate(rng, np.full(150, 20), 36, Habits())
    cases, n = answers.counts()
    chances = [single_break(c, k, rng=rng, draws=99).chance for c, k in zip(cases, n, strict=True)]
    assert np.mean([c is not None and c <= 0.05 for c in chances]) <= 0.09


@pytest.mark.parametrize("cases", [[0] * 12, [9] * 12, [], [3, 4]])
def test_a_break_of_nothing_is_none_or_no_gain(cases):
    found = single_break(cases, [9] * len(cases), rng=np.random.default_rng(1), draws=19)
    assert np.isfinite([found.before, found.after, found.gain]).all()
    assert found.index is None or found.gain == pytest.approx(0.0)
    assert found.chance in (None, 1.0)


def test_scales_are_bridged_by_people_who_answered_both():
    rng = np.random.default_rng(65)
    old = rng.integers(0, 11, 200)
    bridge = build_bridge("NRS_0_10", "VAS_0_100", old, old * 10.0)
    assert cross(bridge, [0, 5, 10]) == pytest.approx([0, 50, 100], abs=6)
    with pytest.raises(ValueError, match="needs 50"):
        build_bridge("NRS_0_10", "CR10", old[:20], old[:20])
    with pytest.raises(ValueError, match="do not go together"):
        build_bridge("NRS_0_10", "CR10", old, rng.permutation(old))
    assert SCALES["NRS_0_10"].worst == 10


def test_case_definitions_carry_their_status():
    assert score_case([3, 4, 10], 4).tolist() == [False, True, True]
    assert DEFINITIONS["surveillance"][1] == "from memory"
    with pytest.raises(ValueError, match="outside 0 to 10"):
        score_case([-1], 4)


def test_the_questionnaire_has_nine_sites_and_three_times_nine_items():
    # Occup Med 2007;57:300: nine sites; 12 months, 7 days and prevented from normal activity for each.
    assert len(GENERAL.sites) == 9
    assert {item.code for item in GENERAL.items} == {"TROUBLE_12M", "HINDERED_12M", "TROUBLE_7D"}
    assert GENERAL.sides("ELBOW") == ("LEFT", "RIGHT", "BOTH")
    assert GENERAL.sides("NECK") == ("NONE",)
    with pytest.raises(ValueError, match="does not ask about TOE"):
        GENERAL.sides("TOE")


def test_the_monthly_questionnaire_asks_what_the_contract_takes():
    fields = {field.name: field for field in SURVEYS.fields}
    assert set(MONTHLY.sites) == set(fields["region"].choices)
    assert {item.code.lower() for item in MONTHLY.items} <= set(fields)
    assert {s for site in MONTHLY.sites for s in MONTHLY.sides(site)} == set(fields["side"].choices)
    assert set(fields["scale"].choices) <= set(SCALES)


def test_a_change_of_scale_is_bridged_or_refused_never_mixed():
    same = ("MONTHLY_RATING", "1", "NRS_0_10", "ONLINE")
    assert one_series(same, same) is None
    other = one_series(same, ("MONTHLY_RATING", "1", "CR10", "ONLINE"))
    assert other is not None
    assert "NRS_0_10 to CR10" in other
    assert "bridge the scales" in other
    moved = one_series(same, ("MONTHLY_RATING", "2", "CR10", "PAPER"))
    assert moved is not None
    assert "start a new series" in moved
