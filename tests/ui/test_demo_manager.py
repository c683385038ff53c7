"""A team's manager on the demo: own load, what would even it out; others and health stay shut.

Every number is read off the screen, out of an open table or out of a download, and held against rows
that plain SQL reads from the release file, past all our own reading code.
"""

import re
from pathlib import Path

import pytest

from tests.support.demo_rows import MEASURES, NOW, REGIONS, Demo, printed, words
from tests.support.serve import eventually
from tests.ui.conftest import Visit

pytestmark = pytest.mark.browser


@pytest.fixture
def led(demo: Demo) -> tuple[str, str]:
    """Return code and name of the team with the most stations seen among those with a measure over guide."""
    return demo.ask(
        "select u.unit, u.name from unit u join station_fit s on s.team = u.unit and s.edition = u.edition "
        "where u.level = 'team' and s.period = ? and u.unit in "
        "(select unit from exposure where period = ? and level = 'team' and standing = 'over guide') "
        "group by all order by count(*) desc, 1 limit 1", NOW, NOW)[0]  # fmt: skip


def test_a_manager_learns_the_own_teams_load_and_what_would_even_it_out(
    reader: Visit, demo: Demo, led: tuple[str, str], tmp_path: Path
) -> None:
    team, name = led
    reader.sign_in(f"manager of {team}")
    assert f"shown to the manager of {name}" in reader.text()
    over = demo.ask(
        "select measure from exposure where level = 'team' and unit = ? and period = ? "
        "and standing = 'over guide'", team, NOW)  # fmt: skip
    assert reader.headline().startswith("Over guide: ")
    for (measure,) in over:
        assert MEASURES[measure][0].lower() in reader.headline()
    assert reader.profile() == demo.profile(team)
    # What would even it out: on what the hours go, and which bench fits whom.
    parts = demo.ask(
        "select part, hours_per_person_week, share_percent, n_band from exposure_part "
        "where level = 'team' and unit = ? and period = ? and part_kind = 'task' and reason is null",
        team, NOW)  # fmt: skip
    assert parts
    _, *rows = reader.open_table("Hours by task")
    assert {tuple(row) for row in rows} >= {(p, printed(h, 1), printed(s), n) for p, h, s, n in parts}
    stations = demo.ask(
        "select station, best_change, best_after, best_posture from station_fit "
        "where team = ? and period = ?", team, NOW)  # fmt: skip
    _, *rows = reader.cells("Whom the stations fit")
    assert {(words(row[0]).split()[0], row[4]) for row in rows} == {
        (s, "nothing that was tried" if best is None else f"{best}: {after} % {posture}")
        for s, best, after, posture in stations
    }


def test_a_manager_is_refused_other_teams_and_all_health_also_by_address(
    reader: Visit, demo: Demo, led: tuple[str, str], tmp_path: Path
) -> None:
    team, name = led
    others = demo.ask(
        "select distinct unit, name from unit where level <> 'organisation' and unit <> ?", team
    )
    reader.sign_in(f"manager of {team}")
    other = next(code for code, _ in others if code.startswith("T"))
    reader.open(f"room=Month&who=team.{other}&region=NECK&change=CH-01")
    notice = reader.page.get_by_role("status").filter(has_text="The address asked for")
    for asked in ("room=Month", f"who=team.{other}", "region=NECK", "change=CH-01"):
        assert asked in notice.inner_text()
    text = reader.text().replace(notice.inner_text(), "")
    assert reader.headline().startswith("Over guide: ")
    for code, called in others:
        assert called not in text
        assert not re.search(rf"\b{code}\b", text.replace(f"who=team.{other}", "")), code
    for word in (*REGIONS.values(), "iscomfort", "answered"):
        assert word not in text
    # No door, no choice and no file leads further.
    doors = reader.page.get_by_role("button").evaluate_all("all => all.map(b => b.textContent)")
    assert not {"Month", "Drivers", "Changes", "Plan", "Data"} & set(doors)
    offered = reader.page.get_by_role("combobox", name="Who").locator("option").all_inner_texts()
    assert [words(option) for option in offered] == ["Fernhollow Institute", f"\u2013 {name}"]
    files = reader.page.get_by_role("button", name="CSV: download ").evaluate_all(
        "all => all.map(b => b.getAttribute('aria-label').replace('CSV: download ', ''))"
    )
    assert len(files) > 5
    for number, figure in enumerate(files):
        rows = reader.taken(figure, tmp_path / f"{number}.csv")
        assert rows, figure
        assert {row.get("unit", row.get("team")) for row in rows} <= {team, "ORG"}, figure
    answer = reader.page.request.get(f"{demo.address}/as-manager-NOBODY")
    assert answer.status == 404
    # The demo's other roles are one step back.
    reader.page.get_by_role("link", name="Another role").click()
    eventually(lambda: reader.headline() == "Demo sign-in", 30, reader.headline)
