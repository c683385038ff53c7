"""The small demonstration, generated once for all tests of this room."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from demo_data.generate import DemoSummary, generate
from demo_data.world import World, streams, world

SEED = 20261


@dataclass(frozen=True)
class Demo:
    """A generated folder, what the generator said about it, and its truth."""

    out: Path
    summary: DemoSummary
    truth: dict[str, Any]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """Return the small demo on disk."""
    out = tmp_path_factory.mktemp("small-demo")
    summary = generate(out, seed=SEED, scale="small")
    return Demo(out, summary, json.loads((out / "truth" / "truth.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def small() -> World:
    """Return the small demo's latent course, which no file holds."""
    return world("small", streams(SEED))
