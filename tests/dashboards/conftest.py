"""The invented release, written once, and fresh readers of it."""

import shutil
from pathlib import Path

import duckdb
import pytest

from dashboards.data import ReleaseFrames
from dashboards.state import Chosen, RoomState
from etl.release_door import open_release
from tests.support import fake_release


@pytest.fixture(scope="session")
def release_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return fake_release.write(tmp_path_factory.mktemp("release") / "current.duckdb")


@pytest.fixture(scope="session")
def frames(release_file: Path) -> ReleaseFrames:
    return ReleaseFrames(open_release(release_file).pin())


@pytest.fixture
def state(frames: ReleaseFrames) -> RoomState:
    return RoomState(frames.choices())


@pytest.fixture
def chosen(state: RoomState) -> Chosen:
    return state.settings()


@pytest.fixture(scope="session")
def plain_file(release_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same release again: a file that is open hardened cannot be opened another way too."""
    return Path(shutil.copy(release_file, tmp_path_factory.mktemp("plain") / "release.duckdb"))


@pytest.fixture
def door(plain_file: Path) -> fake_release.FrameDoor:
    """A door whose frames a test may change."""
    return fake_release.frames(plain_file)


@pytest.fixture(scope="session")
def sql(plain_file: Path):
    """Read the release past our own code: plain SQL over the file."""

    def ask(query: str, *values: object) -> list[tuple]:
        with duckdb.connect(str(plain_file), read_only=True) as con:
            return con.execute(query, list(values)).fetchall()

    return ask
