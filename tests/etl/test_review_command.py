"""The custodian's command on postures: its words, its refusals, and that it leaves nothing behind."""

import re
import shlex
import shutil
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from dashboards import cli_review
from dashboards.cli import app, main
from etl.home import Home
from etl.posture_review import BEARS_ON, PostureEffect, posture_effect
from etl.posture_words import effect_line, posture_lines
from etl.release_calendar import Month
from etl.store import open_store
from models.driver_fit import Estimate
from models.driver_records import Refusal
from tests.support.posture_world import world


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    place = Home(tmp_path_factory.mktemp("review") / "home")
    with open_store(place, write=True) as con:
        world(con, 0.4, seed=1)
    return place


def refused(monkeypatch, capfd, *words: object) -> str:
    """Run a command that must fail with one line; return the line."""
    monkeypatch.setattr("sys.argv", ["evenhand", "review", "postures", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        main()
    said = capfd.readouterr()
    assert ended.value.code == 1
    lines = [line for line in said.err.splitlines() if line.startswith("evenhand: ")]
    assert len(lines) == 1
    assert said.out == ""
    return lines[0]


def test_the_example_of_its_help_prints_what_the_store_says(home):
    example = re.search(r"Example: evenhand (.*)", cli_review.postures.__doc__ or "")
    assert example is not None
    done = CliRunner().invoke(app, [*shlex.split(example[1]), "--home", str(home.root)])
    assert done.exit_code == 0, done.output
    with open_store(home, write=False) as con:
        neck = posture_effect(con, date(2026, 10, 1), "NECK", "NECK_BENT")
    assert isinstance(neck.ratio, Estimate)
    said = done.stdout
    assert f"Neck, neck bent: {neck.ratio.value:.2f} times" in said
    assert f"interval {neck.ratio.low:.2f} to {neck.ratio.high:.2f}" in said
    assert f"48 people, 8 teams, 48 stations, {neck.answers} answers" in said
    # Nobody looked for the other postures, so each is a refusal by name.
    assert said.count("cannot be estimated: 0 people who work at stations watched") == 8
    for words in ("custodian only", "Nothing of this is published", "no cause", "up to 2026-10"):
        assert words in said


def test_a_line_a_pair_and_chance_is_named_only_beside_several_ratios(home, monkeypatch):
    pairs = sum(map(len, BEARS_ON.values()))
    steps = []
    lines = posture_lines(home, Month(2026, 12), lambda step, done, total: steps.append((done, total)))
    assert len(lines) == pairs + 2
    assert steps == [(done, pairs + 1) for done in (0, *range(2, pairs + 2))]
    ratio = Estimate(1.2, 1.0, 1.4, 0.1, 0.05, 7)
    two = tuple(
        PostureEffect("NECK", p, ratio, 30, 5, 9, 99, 0.1, 0.6) for p in ("NECK_BENT", "NECK_TWISTED")
    )
    monkeypatch.setattr("etl.posture_words.posture_effects", lambda con, month, progress: two)
    assert posture_lines(home, Month(2026, 12))[-1].startswith("2 ratios stand side by side")


def test_a_refusal_says_what_was_found_and_what_to_do():
    why = Refusal("How NECK goes with NECK_BENT", "3 teams with stations watched", "At least 4: watch more")
    none = PostureEffect("LOW_BACK", "BACK_BENT", why, 30, 3, 9, 0, float("nan"), float("nan"))
    assert effect_line(none) == (
        "Low back, back bent: cannot be estimated: 3 teams with stations watched. At least 4: watch more."
    )


def test_it_publishes_and_keeps_nothing(home):
    def files() -> set[Path]:
        return {path for path in home.root.rglob("*") if path.is_file()}

    def tables() -> list[tuple]:
        with open_store(home, write=False) as con:
            return con.execute(
                "select schema_name, table_name, estimated_size from duckdb_tables() order by all"
            ).fetchall()

    posture_lines(home, Month(2026, 12))
    before = files(), tables()
    posture_lines(home, Month(2026, 12))
    assert (files(), tables()) == before
    assert not home.release_dir.exists() or not any(home.release_dir.iterdir())


def test_a_mistake_is_one_line_with_its_remedy(home, tmp_path, monkeypatch, capfd):
    there = ("--home", home.root)
    assert "'October' is no month" in refused(monkeypatch, capfd, "--month", "October", *there)
    late = refused(monkeypatch, capfd, "--month", "2031-01", *there)
    assert "Nobody answered in 2031-01" in late
    assert "from 2026-01 to 2026-12" in late
    nowhere = tmp_path / "nowhere"
    assert "evenhand load" in refused(monkeypatch, capfd, "--month", "2026-10", "--home", nowhere)
    assert not nowhere.exists()
    with open_store(Home(tmp_path / "empty"), write=True):
        pass
    empty = refused(monkeypatch, capfd, "--month", "2026-10", "--home", tmp_path / "empty")
    assert "No answers are loaded" in empty


@pytest.mark.parametrize(
    "change", ["delete from core.observations", "update core.observations set observed_on = '2026-11-01'"]
)
def test_observations_missing_or_younger_than_the_month_are_named(home, tmp_path, monkeypatch, capfd, change):
    shutil.copytree(home.root, tmp_path / "home")
    with open_store(Home(tmp_path / "home"), write=True) as con:
        con.execute(change)
    line = refused(monkeypatch, capfd, "--month", "2026-10", "--home", tmp_path / "home")
    assert "No walk-through observation up to 2026-10 is loaded" in line
    assert "evenhand contracts" in line
