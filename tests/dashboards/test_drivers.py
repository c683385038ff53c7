"""The Drivers room: every number a release row, exploration labelled, nothing worded as a cause."""

import itertools
import re

import numpy as np
import pandas as pd
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.figures import diagram, dose_curve
from dashboards.figures import rows as rows_figure
from dashboards.paper.sheet import sheet
from dashboards.readings import driver_budget, driver_other, driver_prediction, drivers
from dashboards.rooms import OpenRooms
from dashboards.state import Chosen
from dashboards.tables import as_html
from models.driver_diagram import ARROWS, NODES
from tests.support import fake_drivers, fake_release

READINGS = (
    drivers.curve, driver_budget.lags, driver_budget.budget_rows, driver_other.effects, driver_other.regions,
    driver_other.checks, driver_prediction.prediction, driver_prediction.importance,
)  # fmt: skip


@pytest.fixture(autouse=True)
def looks() -> None:
    theme.use()


@pytest.fixture
def changed(plain_file):
    """Return the invented release with some driver tables replaced."""

    def with_(**tables: pd.DataFrame) -> ReleaseFrames:
        door = fake_release.frames(plain_file)
        door.frames.update(tables)
        return ReleaseFrames(door)

    return with_


def test_the_first_screen_tells_how_much_how_sure_and_that_it_is_no_cause(frames, chosen):
    answer = drivers.answer(frames, chosen)
    assert answer.headline == "Wrist and hand: more pipetting goes with more discomfort."
    assert "not a cause" in answer.lead
    assert "140-159 people, 7 teams" in answer.eyebrow
    told = {fact.name: (fact.value, fact.behind) for fact in answer.facts}
    assert told["5 h a week more"] == ("+9 points", "3 to 15 (95 % interval); 1.4 times")
    assert told["Hours to 10 points more"] == ("5 h a week", "not before 4 h, 95 % confidence")
    assert told["Goes with hours above 6.8"] == ("12 %", "of all discomfort (4 to 19 %)")


def test_before_the_first_statement_nothing_is_claimed(frames, chosen):
    early = Chosen(**{**chosen.__dict__, "period": "2026-08"})
    assert drivers.answer(frames, early).lead == drivers.NONE
    for read in READINGS:
        reading = read(frames, early)
        assert reading.plot is None
        assert drivers.NONE in (reading.sentence, reading.notice)


def test_a_quarter_without_a_statement_shows_the_one_before_and_says_so(changed, frames, chosen):
    tables = fake_drivers.tables()
    said = tables["driver_statement"]
    later = said.assign(
        edition=30, period="2026-Q4", word=drivers.EARLIER, sentence="Not said again.", people_band=None,
        teams=None, left_out_percent=None, reason="stated for Q3 2026; one statement a year",
    )  # fmt: skip
    count = later.assign(
        edition=33, period="2027-Q1", reason="stated for Q3 2026; said again when 100 more people answer"
    )
    held = changed(driver_statement=pd.concat([said, later, count], ignore_index=True))
    at = Chosen(**{**chosen.__dict__, "period": "2026-12"})
    answer, before = drivers.answer(held, at), drivers.answer(frames, chosen)
    assert (answer.headline, answer.facts) == (before.headline, before.facts)
    assert answer.eyebrow == f"{before.eyebrow} \u00b7 stated for Q3 2026"
    rule = "Stated for Q3 2026; one statement a year, and only as many as the number of people allows."
    assert rule in answer.lead
    assert rule not in before.lead
    assert "said again" not in answer.lead
    after = drivers.answer(held, Chosen(**{**chosen.__dict__, "period": "2027-04"}))
    assert f"{rule} It is said again when 100 more people answer." in after.lead
    for read in READINGS:
        now, then = read(held, at), read(frames, chosen)
        assert now.sentence == then.sentence
        assert len(now.rows) == len(then.rows) > 0
        assert set(now.rows["period"]) == {"2026-Q3"}


