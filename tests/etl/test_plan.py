"""A plan from the person store: in words, kept once with its lot, refused by name where it cannot be."""

from datetime import UTC, date, datetime

import pytest
from typer.testing import CliRunner

from dashboards.cli import app
from etl.errors import EvenhandError
from etl.home import Home
from etl.plan import plan_change
from etl.plan_draft import TooFewFree, Wish, make_draft, site_grid
from etl.plan_ground import busy_teams, last_month, learn_ground, planned_regions, team_sizes
from etl.release_calendar import Month
from etl.store import open_store
from models.change_design import STEPPED
from tests.support.small_store import small_store

NOW = datetime(2026, 6, 15, 8, 0, tzinfo=UTC)
WISH = Wish(fall=0.1, changed=3, months=6, cost=1_000.0, seed=7, first=Month(2026, 9))


@pytest.fixture(scope="module")
def home(tmp_path_factory) -> Home:
    place = small_store(tmp_path_factory.mktemp("plan") / "home")
    plan_change(place, "NECK", WISH, NOW, keep=("TIMER-1", "Shared timer"))
    return place


@pytest.fixture
def con(home):
    with open_store(home, write=True) as opened:
        yield opened


@pytest.fixture(scope="module")
def learnt(home):
    with open_store(home, write=False) as con:
        month = last_month(con)
        site, sizes = learn_ground(con, month, "NECK"), team_sizes(con, month)
    return site, sizes, site_grid(site, sizes, 0.1)


def drafted(learnt, wish, **busy):
    site, sizes, grid = learnt
    return make_draft(site, sizes, lambda begin: busy, wish, grid)


def test_the_ground_is_that_of_the_answers_and_rounded(con):
    site = learn_ground(con, last_month(con), "NECK")
    share, people = con.execute(
        "select avg(is_case::integer), count(distinct person) from facts.symptom "
        "where team is not null and region = 'NECK'"
    ).fetchall()[0]
    assert site.share == pytest.approx(share)
    assert site.people == people
    assert 100 * site.ground.prevalence % site.step == pytest.approx(0)
    # Three in ten are prone and have discomfort in 85 % of months, the others never: it all but lasts.
    assert site.ground.steady >= 0.8
    assert site.ground.answering == pytest.approx(0.85, abs=0.05)


def test_a_ground_of_few_people_is_none(con):
    con.execute("begin")
    con.execute("delete from facts.symptom where person not like 'person-A-ONE%'")
    assert learn_ground(con, last_month(con), "NECK") is None
    con.execute("rollback")


def test_the_plan_reaches_every_team_by_a_lot_that_can_be_drawn_again(learnt):
    draft = drafted(learnt, WISH)
    assert sorted(s.team for s in draft.starts) == sorted(learnt[1])
    assert [s.month for s in draft.starts] == [Month(2026, 9)] * 3 + [Month(2027, 3)] * 3
    assert [s.follows for s in draft.starts] == [False] * 3 + [True] * 3
    assert draft.starts == drafted(learnt, WISH).starts
    assert draft.drawn.reach.smallest_p == pytest.approx(0.1)
    assert any("smallest p" in words for words in draft.cannot)
    sizes = learnt[1]
    reached = sum(sizes[s.team] for s in draft.starts if not s.follows)
    assert draft.case_months == pytest.approx(reached * 6 * 0.1)
    assert draft.case_cost.cost == pytest.approx(3_000 / draft.case_months)
    assert draft.case_cost.low < draft.case_cost.cost


def test_a_stepped_plan_starts_step_by_step(learnt):
    wish = Wish(fall=0.1, months=6, steps=3, seed=7, first=Month(2026, 9))
    draft = drafted(learnt, wish)
    assert draft.kind == STEPPED
    assert sorted({s.month for s in draft.starts}) == [Month(2026, 9), Month(2026, 12), Month(2027, 3)]
    assert draft.drawn.reach.smallest_p == pytest.approx(1 / 90)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (Wish(among=("NOWHERE",), first=Month(2026, 9)), "NOWHERE has nobody"),
        (Wish(among=("A-ONE", "A-TWO"), first=Month(2026, 9)), "2 teams are free"),
        (Wish(changed=5, months=6, first=Month(2026, 9)), "6 teams are free"),
        (Wish(months=2, first=Month(2026, 9)), "2 months"),
    ],
)
def test_what_cannot_be_planned_is_refused_by_name(learnt, wish, words):
    with pytest.raises(EvenhandError, match=words):
        drafted(learnt, wish)


def test_a_team_with_another_change_is_left_out_and_named(con, learnt):
    assert busy_teams(con, Month(2026, 1)) == {"A-ONE": "Short rests"}
    draft = drafted(learnt, Wish(changed=2, months=6, first=Month(2026, 9)), **{"A-ONE": "Short rests"})
    assert "A-ONE" not in {s.team for s in draft.starts}
    assert draft.left_out == ("A-ONE: Short rests at work",)
    assert planned_regions(con) == ("WRIST_HAND", "NECK", "SHOULDER")


def test_a_kept_plan_is_never_drawn_again(home):
    with open_store(home, write=False) as con:
        kept = con.execute("select seed, changed, others, months, first_start from core.plan").fetchall()
        starts = con.execute("select count(*), count(distinct team) from core.plan_start").fetchall()
    assert kept == [(7, 3, 3, 6, date(2026, 9, 1))]
    assert starts == [(6, 6)]
    with pytest.raises(EvenhandError, match="kept already"):
        plan_change(home, "NECK", WISH, NOW, keep=("TIMER-1", "Again"))
    with pytest.raises(EvenhandError, match="no code"):
        plan_change(home, "NECK", WISH, NOW, keep=("a b", "Again"))


def test_the_command_says_reach_schedule_cost_and_limits(home):
    asked = ["--fall", "10", "--teams", "3", "--months", "6", "--cost", "1000", "--seed", "7"]
    found = CliRunner().invoke(app, ["plan", "--home", str(home.root), "--first", "2026-09", *asked])
    assert found.exit_code == 0, found.output
    for words in ("of 6 teams", "Smallest fall", "seed 7", "2027-03", "person-months", "cannot show"):
        assert words in found.output
    for wrong in (["--region", "TOE"], ["--keep", "X"], ["--first", "soon"]):
        assert isinstance(
            CliRunner().invoke(app, ["plan", "--home", str(home.root), *wrong]).exception, EvenhandError
        )


def test_too_few_free_teams_still_learn_what_the_site_can_find(home):
    lines = plan_change(home, "NECK", Wish(fall=0.1, changed=5, months=6, first=Month(2026, 9)), NOW)
    assert lines[-1].startswith("No plan: 6 teams are free")
    assert any("of 12" in line for line in lines)
    with pytest.raises(TooFewFree):
        plan_change(home, "NECK", Wish(changed=5, first=Month(2026, 9)), NOW, keep=("MORE", "More"))


def test_without_answers_there_is_no_plan(tmp_path):
    with pytest.raises(EvenhandError, match="Nothing is loaded"):
        plan_change(Home(tmp_path), "NECK", WISH, NOW)
