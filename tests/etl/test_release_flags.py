"""Flags, the yearly comparison and weighted shares in the release: from published numbers, or not at all."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pandas as pd
import pytest

from etl.errors import EvenhandError, ReleaseRefused
from etl.home import Home
from etl.keys import release_key
from etl.release_calendar import Month
from etl.release_checks import check_flags
from etl.release_comparison import funnel_rows
from etl.release_door import pinned
from etl.release_flags import ALL_REGIONS, FEW_MONTHS, FEW_QUARTERS, exposure_flags, health_flags
from etl.release_health import TOO_SMALL
from etl.release_ledger import QUARTER_KIND, HealthCell
from etl.release_published import QuarterCount
from etl.release_rows import Job
from etl.release_year import FEW, year_rows
from etl.settings import Settings, SymptomSettings, load_settings
from etl.store import open_store
from models.flag_rise import Wander
from models.flag_setup import Limits
from models.result_gate import SAID_BEFORE
from tests.support.small_store import MONTHS, Frames, frames, small_release

TOKENS = tuple(f"token-{k}" for k in range(20))
Series = Mapping[tuple[str, str], Sequence[QuarterCount]]


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Fifteen months, five quarters and a December; few bouts, as only their groups matter here."""
    full = frames()
    few = Frames(full.people, full.bouts.sample(frac=0.25, random_state=1).sort_index(), full.surveys)
    return small_release(tmp_path_factory.mktemp("flags"), MONTHS, content=few)


def table(home: Home, name: str) -> pd.DataFrame:
    with pinned(home) as release:
        return release.table(name)


def quarters(counts: Sequence[int], n: int = 20) -> list[QuarterCount]:
    names = [f"{2024 + k // 4}-Q{k % 4 + 1}" for k in range(len(counts))]
    return [QuarterCount(q, c, n) for q, c in zip(names, counts, strict=True)]


def cell(team: str, quarter: str, published: int | None) -> HealthCell:
    return HealthCell(QUARTER_KIND, "team", team, quarter, "NECK", TOKENS, 5, published)


def judged(counts: Sequence[int], settings: Settings | None = None, *, hidden: bool = False) -> tuple:
    calm = {("NECK", f"OTHER-{k}"): quarters([5] * len(counts)) for k in range(6)}
    series: Series = {**calm, ("NECK", "T"): quarters(counts)}
    last = quarters(counts)[-1]
    row = health_flags(
        [cell("T", last.quarter, None if hidden else last.published)],
        series,
        settings or Settings(),
        TOO_SMALL,
        Limits(8.5, 2.5, 2.8),
    )
    return row[0]


def test_a_team_that_doubles_is_flagged_dated_and_told_what_next():
    row = judged([5, 5, 5, 5, 5, 15, 15, 15])
    assert row[6] == "flagged"
    assert row[7] == "2025-Q2"
    assert row[8:10] == (25, 75)
    assert "most likely began in 2025-Q2" in row[13]
    assert "walk through the work" in row[14]


def test_a_team_that_stays_is_not_flagged():
    row = judged([5, 5, 10, 5, 5, 10, 5, 5])
    assert row[6] == "not flagged"
    assert row[7] is None


@pytest.mark.parametrize("count", [0, 20])
def test_nobody_and_everybody_are_no_rise(count):
    assert judged([count] * 8)[6] == "not flagged"


def test_a_hidden_quarter_is_not_judged_whatever_the_past():
    row = judged([5, 5, 5, 5, 15, 15, 15], hidden=True)
    assert row[6] == "too few answers"
    assert row[7:12] == (None,) * 5
    assert row[12] == TOO_SMALL


def test_four_quarters_are_a_baseline_and_no_judgement():
    assert judged([5, 5, 5, 5])[12] == FEW_QUARTERS


def test_a_restart_on_record_moves_the_baseline():
    counts = [5, 5, 5, 5, 15, 15, 15, 15, 15]
    assert judged(counts)[6] == "flagged"
    restarted = Settings(symptoms=SymptomSettings(baseline_restarts={"T": "2025-Q1"}))
    assert judged(counts, restarted)[6] == "not flagged"


def test_a_restart_must_name_a_quarter(tmp_path):
    path = tmp_path / "settings.toml"
    path.write_text('[symptoms.baseline_restarts]\nT = "2025-07"\n')
    with pytest.raises(EvenhandError, match="no quarter such as 2026-Q3"):
        load_settings(path)


def limits_used(flag: pd.DataFrame) -> dict[str, float]:
    rows = flag[(flag["subject"] == "discomfort") & flag["decision_limit"].notna()]
    together = rows["topic"] == ALL_REGIONS
    found = {"region": set(rows.loc[~together, "decision_limit"]),
             "together": set(rows.loc[together, "decision_limit"])}  # fmt: skip
    assert all(len(limits) == 1 for limits in found.values()), found
    return {name: limits.pop() for name, limits in found.items()}