def test_the_curve_draws_published_points_and_the_groups_hours(frames, chosen, sql):
    reading = drivers.curve(frames, chosen)
    rows = sql("select x, percent, low, high from driver_curve where kind = 'average' order by x")
    frame = reading.plot.frame
    assert list(zip(frame["x"], frame["value"], frame["low"], frame["high"], strict=True)) == rows
    rug = sql(
        "select value from exposure where period = '2026-09' and level = 'team' "
        "and measure = 'hours_per_week' and value is not null order by value"
    )
    assert sorted(reading.plot.rug["x"]) == [value for (value,) in rug]
    assert {words.split(" ")[0]: x for x, words in reading.plot.marks} == {"guide": 6.8, "budget": 5.0}
    assert len(reading.plot.beside) == len(frame)
    drawn = dose_curve.draw(reading.plot)
    assert len(drawn.marks) == len(dose_curve.draw(reading.plot).marks)
    assert "140-159 people" in reading.foot


def test_a_withheld_curve_says_why(changed, chosen):
    curve = (
        fake_drivers.tables()["driver_curve"]
        .iloc[:1]
        .assign(percent=None, low=None, high=None, reason=fake_drivers.SMALL)
    )
    reading = drivers.curve(changed(driver_curve=curve), chosen)
    assert reading.plot is None
    assert reading.sentence == fake_drivers.SMALL
    assert fake_drivers.SMALL in as_html(reading.rows, reading.columns, "Curve")


def test_the_months_back_end_with_all_of_them_together(frames, chosen):
    reading = driver_budget.lags(frames, chosen)
    labels = reading.plot.frame["label"].tolist()
    assert labels[0] == "same month"
    assert labels[-1] == "all seven months"
    assert reading.plot.mark == 1.0
    assert rows_figure.draw(reading.plot) is not None


def test_a_budget_that_cannot_be_estimated_is_a_result(frames, chosen):
    rows = driver_budget.budget_rows(frames, chosen).rows.set_index("kind")
    assert "cannot be estimated" in rows.loc["extra", "sentence"]
    table = as_html(rows.reset_index(), drivers_columns(), "Budget")
    assert "nan" not in table


def drivers_columns():
    return driver_budget.BUDGET_COLUMNS


def test_only_the_declared_region_stands_first_and_the_rest_is_called_exploratory(frames, chosen):
    reading = driver_other.regions(frames, chosen)
    labels = reading.plot.frame["label"].tolist()
    assert labels[0] == "Wrist and hand (declared)"
    assert "Elbow" not in labels, "withheld numbers are not drawn"
    assert len(reading.rows) == 4
    printed = dict(zip(labels, reading.plot.frame["printed"], strict=True))
    assert printed["Neck"].endswith("stands out")
    assert "stands out" not in printed["Knee"]
    assert reading.sentence.startswith("Exploratory: neck stands out")


def test_ways_of_asking_that_disagree_ask_for_care(frames, changed, chosen):
    assert "do not come out alike" in driver_other.effects(frames, chosen).sentence
    effects = fake_drivers.tables()["driver_effect"].assign(word="goes with more")
    assert "come out alike" in driver_other.effects(changed(driver_effect=effects), chosen).sentence


def test_a_failed_check_is_told_with_the_headline(changed, chosen):
    tables = fake_drivers.tables()
    checks = tables["driver_check"].assign(verdict="fails")
    statement = tables["driver_statement"].assign(
        word="cannot be estimated", sentence="Withheld, as a check failed.",
        reason="not shown: a check failed", people_band=None, teams=None,
    )  # fmt: skip
    budget = tables["driver_budget"].assign(hours=None, low=None, reason="not shown: a check failed")
    frames = changed(driver_check=checks, driver_statement=statement, driver_budget=budget)
    answer = drivers.answer(frames, chosen)
    assert answer.headline.endswith("cannot be told.")
    assert "Withheld, as a check failed." in answer.lead
    assert not any("Hours to" in fact.name for fact in answer.facts)
    assert "2 of 2 checks fail" in driver_other.checks(frames, chosen).sentence


