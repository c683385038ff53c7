"""Fixtures that several rooms' tests share."""

import os
from pathlib import Path

import pytest

from etl.home import Home


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Return a data home with the small demo, generated, loaded and released once a test process.

    Not audited, for speed: the auditor in its seat has tests of its own.
    """
    from dashboards.cli_demo import run_demo
    from dashboards.cli_progress import no_bar
    from dashboards.cli_release import Audit

    place = Home(tmp_path_factory.mktemp("demo"))
    run_demo(place, "small", 20261, no_bar, Audit.NONE)
    return place


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
