"""Each room in a real browser, wide and narrow: right numbers, address both ways, no word to other hosts."""

import re

import pytest

from tests.support.serve import eventually
from tests.ui.conftest import Visit

pytestmark = pytest.mark.browser
ROOMS = ("Month", "Load", "Drivers", "Changes", "Data")
WIDE, NARROW = (1440, 900), (390, 844)


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("room", ROOMS)
def test_room_opens_and_fits(visit_at, room: str, size: tuple[int, int]) -> None:
    visit = visit_at(*size)
    visit.open(f"room={room}&who=cluster.CELL")
    assert visit.headline()
    wide, seen = visit.page.locator("main").evaluate("e => [e.scrollWidth, e.clientWidth]")
    assert wide <= seen
    assert "it diagnoses nobody" in visit.text()
    # Every figure got a size; a canvas of no height is a figure that never drew.
    heights = visit.page.locator("canvas").evaluate_all("all => all.map(e => e.height)")
    assert heights
    assert min(heights) > 0


@pytest.mark.parametrize(("room", "width"), [("Load", 1440), ("Data", 390)])
def test_no_part_of_a_low_window_lies_over_another(visit_at, room: str, width: int) -> None:
    """A part that is taller than the window must not be cut to its height: its buttons could not be hit."""
    visit = visit_at(width, 500)
    visit.open(f"room={room}")
    parts = visit.page.locator("main").locator(".bk-Row, .bk-panel-models-layout-Column")
    spilt = "all => all.filter(e => e.scrollHeight > e.clientHeight + 3).map(e => e.textContent.slice(0, 40))"
    eventually(lambda: parts.evaluate_all(spilt) == [], 20, lambda: parts.evaluate_all(spilt))
    for button in visit.page.get_by_role("button", name="CSV: download ").all():
        # Complains where something else lies on top.
        button.click(trial=True, timeout=10_000)


@pytest.mark.parametrize("room", ROOMS)
def test_the_answer_stands_in_the_first_screen(visit, room: str) -> None:
    visit.open(f"room={room}")
    first = visit.page.locator(".bk-panel-models-layout-Column, .bk-Figure, canvas").first
    assert first is not None
    for heading in visit.page.get_by_role("heading", level=2).all()[:2]:
        box = heading.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < 900
    canvas = visit.page.locator("canvas").first.bounding_box()
    assert canvas is not None
    assert canvas["y"] + canvas["height"] <= 900


def test_month_numbers_are_release_rows(visit, sql) -> None:
    visit.open("room=Month")
    ((percent, low, high),) = sql(
        "select percent, low, high from health_average where unit = 'ORG' and period = '2026-10'"
    )
    text = visit.text()
    assert f"{percent} %" in text
    assert f"{low} to {high} % (95 % interval)" in text
    ((neck, least, most),) = sql(
        "select percent, low, high from health where unit = 'ORG' and period = '2026-10' and region = 'NECK'"
    )
    assert f"{neck} % ({least} to {most} %), October 2026" in text


def test_load_numbers_are_release_rows(visit, sql) -> None:
    visit.open("room=Load&who=team.QC1")
    rows = sql(
        "select value, low, high, standing from exposure where unit = 'QC1' and period = '2026-10' "
        "and measure in ('hours_per_week', 'peak_thumb_force')"
    )
    text = visit.text()
    for value, low, high, standing in rows:
        assert re.search(rf"{value:.1f} (h a week|N) \({low:.1f} to {high:.1f}\)", text)
        assert standing in text


def test_data_numbers_are_release_rows(visit, sql) -> None:
    visit.open("room=Data")
    ((rows, aside),) = sql("select sum(rows_in), sum(rows_set_aside) from data_quality")
    text = visit.text()
    assert f"{int(rows):,}".replace(",", "\u2009") in text
    assert f"{int(aside):,}".replace(",", "\u2009") in text
    ((content_hash,),) = sql("select content_hash from edition")
    assert content_hash in text


def test_changes_say_that_they_do_not_judge(visit) -> None:
    visit.open("room=Changes&change=C1")
    assert visit.headline().startswith("Low-force electronic pipettes: ")
    assert "cannot tell" in visit.text()


def test_widget_to_address_to_the_same_view(visit) -> None:
    visit.open("room=Load")
    visit.choose("Who", "\u2013 Quality control 1")
    eventually(lambda: "who=team.QC1" in visit.url(), seconds=60, otherwise=visit.url)
    eventually(lambda: "pipetting hours" in visit.headline(), 60, visit.headline)
    headline, address = visit.headline(), visit.url()
    visit.open(address.split("?", 1)[1])
    assert visit.headline() == headline


def test_walking_through_the_doors(visit) -> None:
    visit.open("room=Month")
    for room in ("Load", "Changes", "Data", "Month"):
        visit.page.get_by_role("button", name=room, exact=True).click()
        eventually(lambda room=room: f"room={room}" in visit.url(), 60, visit.url)
    eventually(lambda: visit.headline().startswith("Discomfort is rising"), 60, visit.headline)


