"""Run README's first line in a fresh clone with an empty home, and read the demo's numbers off the page."""

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[1]
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+\S*")
LIMIT_SECONDS = 900


def wait_for_address(process: subprocess.Popen[str]) -> str:
    """Return the address that the command prints, or fail with what it printed."""
    assert process.stdout is not None
    printed: list[str] = []
    started = time.monotonic()
    for line in process.stdout:
        printed.append(line)
        print("   ", line, end="")
        found = ADDRESS.search(line)
        if found:
            return found.group().rstrip(".")
        if time.monotonic() - started > LIMIT_SECONDS:
            break
    raise SystemExit("README's first line printed no address:\n" + "".join(printed[-20:]))


def main() -> None:
    """Clone, run, look."""
    line = sys.argv[1]
    if not line or "\n" in line:
        raise SystemExit("README must hold exactly one run line")
    with tempfile.TemporaryDirectory() as folder:
        clone = Path(folder) / "clone"
        subprocess.run(["git", "clone", "-q", str(ROOT), str(clone)], check=True)
        environment = {**os.environ, "HOME": folder}
        environment.pop("EVENHAND_HOME", None)
        process = subprocess.Popen(
            ["bash", "-c", line],
            cwd=clone,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        try:
            address = wait_for_address(process)
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
                )
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                page.goto(address)
                page.get_by_text(re.compile(r"\d+\s?%")).first.wait_for(timeout=60_000)
                text = page.locator("body").inner_text()
                browser.close()
        finally:
            os.killpg(process.pid, signal.SIGTERM)
            process.wait(timeout=30)
    if "Fernhollow" not in text and "2026-10" not in text and "October 2026" not in text:
        raise SystemExit("The page opened but shows neither the demo institute nor its last month")
    print("README's first line ends with", address, "and the page shows the demo's numbers")


if __name__ == "__main__":
    main()