def setup_kept(home: Home) -> dict[str, dict[str, float]]:
    with open_store(home, write=False) as con:
        kept = con.execute("select edition, series, setup from release_private.flag_setup").fetchall()
    assert [(edition, series) for edition, series, _ in kept] == [(15, "")]
    return json.loads(kept[0][2])


def test_limits_are_found_once_from_published_numbers_and_stand_under_the_methods(released: Home):
    used = limits_used(table(released, "flag"))
    found = setup_kept(released)
    assert used == {"region": found["limits"]["region"], "together": found["limits"]["first"]}
    assert found["false_flags"] + 2 * found["error"] <= 1.0
    method = table(released, "method").set_index(["edition", "key"])["text"]
    assert "No limit yet" in method[14, "flag.limit"]
    assert f"{found['false_flags']:.2f} of 40 teams" in method[15, "flag.limit"]
    assert f"at {used['together']:g} or more" in method[15, "flag.health"]


def test_all_regions_together_are_judged_beside_each_region():
    regions = ("NECK", "KNEE", "ELBOW")
    counts = [5, 5, 5, 5, 5, 10, 10, 10]
    calm = {(r, f"OTHER-{k}"): quarters([5] * 8) for r in regions for k in range(6)}
    series: Series = {**calm, **{(r, "T"): quarters(counts) for r in regions}}
    cells = [replace(cell("T", "2025-Q4", 10), region=r) for r in regions]
    limits = Limits(8.0, 1.5, 4.9)
    rows = {row[5]: row for row in health_flags(cells, series, Settings(), TOO_SMALL, limits)}
    assert [rows[r][6] for r in regions] == ["not flagged"] * 3
    assert rows[ALL_REGIONS][6:10] == ("flagged", "2025-Q2", 25, 50)
    assert rows[ALL_REGIONS][11] == 1.5, "the limit of the first year after the baseline"
    gone = [replace(one, published=None) for one in cells]
    assert ALL_REGIONS not in {row[5] for row in health_flags(gone, series, Settings(), TOO_SMALL)}


def test_flags_follow_from_what_readers_have(released: Home):
    """Made again from the published table of counts, every flag on discomfort comes out the same."""
    health, flag = table(released, "health"), table(released, "flag")
    team = health[(health["level"] == "team") & health["count_rounded"].notna()]
    with open_store(released, write=False) as con:
        sizes = con.execute(
            "select unit, region, period, n from release_private.ledger where kind = 'discomfort/quarter'"
        ).fetchall()
    n = {(u, r, p): size for u, r, p, size in sizes}
    series: dict[tuple[str, str], list[QuarterCount]] = {}
    for row in team.sort_values("period").itertuples(index=False):
        count = QuarterCount(row.period, int(row.count_rounded), n[row.unit, row.region, row.period])
        series.setdefault((row.region, row.unit), []).append(count)
    now = [
        HealthCell(QUARTER_KIND, "team", r.unit, r.period, r.region, TOKENS, 5,
                   None if pd.isna(r.count_rounded) else int(r.count_rounded))
        for r in health[(health["level"] == "team") & (health["period"] == "2026-Q1")].itertuples(index=False)
    ]  # fmt: skip
    kept = setup_kept(released)
    limits, wander = Limits(**kept["limits"]), Wander(**kept["wander"])
    again = {(r[3], r[5]): r[6:9] for r in health_flags(now, series, Settings(), TOO_SMALL, limits, wander)}
    rows = flag[(flag["subject"] == "discomfort") & (flag["period"] == "2026-Q1")]
    assert len(rows) == len(again) > 40
    for row in rows.itertuples(index=False):
        word, since, baseline = again[row.unit, row.topic]
        assert row.word == word
        assert (None if pd.isna(row.since) else row.since) == since
        assert (None if pd.isna(row.baseline) else row.baseline) == baseline
    assert (rows["word"] != "too few answers").sum() >= 30


def test_health_flags_are_of_teams_and_by_quarter_only(released: Home):
    rows = table(released, "flag")
    discomfort = rows[rows["subject"] == "discomfort"]
    assert set(discomfort["level"]) == {"team"}
    assert set(discomfort["period_kind"]) == {"quarter"}
    assert set(rows["word"]) <= {"flagged", "not flagged", "too few answers"}
    # A team of seven is hidden in every table, and so is every word about it.
    small = discomfort[discomfort["unit"] == "P-TWO"]
    assert set(small["reason"]) == {TOO_SMALL}
    assert small[["baseline", "now", "score"]].isna().all(axis=None)


def test_a_shown_row_has_numbers_and_a_hidden_one_has_a_reason(released: Home):
    rows = table(released, "flag")
    hidden = rows["word"] == "too few answers"
    assert (rows["reason"].notna() == hidden).all()
    assert rows.loc[~hidden, ["baseline", "now", "decision_limit"]].notna().all(axis=None)
    assert (rows.loc[rows["word"] == "flagged", "look_next"] != "").all()


