"""A notebook served as a page, as ``panel serve`` does it: the same view with the same numbers, no kernel."""

import os
import re
import subprocess
import sys
import urllib.request
from pathlib import Path
from typing import Any

import pytest

from etl.home import Home
from etl.release_door import open_release
from tests.support.serve import eventually, free_port

NOTEBOOK = Path(__file__).resolve().parents[2] / "dashboards" / "notebooks" / "team_load.ipynb"


def answers(address: str) -> bool:
    try:
        # The server runs the notebook before it answers.
        with urllib.request.urlopen(address, timeout=60) as answer:
            return answer.status == 200
    except OSError:
        return False


@pytest.mark.browser
def test_a_served_notebook_shows_the_released_hours(chromium: Any, demo_home: Home, tmp_path: Path) -> None:
    port = free_port()
    log = (tmp_path / "served.log").open("w")
    process = subprocess.Popen(
        [sys.executable, "-m", "panel", "serve", str(NOTEBOOK), "--port", str(port), "--address", "127.0.0.1",
         "--allow-websocket-origin", f"127.0.0.1:{port}"],
        env={**os.environ, "EVENHAND_HOME": str(demo_home.root)},
        stdout=log,
        stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        address = f"http://127.0.0.1:{port}/{NOTEBOOK.stem}"
        eventually(lambda: answers(address), 120, (tmp_path / "served.log").read_text)
        page = chromium.new_page()
        page.goto(address)
        rows = open_release(demo_home).table(
            "exposure", level="organisation", measure="hours_per_week", period="2026-10"
        )
        hours = f"{rows['value'].iloc[0]:.1f} h a week"
        page.get_by_text(re.compile(re.escape(hours))).first.wait_for(timeout=90_000)
        page.close()
    finally:
        process.terminate()
        process.wait(timeout=20)
        log.close()
