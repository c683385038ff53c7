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
ADDRESS = re.compile(r"http://(?:127\.0\.0\.1|localhost):\d+/?")
NUMBER = re.compile(r"\d+ to \d+ % \(95 % interval\)")
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
                # These queries look into the shadow trees that the views keep their markup in.
                page.get_by_role("heading", level=1).first.wait_for(timeout=120_000)
                for words in (re.compile("Fernhollow Institute"), re.compile("October 2026"), NUMBER):
                    # What could be chosen stands in the lists unseen.
                    page.get_by_text(words).filter(visible=True).first.wait_for(timeout=60_000)
                browser.close()
        finally:
            os.killpg(process.pid, signal.SIGTERM)
            process.wait(timeout=30)
    print("README's first line ends with", address, "and the page shows the demo's numbers")


if __name__ == "__main__":
    main()