def test_the_yearly_comparison_names_the_one_apart_and_no_order():
    series: Series = {
        ("NECK", f"T-{k:02d}"): quarters([20 if k == 7 else 5 * (k % 2 + 1)] * 4, n=25) for k in range(12)
    }
    rows = funnel_rows(Month(2024, 12), series)
    assert [row[8] for row in rows].count("higher") == 1
    assert rows[7][2:5] == ("T-07", "NECK", 80)
    assert rows[7][8] == "higher"
    assert [row[2] for row in rows] == [f"T-{k:02d}" for k in range(12)], (
        "order of the codes, not of the values"
    )
    assert all(low <= target <= high for _, _, _, _, _, low, high, target, *_ in rows)
    assert funnel_rows(Month(2024, 11), series) == []


def test_a_comparison_needs_teams_and_quarters(released: Home):
    # Four teams of the small institute are published; a spread needs five.
    rows = table(released, "funnel")
    assert set(rows["year"]) == {2025}
    assert set(rows["standing"]) == {"too few answers"}
    assert rows["percent"].isna().all()
    assert "P-TWO" not in set(rows["unit"])
    two = {("NECK", f"T-{k}"): quarters([5, 5], n=20) for k in range(9)}
    assert funnel_rows(Month(2024, 12), two) == []


def test_the_weighted_share_stands_beside_the_plain_one(released: Home):
    rows = table(released, "weighted")
    assert set(rows["level"]) == {"organisation"}
    shown = rows[rows["reason"].isna()]
    assert len(shown) >= 9
    health = table(released, "health").set_index(["period", "level", "unit", "region"])["percent"]
    for row in shown.itertuples(index=False):
        assert row.percent == health[row.period, row.level, row.unit, row.region]
        assert row.low <= row.weighted_percent <= row.high


def test_exposure_is_judged_once_there_is_a_year(released: Home):
    rows = table(released, "flag")
    exposure = rows[(rows["subject"] == "exposure") & (rows["period"] == "2026-03")]
    assert set(exposure["topic"]) == {"hours_per_week", "beyond_guide_share"}
    assert (exposure["word"] == "not flagged").sum() >= 10
    first = rows[(rows["subject"] == "exposure") & (rows["period"] == "2025-02")]
    assert set(first["reason"]) == {FEW_MONTHS}


def test_a_month_without_a_value_is_not_judged():
    months = [str(Month(2025, 1).plus(k)) for k in range(14)]
    values = dict.fromkeys(months[:-1], 6.0)
    row = exposure_flags(Month(2026, 2), {("team", "T", "hours_per_week"): values})[0]
    assert row[6] == "too few answers"
    values = {m: 6.0 + 0.2 * (k % 2) + (5.0 if k >= 12 else 0.0) for k, m in enumerate(months)}
    row = exposure_flags(Month(2026, 2), {("team", "T", "hours_per_week"): values})[0]
    assert (row[6], row[7]) == ("flagged", "2026-01")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({2: "cluster"}, "not a team's by quarter"),
        ({1: "month"}, "not a team's by quarter"),
        ({3: "HIDDEN"}, "made of a hidden number"),
        ({12: TOO_SMALL}, "with numbers and a reason"),
    ],
)
def test_the_gate_refuses_a_flag_that_says_too_much(change, message):
    row = judged([5, 5, 5, 5, 5, 15, 15, 15])
    cells = [cell("T", "2025-Q4", 15), cell("HIDDEN", "2025-Q4", None)]
    assert check_flags([row], cells).passed
    broken = tuple(change.get(k, value) for k, value in enumerate(row))
    with pytest.raises(ReleaseRefused, match=message):
        check_flags([broken], cells)


def test_the_edition_says_that_its_flags_were_checked(released: Home):
    report = table(released, "audit_report")
    assert report.loc[report["check_name"] == "flags", "passed"].all()
    assert len(report[report["check_name"] == "flags"]) == MONTHS


def test_the_year_of_the_organisation_is_stated_once_and_only_of_a_hundred_people(released, monkeypatch):
    rows = table(released, "year_figure")
    assert set(rows["year"]) == {2025}
    assert set(rows.loc[rows["kind"] == "new onset", "reason"]) == {FEW}
    monkeypatch.setattr("etl.release_year.LEAST_PEOPLE", 50)
    with open_store(released, write=True) as con:
        con.execute("begin")
        job = Job(con, Month(2025, 12), 99, Settings(), release_key(released.keys_dir))
        made = {(row[3], row[4]): row for row in year_rows(job)}
        again = {(row[3], row[4]): row for row in year_rows(job)}
        con.execute("rollback")
    onset = made["NECK", "new onset"]
    assert onset[12] is None
    assert onset[6] <= onset[5] <= onset[7]
    assert again["NECK", "new onset"][12] == SAID_BEFORE
    assert made["NECK", "mean change"][12] == "not shown: no ratings of two years to compare"
    assert "a season needs 24" in made["ALL", "season"][11]
