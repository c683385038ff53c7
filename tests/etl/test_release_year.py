"""The organisation's year: what is stated, on how many people, and that no person follows from it."""

import numpy as np
import pandas as pd
import pytest

from etl.release_year_parts import (
    FEW_TIME,
    NO_BAND,
    NO_LEAVER,
    NO_RATING,
    Part,
    age_part,
    change_part,
    leavers_part,
    level_part,
    onset_part,
    season_words,
)
from models.result_gate import Gated, Ground, Question, gate_result

PEOPLE = [f"p{k:03d}" for k in range(140)]
BANDS = ("UNDER_30", "30_39", "40_49", "50_59", "60_OVER")


def answers(seed: int = 3, months: int = 12, first: int = 12 * 2025) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    rows = []
    for person in PEOPLE:
        level = rng.gamma(1.5, 1.5)
        for month in range(months):
            if rng.random() < 0.8:
                score = int(np.clip(round(level + rng.normal(0, 1.5)), 0, 10))
                rows.append((person, "NECK", first + month, score >= 4, float(score)))
    return pd.DataFrame(rows, columns=["person", "region", "month_number", "is_case", "score"])


def roster(left: int = 25) -> pd.DataFrame:
    return pd.DataFrame(
        {"person": PEOPLE, "stayed": [k >= left for k in range(len(PEOPLE))],
         "age_band": [BANDS[k % 5] for k in range(len(PEOPLE))]}
    )  # fmt: skip


def parts(rows: pd.DataFrame) -> dict[str, Part]:
    year = rows[rows["month_number"] >= 12 * 2025]
    before = rows[rows["month_number"] < 12 * 2025]
    earlier = roster().iloc[:100]
    made = {"new onset": onset_part(year), "mean change": change_part(before, year), "mean rating before":
            level_part(before, year), "age": age_part(year, roster(), earlier)}  # fmt: skip
    assert all(isinstance(part, Part) for part in made.values()), made
    return {name: part for name, part in made.items() if isinstance(part, Part)}


def published(rows: pd.DataFrame) -> dict[str, tuple[float, float, float]]:
    out = {}
    for name, part in parts(rows).items():
        said = gate_result(
            Question("discomfort/NECK", name, "2025"), part.estimate,
            Ground(part.groups, part.residual_df, part.used, part.influence),
        )  # fmt: skip
        assert isinstance(said, Gated), said
        out[name] = (said.value, said.low, said.high)
    return out


@pytest.fixture(scope="module")
def two_years() -> pd.DataFrame:
    return pd.concat([answers(4, first=12 * 2024), answers(3)], ignore_index=True)


def test_statements_are_right_on_answers_worked_out_by_hand(two_years):
    made = parts(two_years)
    year = two_years[two_years["month_number"] >= 12 * 2025]
    means = year.groupby("person")["score"].mean()
    then = two_years[two_years["month_number"] < 12 * 2025].groupby("person")["score"].mean()
    both = pd.concat([then, means], axis=1, join="inner").to_numpy()
    assert made["mean change"].estimate.value == pytest.approx(10 * np.mean(both[:, 1] - both[:, 0]))
    assert made["mean rating before"].estimate.value == pytest.approx(10 * np.mean(both[:, 0]))
    # Three people: onset at the third month; never free; free all the time.
    rows = [("a", 0, False), ("a", 1, False), ("a", 2, True), ("a", 3, False), ("a", 4, True)]
    rows += [("b", m, True) for m in range(5)] + [("c", m, False) for m in range(5)]
    few = pd.DataFrame([(p, "NECK", m, hit, 0.0) for p, m, hit in rows * 1],
                       columns=["person", "region", "month_number", "is_case", "score"])  # fmt: skip
    many = pd.concat([few.assign(person=few["person"] + str(k)) for k in range(20)], ignore_index=True)
    part = onset_part(many)
    assert isinstance(part, Part)
    assert part.people == 40
    # 20 onsets in 20 * (1 + 0.5) + 20 * 4 person-months; nothing after a person's first onset counts.
    assert part.estimate.value == pytest.approx(100 * 20 / 110)


def test_bad_years_are_a_reason_and_no_number():
    one = answers().iloc[:1]
    nobody = answers().iloc[:0]
    assert onset_part(one) == onset_part(nobody) == FEW_TIME
    assert change_part(nobody, one) == level_part(nobody, one) == NO_RATING
    assert change_part(answers().assign(score=np.nan), answers()) == NO_RATING, "ratings are not asked"
    unknown = roster().assign(age_band=None)
    assert age_part(answers(), unknown, roster()) == age_part(answers(), roster(), unknown) == NO_BAND
    assert age_part(nobody, roster(), roster()) == NO_BAND
    assert leavers_part(answers(), roster(left=5)) == NO_LEAVER
    everybody = answers().assign(is_case=True)
    assert onset_part(everybody) == FEW_TIME, "nobody is at risk"
    part = leavers_part(everybody, roster())
    assert isinstance(part, Part)
    assert part.estimate.value == 0.0


def test_season_and_partial_months_are_told_from_published_counts():
    months = [f"{2023 + k // 12}-{k % 12 + 1:02d}" for k in range(36)]
    wave = [300 + round(120 * np.sin(2 * np.pi * k / 12)) for k in range(36)]
    word, sentence, reason = season_words([(m, c, 1000) for m, c in zip(months, wave, strict=True)])
    assert (word, reason) == ("season", None)
    assert "peak in April" in sentence
    flat = [(m, 300, 1000) for m in months]
    flat[7] = (months[7], 90, 300)
    word, sentence, _ = season_words(flat)
    assert word == "no clear season"
    assert "fewer than half the usual answers: 2023-08" in sentence
    assert "a season needs 24" in season_words(flat[:15])[1]
    assert season_words([])[2] is not None
    assert "nobody or everybody" in season_words([(m, 0, 1000) for m in months])[1]


def test_whatever_a_person_answered_all_statements_of_the_year_can_stay_as_published(two_years):
    """Attack: the year of one person is turned round; other people's answers are found that hide it."""
    before = published(two_years)
    rng = np.random.default_rng(11)
    for person in ("p000", "p017", "p111"):
        turned = two_years.copy()
        own = (turned["person"] == person) & (turned["month_number"] >= 12 * 2025)
        turned.loc[own, "score"] = 10 - turned.loc[own, "score"]
        turned.loc[own, "is_case"] = turned.loc[own, "score"] >= 4
        others = turned.index[(turned["person"] != person) & (turned["month_number"] >= 12 * 2025)]
        for _ in range(400):
            if published(turned) == before:
                break
            trial = turned.copy()
            place = rng.choice(others)
            trial.loc[place, "score"] = np.clip(trial.loc[place, "score"] + rng.choice([-2, -1, 1, 2]), 0, 10)
            trial.loc[place, "is_case"] = trial.loc[place, "score"] >= 4
            if _distance(trial, before) <= _distance(turned, before):
                turned = trial
        assert published(turned) == before, person
        exact = [part.estimate.value for part in parts(turned).values()]
        assert exact != [part.estimate.value for part in parts(two_years).values()], (
            "only the rounding hides it"
        )


def _distance(rows: pd.DataFrame, before: dict[str, tuple[float, float, float]]) -> float:
    now = published(rows)
    return sum(abs(a - b) for name in now for a, b in zip(now[name], before[name], strict=True))
