"""Each room for other eyes and hands: axe-core, keyboard, 320 pixels, no movement, words for plots."""

from pathlib import Path
from typing import Any

import pytest

from dashboards.brief.compose import compose
from dashboards.brief.to_html import to_html
from dashboards.data import ReleaseFrames
from dashboards.state import ROOMS
from dashboards.views.rooms import CONTROLS
from tests.support import axe, fake_release
from tests.support.serve import eventually

pytestmark = pytest.mark.browser

# Deepest focused element: what a reader is told, and how the place is marked.
FOCUSED = """() => {
  let e = document.activeElement
  while (e && e.shadowRoot && e.shadowRoot.activeElement) { e = e.shadowRoot.activeElement }
  if (!e || e === document.body) { return null }
  const style = getComputedStyle(e)
  const by = (e.getAttribute("aria-labelledby") || "").split(" ").filter(Boolean)
    .map(id => e.getRootNode().getElementById(id)).filter(Boolean).map(n => n.textContent).join(" ")
  const box = e.getBoundingClientRect()
  const label = e.labels?.length ? e.labels[0].firstElementChild.textContent : ""
  return {name: (e.getAttribute("aria-label") || by || label || e.textContent).trim(),
          role: e.getAttribute("role") || e.tagName.toLowerCase(),
          marked: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1.5,
          inside: box.bottom > 0 && box.top < window.innerHeight}
}"""

# What moves or may come to move, in every shadow tree.
MOVING = """() => {
  const found = []
  const walk = root => root.querySelectorAll("*").forEach(e => {
    const s = getComputedStyle(e)
    const time = v => Math.max(...v.split(",").map(parseFloat))
    const runs = s.animationName !== "none" && time(s.animationDuration) > 0.01
    const shown = s.visibility === "visible" && e.getClientRects().length
    if (shown && (runs || time(s.transitionDuration) > 0.01)) {
      found.push(e.nodeName + "." + e.className)
    }
    if (e.shadowRoot) { walk(e.shadowRoot) }
  })
  walk(document)
  return found
}"""


@pytest.mark.parametrize("room", ROOMS)
def test_axe_finds_nothing_grave_light_or_dark_wide_or_narrow(visit, room: str) -> None:
    checker = axe.source()
    visit.open(f"room={room}")
    visit.page.evaluate(checker)
    page = visit.page
    # A colour on its way from light to dark would be judged in between.
    page.emulate_media(reduced_motion="reduce")
    for scheme, ground in (("light", "rgb(252, 251, 248)"), ("dark", "rgb(18, 23, 26)")):
        page.emulate_media(color_scheme=scheme)
        main = page.locator("body")
        eventually(
            lambda ground=ground, main=main: (
                main.evaluate("e => getComputedStyle(e).backgroundColor") == ground
            )
        )
        for width in (1440, 390):
            page.set_viewport_size({"width": width, "height": 900})
            # Each widget takes the scheme over by itself, one after another.
            eventually(lambda: not axe.grave(page), 20, lambda: axe.grave(page))
    # The narrowest screen that WCAG asks for: nothing leads sideways out of the page.
    page.set_viewport_size({"width": 320, "height": 640})
    # Plots follow the window a moment later.
    eventually(lambda: page.evaluate("() => document.documentElement.scrollWidth") <= 320)
    eventually(lambda: page.locator("main").evaluate("e => e.scrollWidth <= e.clientWidth"))
    assert page.evaluate(MOVING) == []
    assert _unnamed_plots(page) == []


def _unnamed_plots(page: Any) -> list[str]:
    names = page.locator(".bk-Figure").evaluate_all(
        "all => all.filter(e => e.getClientRects().length).map(e => [e.getAttribute('role'), "
        "e.getAttribute('aria-label') || ''])"
    )
    # A name alone would say what the plot is, not what it shows.
    return [name for role, name in names if role != "img" or len(name) < 30]