def test_prediction_is_shown_against_the_last_quarter(frames, chosen):
    reading = driver_prediction.prediction(frames, chosen)
    assert len(reading.plot.frame) == 6
    assert reading.plot.mark == 0.0
    assert "not predicted better" in reading.sentence
    assert "nobody is scored" in reading.foot
    leans = driver_prediction.importance(frames, chosen)
    assert leans.plot.frame["label"].tolist()[0] == "discomfort of this quarter"
    assert "hours a week" in leans.sentence
    assert "bench" not in leans.sentence


def test_no_box_of_the_diagram_lies_on_another_and_no_arrow_passes_behind_one():
    nodes = pd.DataFrame(
        [{"node": n.key, "words": n.words, "role": n.role, "x": n.x, "y": n.y} for n in NODES]
    )
    drawn = diagram.draw(nodes, pd.DataFrame(ARROWS, columns=["source", "target"]))
    number = r'="(-?[0-9.]+)"'
    boxes = [
        tuple(map(float, found))
        for found in re.findall(f"<rect x{number} y{number} width{number} height{number}", drawn)
    ]
    lines = [
        tuple(map(float, found))
        for found in re.findall(f"<line x1{number} y1{number} x2{number} y2{number}", drawn)
    ]
    assert (len(boxes), len(lines)) == (len(NODES), len(ARROWS))
    for (x, y, w, h), (x2, y2, w2, h2) in itertools.combinations(boxes, 2):
        assert x + w < x2 or x2 + w2 < x or y + h < y2 or y2 + h2 < y
    # The arrows begin and end outside their own two boxes, so any point of one within a box is behind it.
    steps = np.linspace(0, 1, 200)
    for x0, y0, x1, y1 in lines:
        along, up = x0 + steps * (x1 - x0), y0 + steps * (y1 - y0)
        for x, y, w, h in boxes:
            assert not np.any((along > x) & (along < x + w) & (up > y) & (up < y + h))
    assert min(x for x, *_ in boxes) >= 0
    assert max(x + w for x, _, w, _ in boxes) <= diagram.WIDTH
    assert min(y for _, y, *_ in boxes) >= 0
    assert max(y + h for _, y, _, h in boxes) <= diagram.HEIGHT


def test_the_diagram_names_every_arrow_and_lets_no_markup_in(frames):
    drawn = diagram.draw(frames.frame("driver_node"), frames.frame("driver_arrow"))
    assert drawn.count("<line") == 3
    assert "Age acts on Discomfort" in drawn
    assert "Home <b>" not in drawn
    assert diagram.draw(frames.frame("driver_node").iloc[:0], frames.frame("driver_arrow")) == ""


def test_the_curve_goes_on_paper_with_its_sentence(frames, chosen):
    reading = drivers.curve(frames, chosen)
    drawn = sheet(reading.plot, "Discomfort over weekly hours", reading.sentence, reading.foot, "Edition 28")
    assert drawn is not None
    assert "guide 6.8" in drawn
    assert drawn.count("<polygon") == 1


def test_no_sentence_of_the_room_words_an_association_as_a_cause(frames, chosen):
    answer = drivers.answer(frames, chosen)
    words = [answer.headline, answer.lead.replace("not a cause", "")]
    words += [
        text for read in READINGS for text in (read(frames, chosen).sentence, read(frames, chosen).foot)
    ]
    for text in words:
        for claim in (" causes", " cause ", "because of", "leads to", "due to"):
            assert claim not in text.lower(), text


def test_the_room_opens_from_python(frames):
    shown = OpenRooms(frames).drivers(period="2026-10")
    assert shown.state.room == "Drivers"
