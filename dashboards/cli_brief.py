"""Command that writes the monthly committee paper."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import say
from etl.errors import EvenhandError


class Form(StrEnum):
    """What the paper is written as."""

    PDF = "pdf"
    HTML = "html"


def brief(
    period: Annotated[str, typer.Option("--period", help="Month of the paper, such as 2026-10.")],
    to: Annotated[
        Form, typer.Option("--to", help="pdf: tagged, to print or send; html: one file.")
    ] = Form.PDF,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="File to write; default: evenhand_brief_MONTH in this folder.", show_default=False
        ),
    ] = None,
    home: HomeOption = None,
) -> None:
    """Write the committee paper of one month, two to four pages, from the published edition of that month.

    Example: evenhand brief --period 2026-10 --to pdf
    """
    from dashboards.brief.paper import brief_of
    from etl.release_door import pinned

    with pinned(home_of(home)) as release:
        paper = brief_of(release, period)
    target = out or Path(f"evenhand_brief_{period}.{to.value}")
    try:
        paper.save(target, to.value)
    except OSError as error:
        raise EvenhandError(
            f"The paper cannot be written: {error.strerror}", str(target), "Name another file with --out."
        ) from error
    say(f"{paper.brief.title}: {paper.brief.edition}, written to {target}")
