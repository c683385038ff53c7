"""Data homes that many tests start from: each is made once a process, and every test gets a copy."""

import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from etl.home import Home


def copied_home(folder: Path, name: str, make: Callable[[Path], Home]) -> Home:
    """Return a copy of a data home.

    Parameters
    ----------
    folder : Path
        Where the copy goes.
    name : str
        What stands for everything that `make` depends on.
    make : callable
        Makes the data home in a folder, and leaves it closed.

    Returns
    -------
    Home
        The copy, open to any change.
    """
    first = _kept() / name
    if not first.exists():
        unfinished = first.with_suffix(".making")
        shutil.rmtree(unfinished, ignore_errors=True)
        make(unfinished)
        unfinished.rename(first)
    shutil.copytree(first, folder, symlinks=True, dirs_exist_ok=True)
    return Home(folder)


@cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    # Held to the end of the process, which removes it.
    return tempfile.TemporaryDirectory(prefix="evenhand-tests-")


def _kept() -> Path:
    return Path(_folder().name)
