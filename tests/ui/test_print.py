"""A room on paper: all of it, over pages, with edition and cautions, without what can only be clicked."""

import io
import unicodedata
from typing import Any

import pytest
from pypdf import PdfReader

from dashboards.readings.base import CAUTION
from dashboards.state import ROOMS

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
    pages = _printed(visit)
    assert len(pages) > 1
    whole = "".join(pages)
    assert [h for h in headings if _letters(h) not in whole] == []
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
