"""The ergonomist on the demo: Load, Drivers, what became of a change, Plan.

Every number is read off the screen, out of an open table or out of a download, and held against rows
that plain SQL reads from the release file, past all our own reading code.
"""

import re
from pathlib import Path

import pytest

from tests.support.demo_rows import NOW, REGIONS, Demo, month, printed, words
from tests.support.serve import eventually
from tests.ui.conftest import Visit

pytestmark = pytest.mark.browser


def test_the_ergonomist_finds_load_drivers_the_fate_of_a_change_and_a_plan(
    reader: Visit, demo: Demo, tmp_path: Path
) -> None:
    reader.sign_in("ergonomist")
    reader.through("Load")
    _load_of_the_heaviest_team(reader, demo)
    reader.through("Drivers")
    _what_goes_with_discomfort(reader, demo)
    reader.through("Changes")
    _whether_a_change_reached_the_work_and_helped(reader, demo, tmp_path)
    reader.through("Plan")
    _what_could_be_found(reader, demo)


def _load_of_the_heaviest_team(reader: Visit, demo: Demo) -> None:
    team, name, over = demo.ask(
        "select e.unit, u.name, count(*) from exposure e join unit u using (edition, level, unit) "
        "where e.level = 'team' and e.period = ? and e.standing = 'over guide' "
        "group by all order by 3 desc, 1 limit 1", NOW)[0]  # fmt: skip
    reader.choose("Who", f"\u2013 {name}")
    eventually(lambda: f"who=team.{team}" in reader.url(), 60, reader.url)
    # The institute, shown until then, is over guide as well.
    eventually(lambda: reader.profile() == demo.profile(team), 60, reader.profile)
    eventually(lambda: reader.headline().startswith("Over guide: "), 60, reader.headline)
    eventually(lambda: len(re.split(", | and ", reader.headline())) == over, 60, reader.headline)
    reader.choose("Measure", "Peak thumb force")
    eventually(lambda: "measure=peak_thumb_force" in reader.url(), 60, reader.url)
    series = demo.ask(
        "select period, value, low, high, guide, standing, n_band from exposure "
        "where level = 'team' and unit = ? and measure = 'peak_thumb_force' and period_kind = 'month' "
        "and reason is null", team)  # fmt: skip
    assert len(series) > 6
    expected = {
        (month(p), name, printed(v, 1), f"{printed(a, 1)} to {printed(b, 1)}", printed(g, 1), s, n)
        for p, v, a, b, g, s, n in series
    }
    reader.open_table("The chosen measure by month")
    table = "The chosen measure by month"
    eventually(lambda: expected <= set(map(tuple, reader.cells(table))), 60, lambda: reader.cells(table))


def _what_goes_with_discomfort(reader: Visit, demo: Demo) -> None:
    ((period, region, sentence),) = demo.ask(
        "select period, region, sentence from driver_statement where label = 'main question' "
        "and word <> 'stated earlier' order by period desc limit 1"
    )
    eventually(lambda: reader.headline().startswith(REGIONS[region]), 60, reader.headline)
    # The table lies low in the room: once it is there, so is all above it.
    _, *rows = reader.open_table("Discomfort over weekly hours")
    text = words(reader.text())
    assert words(sentence) in text
    ((points, low, high, ratio),) = demo.ask(
        "select points, points_low, points_high, ratio from driver_effect where period = ? and region = ? "
        "and exposure = 'hours' and question = 'prevalence'", period, region)  # fmt: skip
    assert f"{'+' if points > 0 else ''}{printed(points)} points" in text
    assert f"{printed(low)} to {printed(high)} (95 % interval); {ratio:.1f} times" in text
    curve = demo.ask(
        "select x, percent, low, high, kind, people_band from driver_curve "
        "where period = ? and reason is null", period)  # fmt: skip
    assert curve
    assert {tuple(row) for row in rows} >= {
        (printed(x, 1), printed(p), f"{printed(a)} to {printed(b)}", kind, band)
        for x, p, a, b, kind, band in curve
        if p is not None
    }
    assert "An association, not a cause" in text


def _whether_a_change_reached_the_work_and_helped(reader: Visit, demo: Demo, tmp_path: Path) -> None:
    # One whose teams are large enough to be shown on either side, before and after.
    change, title, titles = demo.ask(
        "select r.change, c.title, (select count(distinct change) from change where title = c.title "
        "and edition = c.edition) from change_reach r join change c using (edition, change) "
        "where r.edition = (select max(edition) from change_reach) and r.measure = 'hours_per_week' "
        "group by r.change, c.title, c.edition having count(r.value) = 4 order by 1 limit 1"
    )[0]
    assert titles == 1
    reader.choose("Change", title)
    eventually(lambda: reader.headline().startswith(f"{title}: "), 60, reader.headline)
    reader.choose("Measure", "Pipetting hours")
    reach = demo.ask(
        "select side, periods, value, low, high, value_unit, n_band from change_reach "
        "where change = ? and measure = 'hours_per_week' "
        "and edition = (select max(edition) from change_reach)", change)  # fmt: skip
    expected = {
        ("Pipetting hours", side, spans, printed(value, 1), f"{printed(a, 1)} to {printed(b, 1)}", unit, band)
        for side, spans, value, a, b, unit, band in reach
    }
    figure = "Did it reach the work?"
    reader.open_table(figure)
    eventually(
        lambda: set(map(tuple, reader.cells(figure)[1:])) == expected, 60, lambda: reader.cells(figure)
    )
    taken = reader.taken(figure, tmp_path / "reach.csv")
    assert {(r["side"], r["periods"], float(r["value"])) for r in taken} == {row[:3] for row in reach}
    # Whether one can tell that it helped, and what would settle it.
    verdicts = demo.ask("select region, word, sentence, settle from change_effect where change = ?", change)
    assert verdicts
    said = {word for _, word, _, _ in verdicts}
    assert {
        word for word in ("helped", "worse", "no clear change", "cannot tell") if word in reader.headline()
    } == said
    text = words(reader.text())
    for region, word, sentence, settle in verdicts:
        # Regions with one verdict stand in front of it together.
        told = re.search(rf"([A-Z][a-z ,]+): {re.escape(sentence)}", text)
        assert told is not None, sentence
        assert REGIONS[region].lower() in told.group(1).lower()
        assert word in text.lower()
        assert settle in text


def _what_could_be_found(reader: Visit, demo: Demo) -> None:
    figure = "How many teams, how many months"
    reader.page.get_by_role("heading", name=figure, exact=True).wait_for(timeout=60_000)
    told = re.compile(r"Smallest fall of ([a-z ]+) discomfort")
    eventually(lambda: told.search(words(reader.text())) is not None, 60, reader.text)
    stated = words(reader.text())
    name = told.search(stated)
    assert name is not None
    region = next(code for code, known in REGIONS.items() if known.lower() == name.group(1))
    reach = demo.ask(
        "select changed, months, points, found_percent, smallest_p from plan_reach where region = ? "
        "and period = (select max(period) from plan_reach)", region)  # fmt: skip
    assert reach
    head, *rows = reader.cells("Reach by teams and months")
    shown = {
        (int(row[0].split()[0]), int(column.split()[0])): words(cell)
        for row in rows
        for column, cell in zip(head[1:], row[1:], strict=True)
    }
    assert shown == {
        (changed, months): "\u2715" if least > 0.05 else f"{printed(points)} {found} %"
        for changed, months, points, found, least in reach
    }
    ((plans,),) = demo.ask("select count(*) from plan")
    assert ("No plan can be proposed yet." in reader.headline()) == (plans == 0)
