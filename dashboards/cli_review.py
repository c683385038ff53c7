"""Commands of the data custodian's own review, on the person store; nothing of it is published."""

from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import progress_bar, say

app = typer.Typer(
    no_args_is_help=True,
    help="Look closer as the data custodian; nothing of it is published. "
    "Example: evenhand review postures --month 2026-10",
)


@app.callback()
def review() -> None:
    """Look closer as the data custodian; nothing of it is published.

    Example: evenhand review postures --month 2026-10
    """


@app.command()
def postures(
    month: Annotated[str, typer.Option("--month", help="Newest month of answers, such as 2026-10.")],
    home: HomeOption = None,
) -> None:
    """Hold walk-through postures beside discomfort of neck, shoulder and back: association, no cause.

    Example: evenhand review postures --month 2026-10
    """
    from etl.posture_words import posture_lines
    from etl.release_calendar import parse_month

    asked = parse_month(month)
    with progress_bar("Reviewing") as progress:
        lines = posture_lines(home_of(home), asked, progress)
    say("\n".join(lines))
