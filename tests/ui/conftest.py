"""Chromium of the system, one a test run; a served release; a page that records what went wrong."""

import csv
import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb
import pytest

from etl.home import Home
from tests.support import fake_release
from tests.support.demo_rows import Demo, words
from tests.support.serve import demo_sign_in, eventually, served

CHROMIUM = os.environ.get("EVENHAND_CHROMIUM", "/usr/bin/chromium")
# As root, in a container, without a graphics card and with little shared memory.
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--force-prefers-reduced-motion"]


# Each view keeps its markup in a shadow tree of its own, which plain text queries do not enter.
DEEP_TEXT = """() => {
  const words = [];
  const walk = node => {
    if (node.nodeType === 3) words.push(node.textContent);
    // What could be chosen is not what is shown.
    if (["STYLE", "SCRIPT", "SELECT"].includes(node.nodeName)) return;
    if (node.shadowRoot) walk(node.shadowRoot);
    node.childNodes.forEach(walk);
  };
  walk(document.querySelector("body"));
  return words.join(" ");
}"""


@dataclass
class Visit:
    """A page and what it complained of."""

    page: Any
    base: str
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def open(self, query: str) -> None:
        """Open a view and wait until it stands still."""
        self.page.goto(f"{self.base}?{query}" if query else self.base)
        self.settled()

    def settled(self) -> None:
        """Wait until a page that was asked for stands still."""
        self.page.get_by_role("heading", level=1).first.wait_for(timeout=60_000)
        self.page.wait_for_function("() => document.getElementById('waiting') === null", timeout=60_000)

    def choose(self, label: str, option: str) -> None:
        """Choose by its words in one of the lists."""
        self.page.get_by_role("combobox", name=label, exact=True).select_option(label=option)

    def url(self) -> str:
        """Return the address as the browser has it now; the driver's own copy lags while we wait."""
        return self.page.evaluate("() => window.location.href")

    def headline(self) -> str:
        """Return the room's first heading."""
        return self.page.get_by_role("heading", level=1).first.inner_text()

    def text(self) -> str:
        """Return all text of the room."""
        return self.page.evaluate(DEEP_TEXT)

    def cells(self, table: str) -> list[list[str]]:
        """Return the printed cells of an open table, heading row first.

        Parameters
        ----------
        table : str
            Its accessible name.
        """
        box = self.page.get_by_role("region", name=table, exact=True).last
        box.wait_for(timeout=30_000)
        return box.evaluate(
            "e => [...e.querySelectorAll('tr')].map(r => [...r.cells].map(c => c.innerText.trim()))"
        )

    def open_table(self, figure: str) -> list[list[str]]:
        """Open the table behind a figure and return its printed cells, heading row first."""
        self.page.get_by_role("button", name=f"Table: {figure}", exact=True).click()
        return self.cells(figure)

    def taken(self, figure: str, target: Path) -> list[dict[str, str]]:
        """Download the CSV behind a figure and return its rows."""
        with self.page.expect_download(timeout=30_000) as waiting:
            self.page.get_by_role("button", name=f"CSV: download {figure}", exact=True).click()
        waiting.value.save_as(target)
        with target.open(encoding="utf-8", newline="") as lines:
            return list(csv.DictReader(lines))

    def profile(self) -> dict[str, tuple[str, ...]]:
        """Return the Load room's table of all measures: name -> value, standing, the organisation's."""
        _, *rows = self.cells("Every measure against its guide")
        return {words(row[0]): (row[1], words(row[3]), row[4]) for row in rows}

    def sign_in(self, role: str) -> None:
        """Choose a role at the demo's front door."""
        self.page.get_by_role("link", name=role, exact=True).click()
        self.page.wait_for_url("**/as-*")
        self.base = self.page.url.partition("?")[0]
        self.settled()

    def through(self, room: str) -> None:
        """Walk through the door to a room."""
        self.page.get_by_role("button", name=room, exact=True).click()
        eventually(lambda: f"room={room}" in self.url(), 60, self.url)


def opened(chromium: Any, base: str, *also: str, size: tuple[int, int] = (1440, 900)) -> Visit:
    """Return a page of its own that notes what it complains of.

    Parameters
    ----------
    chromium : Browser
        The browser.
    base : str
        Address of the rooms.
    *also : str
        Starts of other addresses that it may ask for.
    size : tuple of int
        Width and height, pixels.
    """
    page = chromium.new_page(viewport={"width": size[0], "height": size[1]})
    visit = Visit(page, base)
    ours = (re.match(r"https?://[^/]+", base).group(), "data:", "blob:", *also)
    page.on("request", lambda r: None if r.url.startswith(ours) else visit.outside.append(r.url))
    page.on("console", lambda m: visit.errors.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: visit.errors.append(str(error)))
    return visit


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    if not Path(CHROMIUM).exists():
        # A skipped browser test on the machine that is there to run it would prove nothing.
        message = f"no chromium at {CHROMIUM}; set EVENHAND_CHROMIUM"
        if os.environ.get("CI") == "true":
            pytest.fail(message)
        pytest.skip(message)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def release(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return fake_release.write(tmp_path_factory.mktemp("served") / "current.duckdb")


@pytest.fixture(scope="session")
def address(chromium: Any, release: Path) -> Iterator[str]:
    with served(release) as base:
        yield base


@pytest.fixture(scope="session")
def sql(release: Path, tmp_path_factory: pytest.TempPathFactory):
    copy = shutil.copy(release, tmp_path_factory.mktemp("asked") / "release.duckdb")

    def ask(query: str) -> list[tuple]:
        with duckdb.connect(str(copy), read_only=True) as con:
            return con.execute(query).fetchall()

    return ask


@pytest.fixture
def visit_at(chromium: Any, address: str):
    """Return visits by size; at the end none may have asked another host or logged an error."""
    visits: list[Visit] = []

    def at(width: int, height: int) -> Visit:
        visits.append(opened(chromium, f"{address}/", size=(width, height)))
        return visits[-1]

    yield at
    for visit in visits:
        visit.page.close()
    assert [visit.outside for visit in visits] == [[] for _ in visits]
    assert [visit.errors for visit in visits] == [[] for _ in visits]


@pytest.fixture
def visit(visit_at) -> Visit:
    return visit_at(1440, 900)


@pytest.fixture(scope="session")
def demo(chromium: Any, demo_home: Home, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    # A file that is open hardened cannot be opened another way too.
    copy = shutil.copy(
        demo_home.current_release.resolve(), tmp_path_factory.mktemp("asked") / "release.duckdb"
    )

    def ask(query: str, *values: object) -> list[tuple]:
        with duckdb.connect(str(copy), read_only=True) as con:
            return con.execute(query, list(values)).fetchall()

    with demo_sign_in(demo_home.root) as address:
        yield Demo(demo_home, address, ask)


@pytest.fixture
def reader(chromium: Any, demo: Demo) -> Iterator[Visit]:
    """Stands before the front door, not signed in yet."""
    visit = opened(chromium, f"{demo.address}/")
    visit.open("")
    yield visit
    visit.page.close()
    assert visit.outside == []
    assert visit.errors == []