def test_the_back_button_shows_the_earlier_view(visit) -> None:
    visit.open("room=Month")
    visit.page.get_by_role("button", name="Data", exact=True).click()
    eventually(lambda: "set aside" in visit.headline(), 60, visit.headline)
    visit.page.go_back()
    # The page loads again meanwhile, so wait for what it shows rather than ask it.
    earlier = visit.page.get_by_role("heading", name=re.compile("^Discomfort is rising"))
    earlier.wait_for(timeout=60_000)
    assert "room=Month" in visit.url()


def test_the_address_names_the_whole_view(visit) -> None:
    visit.open("room=Load")
    eventually(lambda: "month=2026-10" in visit.url(), 60, visit.url)
    assert "who=organisation.ORG" in visit.url()


def test_a_bad_address_is_told_and_the_rest_of_it_kept(visit) -> None:
    visit.open("room=Load&who=team.QC1&month=1999-01&measure=%3Cimg%20src%3Dx%20onerror%3Dalert(1)%3E")
    notice = visit.page.get_by_role("status").first
    assert "month=1999-01" in notice.inner_text()
    assert "<img src=x onerror=alert(1)>" in notice.inner_text()
    assert "Quality control 1" in visit.text()


def test_markup_in_the_release_does_not_run(visit) -> None:
    """The invented release carries markup in a name, a title and a meaning."""
    visit.open("room=Data&who=cluster.CELL")
    assert "Unknown team <script>" in visit.text()
    visit.page.get_by_role("button", name="Month", exact=True).click()
    eventually(lambda: "Adjustable bench <b>trial</b>" in visit.text(), otherwise=visit.text)
    assert "Cell & gene <lab>" in visit.text()


def test_a_table_opens_with_the_rows_behind_the_figure(visit, sql) -> None:
    visit.open("room=Month")
    visit.page.get_by_role("button", name="Table: What moved since last year", exact=True).click()
    table = visit.page.get_by_role("table").first
    table.wait_for(timeout=30_000)
    ((points, low, high),) = sql(
        "select points, low, high from trend "
        "where unit = 'ORG' and period = '2026-10' and region = 'SHOULDER'"
    )
    row = table.get_by_role("row", name=re.compile("^Shoulder"))
    assert f"{points}" in row.inner_text()
    assert f"{low} to {high}" in row.inner_text()


def test_a_download_holds_release_rows(visit, sql, tmp_path) -> None:
    visit.open("room=Month")
    with visit.page.expect_download(timeout=30_000) as waiting:
        visit.page.get_by_role("button", name="CSV: download What moved since last year").click()
    target = tmp_path / "rows.csv"
    waiting.value.save_as(target)
    lines = target.read_text(encoding="utf-8").splitlines()
    ((count,),) = sql("select count(*) from trend where unit = 'ORG' and period = '2026-10'")
    assert len(lines) == 1 + count
    assert lines[0].startswith("edition,period,compared_with")


def test_dark_keeps_the_figures_readable(visit) -> None:
    visit.open("room=Load")
    assert _ground(visit) == ["rgb(252, 251, 248)", [252, 251, 248]]
    visit.page.get_by_role("button", name="Dark", exact=True).click()
    eventually(lambda: _ground(visit) == ["rgb(18, 23, 26)", [18, 23, 26]], 30, lambda: str(_ground(visit)))
    # The choice is kept for the next page, and can be taken back.
    visit.open("room=Month")
    assert _ground(visit)[0] == "rgb(18, 23, 26)"
    visit.page.get_by_role("button", name="Light", exact=True).click()
    eventually(lambda: _ground(visit) == ["rgb(252, 251, 248)", [252, 251, 248]], 30)


def _ground(visit: Visit) -> list:
    """The surface of the page, and what the first figure's canvas has at its corner."""
    return visit.page.evaluate(
        """() => {
          const canvas = found(document)
          const [r, g, b] = canvas.getContext("2d").getImageData(3, 3, 1, 1).data
          return [getComputedStyle(document.body).backgroundColor, [r, g, b]]
          function found(root) {
            for (const e of root.querySelectorAll("*")) {
              if (e.tagName === "CANVAS" && e.getClientRects().length) { return e }
              const within = e.shadowRoot && found(e.shadowRoot)
              if (within) { return within }
            }
          }
        }"""
    )


def test_every_drawing_made_of_markup_has_words(visit) -> None:
    visit.open("room=Month")
    # In one look: while parts still come, the third drawing of a list is another one at the next question.
    labels = "all => all.map(e => e.getAttribute('aria-label') ?? '')"
    drawings = visit.page.get_by_role("img")
    eventually(
        lambda: sum("the newest" in name for name in drawings.evaluate_all(labels)) == 10,
        30,
        lambda: drawings.evaluate_all(labels),
    )
