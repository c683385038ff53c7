"""Command that plans a change: how many teams, how many months, who first, at what cost."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import progress_bar, say
from etl.errors import EvenhandError

if TYPE_CHECKING:
    from etl.release_calendar import Month


def plan(
    region: Annotated[str, typer.Option("--region", help="Body region it is meant for.")] = "WRIST_HAND",
    fall: Annotated[
        float, typer.Option("--fall", min=1, max=50, help="Fall of prevalence hoped for, points.")
    ] = 5.0,
    teams: Annotated[
        int | None,
        typer.Option(
            "--teams", min=1, help="Teams changed; by default what finds the fall.", show_default=False
        ),
    ] = None,
    months: Annotated[
        int | None,
        typer.Option("--months", min=3, max=36, help="Months on either side.", show_default=False),
    ] = None,
    steps: Annotated[
        int, typer.Option("--steps", min=1, max=12, help="1: some teams first; more: one step after another.")
    ] = 1,
    apart: Annotated[int, typer.Option("--apart", min=3, max=12, help="Months between steps.")] = 3,
    cost: Annotated[
        float | None,
        typer.Option("--cost", min=0, help="Cost at one team.", show_default=False),
    ] = None,
    among: Annotated[str, typer.Option("--among", help="Teams that may be changed, T01;T02.")] = "",
    first: Annotated[str, typer.Option("--first", help="First start, such as 2027-03.")] = "",
    seed: Annotated[
        int | None,
        typer.Option("--seed", min=0, help="Seed of the lot; default: today.", show_default=False),
    ] = None,
    keep: Annotated[str, typer.Option("--keep", help="Keep the plan and its lot under this code.")] = "",
    title: Annotated[str, typer.Option("--title", help="What is done; goes with --keep.")] = "",
    home: HomeOption = None,
) -> None:
    """Plan a change from the site's own answers: reach, schedule by lot, cost of a case-month avoided.

    Example: evenhand plan --region NECK --fall 8 --cost 900 --keep TIMER-1 --title "Shared timer"
    """
    from etl.plan import plan_change
    from etl.plan_draft import Wish

    if bool(keep) != bool(title):
        raise EvenhandError("A plan is kept with a title", "evenhand plan", "Give both --keep and --title.")
    now = datetime.now(UTC)
    lot = int(f"{now:%Y%m%d}") if seed is None else seed
    wish = Wish(fall / 100, teams, months, steps, apart, cost, lot, _listed(among), _month(first))
    with progress_bar("Planning") as progress:
        lines = plan_change(home_of(home), region, wish, now, keep=(keep, title), progress=progress)
    say("\n".join(lines))


def _listed(text: str) -> "tuple[str, ...]":
    return tuple(part.strip() for part in text.replace(",", ";").split(";") if part.strip())


def _month(text: str) -> "Month | None":
    from etl.release_calendar import parse_month

    return parse_month(text) if text else None
