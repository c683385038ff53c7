"""A room on paper: all of it, over pages, with edition and cautions, without what can only be clicked."""

import io
import unicodedata
from typing import Any

import pytest
from pypdf import PdfReader

from dashboards.readings.base import CAUTION
from dashboards.state import ROOMS
from tests.support.serve import eventually

pytestmark = pytest.mark.browser


def _letters(words: str) -> str:
    """Return words without blanks and joined letters: the printing engine parts and joins as it likes."""
    return "".join(unicodedata.normalize("NFKC", words).split())


def _printed(visit: Any) -> list[str]:
    pages = PdfReader(io.BytesIO(visit.page.pdf(format="A4"))).pages
    return [_letters(page.extract_text()) for page in pages]


# One with many figures, one with long tables, one with boxes that scroll on the screen.
@pytest.mark.parametrize("room", ["Month", "Load", "Data"])
def test_a_room_prints_whole_with_edition_and_caution(visit, room: str) -> None:
    visit.open(f"room={room}")
    headings = [h.inner_text() for h in visit.page.get_by_role("heading", level=2).all()]
    assert len(headings) > 5
    pages: list[str] = []

    def lacking() -> list[str]:
        pages[:] = _printed(visit)
        return [h for h in headings if _letters(h) not in "".join(pages)]

    # On a busy machine the first print can catch the page before its figures are laid out.
    eventually(lambda: lacking() == [], 60, lacking)
    assert len(pages) > 1
    whole = "".join(pages)
    assert "Edition" in pages[0]
    assert _letters(CAUTION) in whole
    assert "CSVXLSX" not in whole
    assert "".join(ROOMS) not in whole


def test_no_part_of_a_printed_room_lies_over_another(visit) -> None:
    visit.open("room=Load")
    visit.page.emulate_media(media="print")
    # A part that is lower than what stands in it lets it run over the next one.
    spilt = visit.page.locator(".bk-panel-models-markup-HTML").evaluate_all(
        "all => all.filter(e => e.scrollHeight > e.clientHeight + 3).map(e => e.scrollHeight)"
    )
    assert spilt == []


def test_what_moves_to_the_next_page_takes_along_what_follows(visit) -> None:
    """Flexible rows do not grow with a part that a page break moves: the next row was printed over it."""
    visit.open("room=Drivers")
    visit.page.emulate_media(media="print")
    rows = visit.page.locator(".bk-Row").evaluate_all("all => all.map(e => getComputedStyle(e).display)")
    assert len(rows) > 3
    assert set(rows) == {"block"}


def test_nothing_is_wider_than_the_paper(visit) -> None:
    """One drawing that is wider shrinks every page, and figures laid out for the screen are cut off."""
    visit.open("room=Drivers")
    visit.page.emulate_media(media="print")
    visit.page.set_viewport_size({"width": 720, "height": 1000})
    widths = visit.page.locator("svg").evaluate_all("all => all.map(e => e.getBoundingClientRect().right)")
    assert widths
    assert max(widths) <= 720


def test_a_dark_page_prints_on_white_and_is_dark_again(visit) -> None:
    """A sheet is taken when the browser has told of it: what is painted a moment later comes too late."""
    visit.page.emulate_media(color_scheme="dark")
    visit.open("room=Load")
    grounds = visit.page.evaluate(
        """async () => {
          const found = root => {
            for (const e of root.querySelectorAll("*")) {
              if (e.tagName === "CANVAS" && e.getClientRects().length) { return e }
              const within = e.shadowRoot && found(e.shadowRoot)
              if (within) { return within }
            }
          }
          const canvas = found(document)
          const at = place => [...canvas.getContext("2d").getImageData(place, place, 1, 1).data].slice(0, 3)
          const before = at(3)
          window.dispatchEvent(new Event("beforeprint"))
          const printed = [at(0), at(3), getComputedStyle(document.body).backgroundColor]
          window.dispatchEvent(new Event("afterprint"))
          await new Promise(done => setTimeout(done, 500))
          return [before, printed, at(3)]
        }"""
    )
    dark, white = [18, 23, 26], [255, 255, 255]
    assert grounds == [dark, [white, white, "rgb(255, 255, 255)"], dark]