def test_axe_finds_nothing_grave_in_the_brief(chromium, release: Path, tmp_path: Path) -> None:
    checker = axe.source()
    target = tmp_path / "brief.html"
    target.write_text(
        to_html(compose(ReleaseFrames(fake_release.frames(release)), "2026-10")), encoding="utf-8"
    )
    page = chromium.new_page(viewport={"width": 1440, "height": 900})
    page.goto(target.as_uri())
    page.evaluate(checker)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for width in (1440, 390, 320):
            page.set_viewport_size({"width": width, "height": 900})
            assert axe.grave(page) == [], (scheme, width)
            assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.parametrize("room", ROOMS)
def test_a_keyboard_reaches_and_works_all_of_a_room(visit, room: str) -> None:
    visit.open(f"room={room}")
    page = visit.page
    stops = _walk(page)
    assert [s for s in stops if not s["marked"]] == []
    assert [s for s in stops if not s["inside"]] == []
    names = [s["name"] for s in stops]
    doors = [s["name"] for s in stops if s["role"] == "button" and s["name"] in ROOMS]
    assert doors == list(ROOMS)
    combos = [s for s in stops if s["role"] == "select"]
    assert len(combos) == len(CONTROLS[room])
    shown = page.locator("button:visible").evaluate_all("all => all.map(b => b.getAttribute('aria-label'))")
    assert [b for b in shown if b and b not in {*names, *ROOMS}] == []
    _open_each_table(page, [n for n in names if n.startswith("Table: ")])
    _choose_the_next(visit)


def _walk(page: Any, most: int = 160) -> list[dict]:
    """Press Tab from the top of the page until it leads out again."""
    stops: list[dict] = []
    page.evaluate("() => document.activeElement && document.activeElement.blur()")
    for _ in range(most):
        page.keyboard.press("Tab")
        stop = page.evaluate(FOCUSED)
        if stop is None or (len(stops) > 1 and stop["name"] == stops[0]["name"]):
            return stops
        stops.append(stop)
    raise AssertionError(f"{most} presses of Tab did not lead out: {stops[-3:]}")


def _open_each_table(page: Any, tables: list[str]) -> None:
    before = page.get_by_role("table").count()
    for name in tables:
        page.get_by_role("button", name=name, exact=True).focus()
        page.keyboard.press("Enter")
    buttons = page.get_by_role("button", name="Table: ")
    eventually(
        lambda: (
            buttons.evaluate_all("all => all.map(b => b.getAttribute('aria-expanded'))")
            == ["true"] * len(tables)
        )
    )
    eventually(lambda: page.get_by_role("table").count() >= before + len(tables))


def _choose_the_next(visit: Any) -> None:
    """Choose another value in the last choice of the room, with keys alone."""
    page = visit.page
    combo = page.get_by_role("combobox").last
    combo.focus()
    was, address = combo.input_value(), visit.url()
    page.keyboard.press("ArrowDown")
    eventually(lambda: combo.input_value() != was, 60, combo.input_value)
    eventually(lambda: visit.url() != address, 60, visit.url)


def test_a_keyboard_walks_through_the_doors(visit) -> None:
    visit.open("room=Month")
    page = visit.page
    page.get_by_role("button", name=ROOMS[0], exact=True).focus()
    for room in ROOMS[1:]:
        page.keyboard.press("Tab")
        stop = page.evaluate(FOCUSED)
        assert stop["name"] == room
        assert stop["marked"]
    page.keyboard.press("Enter")
    eventually(lambda: "set aside" in visit.headline(), 60, visit.headline)


def test_a_system_that_prefers_dark_gets_a_dark_page_from_the_start(visit) -> None:
    visit.page.emulate_media(color_scheme="dark")
    visit.open("room=Plan")
    main = visit.page.locator("body")
    eventually(lambda: main.evaluate("e => getComputedStyle(e).backgroundColor") == "rgb(18, 23, 26)")
