"""Markup in every field of words of a release: in each kind of widget it stays text, and nothing runs."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from dashboards.state import ROOMS
from tests.support import marked_release
from tests.support.serve import eventually, served
from tests.ui.conftest import DEEP_TEXT, Visit, opened

pytestmark = pytest.mark.browser

# Elements that only the markup of the release can have made, in every shadow tree.
MADE = """() => {
  const found = []
  const walk = root => root.querySelectorAll("*").forEach(e => {
    const script = e.matches("script:not([src])") && e.textContent.trim() === "ran()"
    if (script || e.matches("img[src=x]")) { found.push(e.outerHTML) }
    if (e.shadowRoot) { walk(e.shadowRoot) }
  })
  walk(document)
  return found
}"""


@pytest.fixture(scope="module")
def marked(chromium: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    release: Path = marked_release.write(tmp_path_factory.mktemp("marked") / "current.duckdb")
    with served(release) as base:
        yield base


@pytest.fixture
def hostile(chromium: Any, marked: str) -> Iterator[Visit]:
    visit = opened(chromium, f"{marked}/", "file:")
    visit.page.add_init_script("window.times = 0; window.ran = () => { window.times += 1 }")
    yield visit
    visit.page.close()
    assert visit.outside == []


def test_the_markup_would_run_if_it_were_let(hostile) -> None:
    """Without this the others could pass because the markup is harmless."""
    hostile.page.evaluate("() => { window.times = 0; window.ran = () => { window.times += 1 } }")
    hostile.page.set_content(f"<p>{marked_release.MARKUP}</p>")
    eventually(lambda: hostile.page.evaluate("() => window.times") >= 1)
    assert hostile.page.evaluate(MADE)
    hostile.outside.clear()


@pytest.mark.parametrize("room", ROOMS)
def test_markup_stays_text_in(hostile, room: str) -> None:
    who = "team.QC1" if room == "Load" else "organisation.ORG"
    hostile.open(f"room={room}&who={who}")
    page = hostile.page
    # Tables behind figures, and a tooltip under the mouse.
    for button in page.get_by_role("button", name="Table: ").all():
        button.click()
    for box in page.locator(".bk-Figure").all():
        box.scroll_into_view_if_needed()
        place = box.bounding_box()
        if place:
            for part in (0.35, 0.5, 0.65):
                page.mouse.move(place["x"] + place["width"] * part, place["y"] + place["height"] / 2)
    text = page.evaluate(DEEP_TEXT)
    assert marked_release.MARKUP in text
    assert any(marked_release.MARKUP in words for words in page.locator("select option").all_text_contents())
    assert page.evaluate(MADE) == []
    assert page.evaluate("() => window.times") == 0


def test_a_file_taken_away_holds_the_markup_as_text(hostile, tmp_path: Path) -> None:
    hostile.open("room=Month")
    with hostile.page.expect_download(timeout=30_000) as waiting:
        hostile.page.get_by_role("button", name="SVG: download Where").click()
    target = tmp_path / "where.svg"
    waiting.value.save_as(target)
    assert "<script" not in target.read_text(encoding="utf-8")
    hostile.page.goto(target.as_uri())
    hostile.page.wait_for_timeout(300)
    assert hostile.page.evaluate("() => window.times") == 0
