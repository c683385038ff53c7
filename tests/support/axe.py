"""The accessibility checker axe-core, read from a local file: `.ci/run` puts it there from its package."""

import os
from pathlib import Path
from typing import Any

import pytest

PLACE = Path(__file__).parents[2] / ".axe" / "package" / "axe.min.js"
# Marks of the project's own goal: nothing that bars somebody or makes it hard.
GRAVE = ("serious", "critical")


def source() -> str:
    """Return the checker's text; without it skip, or fail where CI is set."""
    path = Path(os.environ.get("EVENHAND_AXE", PLACE))
    if not path.is_file():
        message = f"no axe-core at {path}; set EVENHAND_AXE, or run .ci/run, which fetches it"
        if os.environ.get("CI") == "true":
            pytest.fail(message)
        pytest.skip(message)
    return path.read_text(encoding="utf-8")


def grave(page: Any) -> list[str]:
    """Return what is wrong with the page as it stands, each finding one line.

    Parameters
    ----------
    page : playwright.sync_api.Page
        A page that has run :func:`source`.

    Returns
    -------
    list of str
        Rule, help and place of each serious or critical finding.
    """
    found = page.evaluate("async () => (await axe.run({resultTypes: ['violations']})).violations")
    return [
        f"{finding['id']}: {finding['help']}: {node['html'][:160]}"
        for finding in found
        if finding["impact"] in GRAVE
        for node in finding["nodes"][:3]
    ]
