"""Fixtures that several rooms' tests share."""

import os
import shutil
import time
from pathlib import Path

import pytest

from etl.home import Home

# Longer than a small demo takes on a busy machine.
_PATIENCE_SECONDS = 600


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Return a data home with the small demo, generated, loaded and released once a test run.

    Not audited, for speed: the auditor in its seat has tests of its own. Processes that test side by side
    make it once; each gets a copy of its own.
    """
    place = Home(tmp_path_factory.mktemp("demo"))
    if "PYTEST_XDIST_WORKER" not in os.environ:
        _make_demo(place)
        return place
    shared = tmp_path_factory.getbasetemp().parent / "demo-of-all"
    made, failed = shared / "made", shared / "failed"
    try:
        shared.mkdir()
    except FileExistsError:
        end = time.monotonic() + _PATIENCE_SECONDS
        while not made.exists():
            assert not failed.exists(), "the demo could not be made, see the other process"
            assert time.monotonic() < end, f"no demo within {_PATIENCE_SECONDS} s"
            time.sleep(0.5)
    else:
        try:
            _make_demo(Home(shared / "home"))
            made.touch()
        except BaseException:
            failed.touch()
            raise
    shutil.copytree(shared / "home", place.root, symlinks=True, dirs_exist_ok=True)
    return place


def _make_demo(place: Home) -> None:
    from dashboards.cli_demo import run_demo
    from dashboards.cli_progress import no_bar
    from dashboards.cli_release import Audit

    run_demo(place, "small", 20261, no_bar, Audit.NONE)


@pytest.fixture(autouse=True)
def _no_home_of_the_developer(
    monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Keep tests away from the data home of whoever runs them."""
    monkeypatch.setenv("EVENHAND_HOME", str(tmp_path_factory.getbasetemp() / "unused-home"))
    for name in [name for name in os.environ if name.startswith(("PANEL_", "BOKEH_"))]:
        monkeypatch.delenv(name)


@pytest.fixture(scope="session")
def repository() -> Path:
    """Return the root of the source tree."""
    return Path(__file__).resolve().parents[1]
