"""Files in another unit or with a turned scale are held until a person confirms them."""

import numpy as np
import pytest
from scipy.stats import spearmanr
from typer.testing import CliRunner

from dashboards.cli import app
from etl.errors import EvenhandError
from etl.home import Home
from etl.sqlfiles import sql
from etl.store import open_store
from tests.support.load_files import (
    home_before,
    load,
    load_table,
    people,
    plain_profile,
    registers,
    write_csv,
)

KGF, LBF = 9.80665, 4.448222  # newtons; NIST Special Publication 811 (2008), appendix B.8
FORCES = ("plunger_force", "blow_out_force", "ejection_force")


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


def _instruments(name, factor=1.0, count=4, field="plunger_force"):
    base = registers()["instruments"][0]
    rows = []
    for i in range(count):
        value = float(base[field]) * (1 + 0.1 * i) * factor
        rows.append(base | {"instrument": f"{name}-{i}", field: f"{value:.4f}"})
    return rows


def _load(folder, name, rows, **more):
    return load(folder, [write_csv(folder / f"{name}.csv", rows)], **more).files[0]


@pytest.mark.parametrize("factor", [KGF, 1 / KGF, LBF, 1 / LBF])
def test_forces_that_jump_by_a_unit_are_held(tmp_path, factor):
    assert _load(tmp_path, "instruments_1", _instruments("A")).outcome == "loaded"
    held = _load(tmp_path, "instruments_2", _instruments("B", factor))
    assert (held.outcome, held.code) == ("refused", "E_UNIT")
    assert "plunger_force" in held.message
    assert "--confirm-units" in held.message
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select count(*) from core.instruments").fetchone() == (4,)


def test_the_message_says_between_which_units_the_factor_lies(tmp_path):
    _load(tmp_path, "instruments_1", _instruments("A"))
    held = _load(tmp_path, "instruments_2", _instruments("B", 1 / KGF))
    assert "is 1.11 N, that of files loaded before 10.9 N; 9.807 lies between kgf and N" in held.message


@pytest.mark.parametrize("factor", [1.0, 1.5, 1 / 1.5, 2.5, 1 / 2.5])
def test_stronger_and_weaker_instruments_are_no_unit_mistake(tmp_path, factor):
    _load(tmp_path, "instruments_1", _instruments("A"))
    assert _load(tmp_path, "instruments_2", _instruments("B", factor)).outcome == "loaded"


@pytest.mark.parametrize(
    ("field", "factor"),
    [
        ("plunger_force", 1 / KGF),
        ("plunger_force", KGF),
        ("press_duration", 1 / 60),
        ("eject_duration", 0.001),
    ],
)
def test_the_first_file_is_held_against_what_is_plausible(tmp_path, field, factor):
    held = _load(tmp_path, "instruments", _instruments("A", factor, field=field))
    assert (held.outcome, held.code) == ("refused", "E_UNIT")
    assert "is plausible" in held.message


def test_confirmed_units_load_and_leave_a_note(tmp_path):
    _load(tmp_path, "instruments_1", _instruments("A"))
    record = _load(tmp_path, "instruments_2", _instruments("B", 1 / KGF), confirmed=["units"])
    assert (record.outcome, record.rows_accepted) == ("loaded", 4)
    assert [(one.reason, one.column, one.rows) for one in record.notes] == [("W_UNIT", "plunger_force", 4)]
    assert any("W_UNIT 4 rows in plunger_force" in line for line in record.lines())
    with open_store(Home(tmp_path / "home"), write=False) as con:
        rows = con.execute(sql("release/140_reason")).fetchall()
    assert rows == [("instruments", "W_UNIT", 4)]


def test_scale_does_not_confirm_units_and_nothing_else_can_be_confirmed(tmp_path):
    held = _load(tmp_path, "instruments", _instruments("A", KGF), confirmed=["scale"])
    assert held.code == "E_UNIT"
    with pytest.raises(EvenhandError, match="'colour' cannot be confirmed"):
        _load(tmp_path, "instruments", _instruments("A"), confirmed=["colour"])


def test_hours_in_minutes_are_held(tmp_path, templates):
    folder = home_before("hours", templates, tmp_path)

    def month(number, factor):
        return [{"team": f"T{i}", "month": f"2026-0{number}", "hours_worked": str(150 * (i + 1) * factor),
                 "recordable_cases": "0", "lost_time_cases": "0"} for i in range(4)]  # fmt: skip

    assert _load(folder, "hours_4", month(4, 1)).outcome == "loaded"
    assert _load(folder, "hours_5", month(5, 3)).outcome == "loaded"
    assert _load(folder, "hours_6", month(6, 60)).code == "E_UNIT"


def _answers(month, scores):
    regions = ("NECK", "SHOULDER", "ELBOW", "KNEE")
    return [
        {"person": person, "month": month, "region": region, "side": "NONE", "score": str(int(score)),
         "hindered": "", "scale": "NRS_0_10"}
        for region, row in zip(regions, scores, strict=True)
        for person, score in zip(people(), row, strict=True)
    ]  # fmt: skip


