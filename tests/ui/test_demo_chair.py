"""The committee chair on the demo: what moved, what was done, what next, and the paper for the meeting.

Every number is read off the screen, out of an open table or out of a download, and held against rows
that plain SQL reads from the release file, past all our own reading code.
"""

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.support.demo_rows import NOW, REGIONS, Demo, month, printed, words
from tests.support.serve import COMMAND
from tests.ui.conftest import Visit

pytestmark = pytest.mark.browser


def test_a_newcomer_reaches_the_committees_answer_with_one_action(reader: Visit, demo: Demo) -> None:
    """Three actions are allowed; choosing who one is takes one, and the answer needs no scrolling."""
    assert reader.headline() == "Demo sign-in"
    reader.sign_in("committee")
    told = {word for (word,) in demo.ask("select distinct word from trend where level = 'organisation' "
                                         "and period = ? and region <> 'ALL'", NOW)}  # fmt: skip
    expected = "Too few answers to say what moved." if told == {"too few answers"} else "Discomfort is"
    assert reader.headline().startswith(expected)
    assert "shown to the committee" in reader.text()
    for heading in ("What moved since last year", "What was done"):
        box = reader.page.get_by_role("heading", name=heading, exact=True).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < 900


def test_the_chair_reads_what_moved_what_was_done_what_next_and_takes_the_paper_along(
    reader: Visit, demo: Demo, chromium: Any, tmp_path: Path
) -> None:
    reader.sign_in("committee")
    text = words(reader.text())
    # What moved: the numbers on top, the table behind the figure, the file.
    ((percent, low, high),) = demo.ask(
        "select percent, low, high from health_average where level = 'organisation' and period = ?", NOW
    )
    assert f"{percent} % {low} to {high} % (95 % interval)" in text
    ((share, answered, invited),) = demo.ask(
        "select percent, answered_band, invited_band from response "
        "where level = 'organisation' and period = ?", NOW)  # fmt: skip
    assert f"{share} % {answered} of {invited} people" in text
    ((hours, least, most, standing),) = demo.ask(
        "select value, low, high, standing from exposure where level = 'organisation' and period = ? "
        "and measure = 'hours_per_week'", NOW)  # fmt: skip
    assert f"{hours:.1f} h {least:.1f} to {most:.1f} h; {standing}" in text
    moved = demo.ask(
        "select region, points, low, high, word, compared_with from trend "
        "where level = 'organisation' and period = ? and region <> 'ALL'", NOW)  # fmt: skip
    assert len(moved) == len(REGIONS)
    _, *rows = reader.open_table("What moved since last year")
    assert {tuple(row) for row in rows} == {
        (REGIONS[region], printed(points), f"{printed(low)} to {printed(high)}", word, month(before))
        for region, points, low, high, word, before in moved
    }  # fmt: skip
    taken = reader.taken("What moved since last year", tmp_path / "moved.csv")
    assert {(r["region"], r["word"], r["points"]) for r in taken} == {
        (region, word, "" if points is None else str(points)) for region, points, _, _, word, _ in moved
    }
    # What was done, newest first.
    register = demo.ask(
        "select c.title, c.status, coalesce(c.completed, c.started, c.planned) as day, u.name "
        "from change c join unit u on u.unit = c.team and u.level = 'team' and u.edition = c.edition "
        "where c.edition = (select max(edition) from change) order by day desc"
    )
    assert 0 < len(register) <= 7
    done = words(reader.page.locator("ul.plain").first.inner_text())
    for title, status, day, team in register:
        kept = rf"{re.escape(title)} {status.lower()} (for|on) {day.day} {day:%b %Y}; {re.escape(team)};"
        assert re.search(kept, done), kept
    # What next: flags ask to look, and if there is none the page says how many series were judged.
    ((raised, calm),) = demo.ask(
        "select count(*) filter (word = 'flagged'), count(*) filter (word = 'not flagged') from flag "
        "where period = ? or (period_kind = 'quarter' and period = "
        "(select max(period) from flag where period_kind = 'quarter'))", NOW)  # fmt: skip
    assert f"{raised + calm} series judged" in text
    assert ("No flag in" in text) == (raised == 0)
    _the_paper_says_the_same(reader, demo, chromium, tmp_path)


def _the_paper_says_the_same(reader: Visit, demo: Demo, chromium: Any, tmp_path: Path) -> None:
    target = tmp_path / "brief.html"
    arguments = [
        "brief",
        "--period",
        NOW,
        "--to",
        "html",
        "--out",
        str(target),
        "--home",
        str(demo.home.root),
    ]
    made = subprocess.run([sys.executable, "-c", COMMAND, *arguments], capture_output=True, text=True)
    assert made.returncode == 0, made.stderr
    page = chromium.new_page()
    page.goto(target.as_uri())
    paper = words(page.locator("body").inner_text())
    page.close()
    # The paper and the room open with the same answer, of the same edition.
    assert reader.headline() in paper
    ((number, content_hash),) = demo.ask(
        "select edition, content_hash from edition order by edition desc limit 1"
    )
    assert f"dition {number}" in paper
    assert content_hash[:16] in paper
    ((percent, low, high),) = demo.ask(
        "select percent, low, high from health_average where level = 'organisation' and period = ?", NOW
    )
    assert f"{low} to {high} % (95 % interval)" in paper
    assert f"{percent} %" in paper
    ((changes,),) = demo.ask(
        "select count(distinct title || kind) from change where edition = (select max(edition) from change)"
    )
    assert f"{changes} changes are registered" in paper
    late = demo.ask(
        "select title, name from change c join unit u on u.unit = c.team and u.edition = c.edition "
        "where c.edition = (select max(edition) from change) and c.status = 'PLANNED' "
        "and c.started is null and c.planned < date '2026-10-31'"
    )
    assert late
    for title, team in late:
        assert f"Start or put off: {title} ({team})" in paper
    settle = demo.ask("select distinct settle from change_effect where word = 'cannot tell' and settle <> ''")
    assert settle
    for (sentence,) in settle:
        assert sentence[1:] in paper
