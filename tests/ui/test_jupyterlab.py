"""One notebook in a real JupyterLab: its kernel runs, a view draws itself, a widget is answered."""

import os
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from etl.home import Home
from etl.release_door import open_release
from tests.support.serve import eventually, free_port

NOTEBOOK = Path(__file__).resolve().parents[2] / "dashboards" / "notebooks" / "own_view.ipynb"


def answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=10) as answer:
            return answer.status == 200
    except OSError:
        return False


@pytest.fixture
def lab(demo_home: Home, tmp_path: Path) -> Iterator[str]:
    """Start JupyterLab over a copy of the notebook, with a home of its own."""
    folder, port = tmp_path / "work", free_port()
    folder.mkdir()
    shutil.copy(NOTEBOOK, folder)
    log = (tmp_path / "lab.log").open("w")
    private = {name: str(tmp_path / name.lower()) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR")}
    process = subprocess.Popen(
        [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ip=127.0.0.1",
         f"--port={port}", "--IdentityProvider.token=", f"--ServerApp.root_dir={folder}",
         "--LabApp.news_url=", "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate"],
        env={**os.environ, **private, "EVENHAND_HOME": str(demo_home.root), "HOME": str(tmp_path)},
        stdout=log,
        stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        address = f"http://127.0.0.1:{port}"
        eventually(lambda: answers(f"{address}/api"), 120, (tmp_path / "lab.log").read_text)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=30)
        log.close()


@pytest.mark.slow
@pytest.mark.browser
def test_a_notebook_runs_draws_and_answers(chromium: Any, lab: str, demo_home: Home) -> None:
    rows = open_release(demo_home).table("exposure", level="team", measure="hours_per_week", period="2026-10")
    page = chromium.new_page(viewport={"width": 1300, "height": 1000})
    outside: list[str] = []
    own = (lab, "data:", "blob:", "about:")
    page.on("request", lambda asked: None if asked.url.startswith(own) else outside.append(asked.url))
    page.goto(f"{lab}/lab/tree/{NOTEBOOK.name}")
    page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=90_000)
    page.get_by_text("| Idle").first.wait_for(timeout=90_000)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.locator(".lm-Menu-itemLabel").get_by_text("Run All Cells", exact=True).click()
    # The paper is the last cell's output. Only what is in sight is drawn, so walk up to the view.
    page.locator(".jp-OutputArea iframe").wait_for(timeout=120_000)
    choice = page.locator(".jp-OutputArea select")
    choice.wait_for(timeout=60_000)
    choice.scroll_into_view_if_needed()
    page.locator(".jp-OutputArea canvas").first.wait_for(timeout=60_000)
    # The widget: the table follows the chosen team.
    names = page.locator(".jp-OutputArea select option").all_inner_texts()
    known = rows.reset_index(drop=True)
    place = max(known.index[known["value"].notna() & (known.index > 0)])
    wanted = f"{known['value'][place]:.2f}"
    table = page.locator(".jp-OutputArea table").last

    def followed() -> bool:
        # A choice made before the kernel's channel stands is lost, so it is made again, from another one.
        choice.select_option(index=0)
        choice.select_option(index=int(place))
        page.wait_for_timeout(4_000)
        return wanted in table.inner_text() and names[place] in table.inner_text()

    eventually(followed, 90, table.inner_text)
    assert not outside
    page.close()
