"""Exposure figures and parts: floor, dominance and hidden rest, on invented frames."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.errors import ReleaseRefused
from etl.release_checks import check_exposure
from etl.release_exposure import protected_figures
from etl.release_measures import MEASURES, NOT_MEASURED
from etl.release_parts import hide_parts
from etl.settings import PrivacySettings, Settings
from models.disclosure import DOMINATED, TOO_SMALL
from models.suppression import Rule, cell_of, verdict

RULE = Rule(5, dominance=True)
HOURS = next(m for m in MEASURES if m.key == "hours_per_week")
FORCE = next(m for m in MEASURES if m.key == "peak_thumb_force")
COLUMNS = (
    "pipetting_us", "strokes", "days", "longest_us", "long_days", "beyond_us", "rests_micro", "force_mn_ms",
    "force_days", "force_known_us",
    "week_days", "peak_mn_us", "peak_known_us", "peak_strokes", "over_strokes",
)  # fmt: skip


def people(teams: dict[str, list[float]]) -> tuple[pd.DataFrame, dict[tuple[str, str], str | None]]:
    """Hours of the people of some teams of one cluster, and the units."""
    rows = []
    for team, hours in teams.items():
        for k, h in enumerate(hours):
            base = dict.fromkeys(COLUMNS, 0) | {"pipetting_us": h * 3.6e9, "week_days": 7, "days": 1}
            for level, unit in (("organisation", "ORG"), ("cluster", "C"), ("team", team)):
                rows.append(base | {"level": level, "unit": unit, "person": f"{team}{k}"})
    units: dict[tuple[str, str], str | None] = {("organisation", "ORG"): None, ("cluster", "C"): "ORG"}
    units |= {("team", team): "C" for team in teams}
    return pd.DataFrame(rows, columns=["level", "unit", "person", *COLUMNS]), units


@pytest.mark.parametrize(("size", "reason"), [(4, TOO_SMALL), (5, None)])
def test_the_floor_of_exposure_is_five_people(size, reason):
    frame, units = people({"A": [2.0] * size, "B": [2.0] * 6, "D": [2.0] * 7})
    figures = protected_figures(frame, units, HOURS, RULE)
    assert figures["team", "A"].reason == reason
    assert figures["team", "D"].value == 2.0
    # Four people alone under the cluster's total would follow from it.
    assert figures["team", "B"].reason == (TOO_SMALL if size == 4 else None)


def test_a_person_with_more_than_half_of_the_hours_hides_the_team():
    frame, units = people({"A": [20, 1, 1, 1, 1, 1], "B": [2.0] * 8, "D": [2.0] * 9})
    figures = protected_figures(frame, units, HOURS, RULE)
    assert figures["team", "A"].reason == DOMINATED
    assert figures["team", "A"].value is None
    assert figures["team", "B"].reason == TOO_SMALL
    assert figures["team", "D"].reason is None


def test_a_team_without_anybody_at_work_is_hidden_as_small():
    frame, units = people({"A": [], "B": [2.0] * 6})
    assert protected_figures(frame, units, HOURS, RULE)["team", "A"].reason == TOO_SMALL


def test_force_figures_without_measured_forces_say_so():
    frame, units = people({"A": [2.0] * 8})
    assert {f.reason for f in protected_figures(frame, units, FORCE, RULE).values()} == {NOT_MEASURED}
    frame["peak_known_us"] = 3.6e9
    frame["peak_mn_us"] = 12_000 * 3.6e9
    assert protected_figures(frame, units, FORCE, RULE)["team", "A"].value == 12.0


def test_every_measure_is_a_number_with_unit_method_and_the_settings_guide():
    frame, units = people({"A": [2.0, 3.0, 1.0, 2.5, 4.0, 2.0]})
    frame = frame.assign(
        strokes=100, longest_us=30 * 6e7, long_days=0, beyond_us=3.6e8, force_days=1, force_mn_ms=5e6,
        peak_known_us=1.0, peak_mn_us=1e4, peak_strokes=100, over_strokes=25,
    )  # fmt: skip
    for measure in MEASURES:
        figure = protected_figures(frame, units, measure, RULE)["team", "A"]
        assert figure.value is not None, measure.key
        assert np.isfinite([figure.value, figure.low, figure.high]).all()
    strict = Settings.model_validate({"exposure": {"spell_guide_minutes": 15, "yearly_hours_guide": 220}})
    guides = {m.key: guide.value for m in MEASURES if (guide := m.guide(strict)) is not None}
    assert guides == {"hours_per_week": 5.0, "longest_spell": 15, "peak_thumb_force": 19.6133}


@st.composite
def tables(draw) -> tuple[dict[str, pd.DataFrame], dict[str, str | None]]:
    """Hours of people by part for two teams and their cluster."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    teams = {}
    for name in ("t/A", "t/B", "t/D"):
        shape = (draw(st.integers(0, 14)), 4)
        hours = np.ceil(rng.gamma(0.7, 3, size=shape) * (rng.random(shape) < 0.7)).astype(int)
        frame = pd.DataFrame(hours, columns=list("wxyz"), index=[f"{name}{k}" for k in range(shape[0])])
        teams[name] = frame.loc[:, (frame > 0).any()]
    whole = pd.concat(teams.values()).fillna(0).astype(int)
    kept = {name: frame for name, frame in teams.items() if frame.shape[1]}
    return {"c/C": whole} | kept, {"c/C": None, "t/A": "c/C", "t/B": "c/C", "t/D": "c/C"}


@settings(max_examples=60, deadline=None)
@given(tables())
def test_no_hidden_part_follows_from_shown_ones_by_subtraction(made):
    found, parents = made
    hidden = hide_parts(found, parents, RULE)
    for unit, frame in found.items():
        shown = [p for p in frame.columns if hidden[unit, p] is None]
        out = [p for p in frame.columns if hidden[unit, p] is not None]
        for part in shown:
            assert verdict(cell_of("", None, frame[part][frame[part] > 0]), RULE) is None
        rest = frame[out].sum(axis=1)
        if out and shown:
            assert verdict(cell_of("", None, rest[rest > 0]), RULE) is None
    for part in found["c/C"].columns:
        below = [u for u in parents if parents[u] == "c/C" and u in found and part in found[u].columns]
        out = [found[u][part][found[u][part] > 0] for u in below if hidden[u, part] is not None]
        if hidden["c/C", part] is None and out and len(out) < len(below):
            assert verdict(cell_of("", None, pd.concat(out)), RULE) is None
        if hidden["c/C", part] is not None:
            assert all(hidden[u, part] is not None for u in below)


def row(value: float | None, band: str | None, reason: str | None) -> tuple:
    return (
        "2026-09",
        "month",
        "team",
        "A",
        "hours_per_week",
        value,
        value,
        value,
        "h/week",
        band,
        None,
        None,
        "m",
        reason,
    )


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (row(2.0, "0-4", None), "over 0-4 people"),
        (row(2.0, "5-9", TOO_SMALL), "a value and a reason"),
        (row(None, None, None), "neither"),
    ],
)
def test_the_second_check_refuses_bad_exposure_rows(made, words):
    with pytest.raises(ReleaseRefused, match=words):
        check_exposure([made], PrivacySettings())


def test_the_second_check_counts_what_is_shown():
    found = check_exposure([row(2.0, "5-9", None), row(None, None, DOMINATED)], PrivacySettings())
    assert found.sentence == "All 1 exposure figures rest on at least 5 people."