@pytest.fixture
def usual():
    """Scores of 40 persons and 4 regions in two months: mostly low, and like each other."""
    rng = np.random.default_rng(20261)
    level = rng.gamma(1.0, 2.0, (4, 40))
    return [np.clip(np.round(level + rng.normal(0, 0.7, level.shape)), 0, 10) for _ in range(2)]


def test_turned_scores_are_held_and_the_right_ones_load(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    assert _load(folder, "surveys_4", _answers("2026-04", usual[0])).outcome == "loaded"
    held = _load(folder, "surveys_5", _answers("2026-05", 10 - usual[1]))
    assert (held.outcome, held.code) == ("refused", "E_SCALE")
    assert "rank correlation -0." in held.message
    assert "--confirm-scale" in held.message
    assert _load(folder, "surveys_5", _answers("2026-05", usual[1])).outcome == "loaded"


def test_people_asked_in_another_way_are_held_until_somebody_has_settled_it(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    assert _load(folder, "surveys_4", _answers("2026-04", usual[0])).outcome == "loaded"
    other = [row | {"scale": "CR10"} for row in _answers("2026-05", usual[1])]
    held = _load(folder, "surveys_5", other)
    assert (held.outcome, held.code) == ("refused", "E_SERIES")
    assert "40 of 40 people were asked in another way" in held.message
    assert "another scale (NRS_0_10 to CR10); bridge the scales" in held.message
    # Six people of forty have come from a site with another way: a note, no hold.
    few = [row | ({"scale": "CR10"} if row["person"] in people()[:6] else {}) for row in other]
    few = [row if row["person"] in people()[:6] else row | {"scale": "NRS_0_10"} for row in few]
    noted = _load(folder, "surveys_5", few)
    assert [(n.reason, n.rows) for n in noted.notes] == [("W_SERIES", 6)]


def test_a_month_answered_on_both_scales_builds_a_bridge_and_is_not_held(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    _load(folder, "surveys_4", _answers("2026-04", usual[0]))
    rows = _answers("2026-05", usual[1])
    both = _load(folder, "surveys_5", rows + [row | {"scale": "CR10"} for row in rows])
    assert (both.outcome, both.rows_set_aside, both.notes) == ("loaded", 0, ())
    later = [row | {"scale": "CR10"} for row in _answers("2026-06", usual[1])]
    assert _load(folder, "surveys_6", later, confirmed=["series"]).outcome == "loaded"


def test_the_correlation_is_that_of_scipy(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    _load(folder, "surveys_4", _answers("2026-04", usual[0]))
    held = _load(folder, "surveys_5", _answers("2026-05", 10 - usual[1]))
    expected = spearmanr(usual[0].ravel(), (10 - usual[1]).ravel()).statistic
    assert f"160 scores go against the last ones of the same persons (rank correlation {expected:.2f})" in (
        held.message
    )


def test_turned_scores_of_other_persons_show_in_the_mean(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    rows = _answers("2026-04", usual[0])
    _load(folder, "surveys_4", [row for row in rows if row["person"] < "p020"])
    others = [row for row in _answers("2026-05", 10 - usual[1]) if row["person"] >= "p020"]
    held = _load(folder, "surveys_5", others)
    assert (held.code, "turned about 5" in held.message) == ("E_SCALE", True)


def test_a_first_file_near_the_worst_possible_is_held(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    held = _load(folder, "surveys_4", _answers("2026-04", 10 - usual[0]))
    assert (held.code, "near the worst possible" in held.message) == ("E_SCALE", True)


def test_a_month_of_more_discomfort_is_no_turned_scale(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    _load(folder, "surveys_4", _answers("2026-04", usual[0]))
    worse = np.minimum(usual[1] + 3, 10)
    assert _load(folder, "surveys_5", _answers("2026-05", worse)).outcome == "loaded"


def test_a_handful_of_answers_is_not_judged(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    _load(folder, "surveys_4", _answers("2026-04", usual[0]))
    few = _answers("2026-05", 10 - usual[1])[:29]
    assert _load(folder, "surveys_5", few).outcome == "loaded"


def test_the_command_takes_confirmations(templates, tmp_path, usual):
    folder = home_before("surveys", templates, tmp_path)
    _load(folder, "surveys_4", _answers("2026-04", usual[0]))
    path = write_csv(folder / "surveys_5.csv", _answers("2026-05", 10 - usual[1]))
    profile = folder / "profile.toml"
    profile.write_text(plain_profile(), encoding="utf-8")
    words = ["load", str(path), "--profile", str(profile), "--home", str(folder / "home")]
    held = CliRunner().invoke(app, words)
    assert held.exit_code == 1
    assert "--confirm-scale" in " ".join(held.output.split())
    taken = CliRunner().invoke(app, [*words, "--confirm-scale"])
    assert taken.exit_code == 0, taken.output
    assert "W_SCALE 160 rows" in taken.output


def test_the_small_institute_is_plausible(tmp_path):
    for name in ("teams", "instruments"):
        assert load_table(tmp_path, name, registers()[name]).files[0].notes == ()
