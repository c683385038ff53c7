"""Options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

from etl.home import Home, default_root

HomeOption = Annotated[
    Path | None,
    typer.Option(
        "--home",
        help="Data home; default: $EVENHAND_HOME, else ~/.evenhand.",
        show_default=False,
    ),
]
PortOption = Annotated[int, typer.Option("--port", min=0, max=65535, help="Port; 0 takes a free one.")]


def home_of(root: Path | None) -> Home:
    """Return the data home that a command works on.

    Parameters
    ----------
    root : Path or None
        The folder named on the command line.

    Returns
    -------
    Home
        Paths below the named folder, or below the default one.
    """
    return Home((root or default_root()).expanduser().resolve())
