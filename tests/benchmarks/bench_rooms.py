"""Choice to redraw, and a first room drawn cold, as ratios to a bare Bokeh app with as many like charts.

Run: ``python -m tests.benchmarks.bench_rooms --home DIR``. Reach: at most 1.5 and 1.8. Both apps are
served by one interpreter each and asked in turn by one Chromium, so that a slow moment of the machine
touches both; medians are printed with the load average beside them.
"""

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

from playwright.sync_api import sync_playwright

from tests.support.serve import eventually, free_port, served

CHROMIUM = os.environ.get("EVENHAND_CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
# Any drawing on any canvas; a redraw is over when nothing was drawn for a while, and lasted until then.
WATCH = """
window.painted = 0
for (const name of ["stroke", "fill", "fillRect", "fillText"]) {
  const draw = CanvasRenderingContext2D.prototype[name]
  CanvasRenderingContext2D.prototype[name] = function (...all) {
    window.painted = performance.now(); return draw.apply(this, all)
  }
}
"""
# A choice as a hand makes it: in the browser's own list, wherever in the page's trees it stands.
CHOOSE = """([value]) => {
  const found = root => {
    for (const node of root.querySelectorAll("*")) {
      if (node.tagName === "SELECT" && [...node.options].some(one => one.value === value)) { return node }
      const within = node.shadowRoot && found(node.shadowRoot)
      if (within) { return within }
    }
  }
  window.list ??= found(document)
  window.list.value = value
  window.asked = performance.now(); window.painted = 0
  window.list.dispatchEvent(new Event("change"))
}"""
STILL = "() => window.painted > 0 && performance.now() - window.painted > 700"


@contextmanager
def bare(charts: int = 6) -> Iterator[str]:
    """Serve the bare app until the block ends; six charts are as many as the Load room has figures."""
    port = free_port()
    app = Path(__file__).with_name("bare_app.py")
    command = [sys.executable, "-m", "bokeh", "serve", str(app), "--port", str(port)]
    env = {**os.environ, "EVENHAND_BARE": str(charts)}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env)
    try:
        eventually(lambda: process.poll() is None and _answers(port), 60)
        yield f"http://127.0.0.1:{port}/bare_app"
    finally:
        process.terminate()
        process.wait(timeout=20)


def _answers(port: int) -> bool:
    import urllib.error
    import urllib.request

    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/bare_app", timeout=20) as answer:
            return answer.status == 200
    except (urllib.error.URLError, OSError):
        return False


def cold(browser: Any, address: str) -> tuple[float, Any]:
    """Open a page in a profile that has seen nothing; return ms until the last chart stood, and the page."""
    page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
    page.add_init_script(WATCH)
    page.goto(address)
    page.wait_for_function(STILL, timeout=90_000)
    return page.evaluate("() => window.painted"), page


def change(page: Any, value: str) -> float:
    """Choose another unit and return ms until the last chart was drawn anew."""
    page.evaluate(CHOOSE, [value])
    page.wait_for_function(STILL, timeout=60_000)
    return page.evaluate("() => window.painted - window.asked")


def main() -> None:
    """Print both ratios."""
    options = argparse.ArgumentParser()
    options.add_argument("--home", type=Path, required=True, help="data home of a full demo")
    options.add_argument("--rounds", type=int, default=7)
    given = options.parse_args()
    release = (given.home / "current.duckdb").resolve()
    if not release.is_file():
        from etl.home import Home

        release = Home(given.home).current_release
    units = ["team.T01", "team.T02", "team.T05", "team.T06"]
    opened: dict[str, list[float]] = {"bare": [], "four": [], "rooms": []}
    redrawn: dict[str, list[float]] = {"bare": [], "four": [], "rooms": []}
    with bare() as plain, bare(4) as four, served(release) as rooms, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        pages: dict[str, Any] = {}
        for _ in range(given.rounds):
            for name, address in (("bare", plain), ("four", four), ("rooms", f"{rooms}/?room=Load")):
                if name in pages:
                    pages[name].context.close()
                ms, pages[name] = cold(browser, address)
                opened[name].append(ms)
        for number in range(given.rounds * 2):
            for name, page in pages.items():
                redrawn[name].append(change(page, units[number % len(units)]))
        browser.close()
    for title, figures, reach in (("first room, cold", opened, 1.8), ("choice to redraw", redrawn, 1.5)):
        bare_ms, four_ms, ms = (median(figures[name]) for name in ("bare", "four", "rooms"))
        print(
            f"{title:18} bare {bare_ms:5.0f} ms   rooms {ms:5.0f} ms   ratio {ms / bare_ms:5.2f} "
            f"(reach {reach})   beside a bare app of only four charts, {four_ms:.0f} ms: {ms / four_ms:.2f}"
        )
    print(f"load average {os.getloadavg()[0]:.1f}", time.strftime("measured %Y-%m-%d"))


if __name__ == "__main__":
    main()
