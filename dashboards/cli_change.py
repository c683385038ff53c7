"""Commands for the register of changes."""

from datetime import UTC, date, datetime
from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import say
from etl.errors import EvenhandError

app = typer.Typer(
    no_args_is_help=True,
    help="Register what is changed, where, when and why. Example: evenhand change list",
)

CodeArgument = Annotated[str, typer.Argument(help="Code of the change.", metavar="CODE")]


@app.command()
def add(
    change: CodeArgument,
    title: Annotated[str, typer.Option("--title", help="What is done; one title is one change.")],
    team: Annotated[str, typer.Option("--team", help="Code of the team.")],
    kind: Annotated[str, typer.Option("--kind", help="Kind, such as INSTRUMENT or MICRO_BREAKS.")],
    control_level: Annotated[str, typer.Option("--control", help="Level in the hierarchy of controls.")],
    why: Annotated[str, typer.Option("--why", help="Why here and now.")],
    owner_role: Annotated[str, typer.Option("--owner", help="Role that owns it, not a person.")],
    chosen: Annotated[
        bool, typer.Option("--chosen-on-outcome/--not-chosen-on-outcome", help="Chosen for its discomfort?")
    ],
    planned: Annotated[str, typer.Option("--planned", help="Day planned, such as 2026-10-01.")] = "",
    started: Annotated[str, typer.Option("--started", help="Day work on it began.")] = "",
    completed: Annotated[str, typer.Option("--completed", help="Day it was in place.")] = "",
    regions: Annotated[
        str, typer.Option("--regions", help="Target body regions, separated by a semicolon.")
    ] = "",
    expected: Annotated[str, typer.Option("--expected", help="Expected fall of prevalence, points.")] = "",
    cost: Annotated[str, typer.Option("--cost", help="Cost in local currency.")] = "",
    allocation: Annotated[
        str, typer.Option("--allocation", help="CHOICE, or by lot: LOT_TEAMS or LOT_ORDER (of the starts).")
    ] = "",
    lot: Annotated[str, typer.Option("--lot", help="Where the lot is on record: a kept plan's code.")] = "",
    home: HomeOption = None,
) -> None:
    """Enter a change; target regions and expected effect are written down before the start.

    Example: evenhand change add BREAKS-1 --title "Shared timer" --team T03 --kind MICRO_BREAKS
    --control ADMINISTRATIVE --why "Long spells" --owner Ergonomist --not-chosen-on-outcome --regions NECK
    """
    from etl.register import add_change

    status = "COMPLETE" if completed else "STARTED" if started else "PLANNED"
    entry = {
        "change": change, "title": title, "team": team, "kind": kind, "control_level": control_level,
        "why": why, "owner_role": owner_role, "chosen_on_outcome": str(chosen).lower(), "planned": planned,
        "started": started, "completed": completed, "target_regions": regions, "expected_points": expected,
        "cost": cost, "allocation": allocation, "lot": lot, "status": status,
    }  # fmt: skip
    say(str(add_change(home_of(home), entry, datetime.now(UTC))))


@app.command("list")
def listed(home: HomeOption = None) -> None:
    """List the register, oldest first.

    Example: evenhand change list
    """
    from etl.register import entries

    found = entries(home_of(home))
    say("\n".join(map(str, found)) if found else "No change is registered.")


@app.command()
def update(
    change: CodeArgument,
    started: Annotated[str | None, typer.Option("--started", help="Day work on it began.")] = None,
    adherence: Annotated[
        float | None, typer.Option("--adherence", help="Share that works the new way, %.")
    ] = None,
    month: Annotated[
        str | None, typer.Option("--month", help="Month in which that share was found, 2026-10.")
    ] = None,
    cost: Annotated[float | None, typer.Option("--cost", help="Cost in local currency.")] = None,
    home: HomeOption = None,
) -> None:
    """Bring a change up to date; what it said before is kept.

    Example: evenhand change update BREAKS-1 --started 2026-10-05 --adherence 60 --month 2026-10
    """
    from etl.register import update_change

    begun = _day(started)
    kept = update_change(
        home_of(home), change, datetime.now(UTC), status="STARTED" if begun else None, started=begun,
        adherence_percent=adherence, month=_day(f"{month}-01" if month else None), cost=cost,
    )  # fmt: skip
    say(str(kept))


@app.command()
def close(
    change: CodeArgument,
    completed: Annotated[str | None, typer.Option("--completed", help="Day it was in place.")] = None,
    dropped: Annotated[bool, typer.Option("--dropped", help="Given up; it is not judged.")] = False,
    adherence: Annotated[
        float | None, typer.Option("--adherence", help="Share that works the new way, %.")
    ] = None,
    home: HomeOption = None,
) -> None:
    """Close a change: complete, or dropped.

    Example: evenhand change close BREAKS-1 --completed 2026-10-30 --adherence 60
    """
    from etl.register import update_change

    if dropped == (completed is not None):
        raise EvenhandError(
            "Give the day it was complete, or --dropped", "evenhand change close", "One of the two."
        )
    kept = update_change(
        home_of(home), change, datetime.now(UTC), status="DROPPED" if dropped else "COMPLETE",
        completed=_day(completed), adherence_percent=adherence,
    )  # fmt: skip
    say(str(kept))


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise EvenhandError(f"{text!r} is no day", "evenhand change", "Write it as 2026-10-01.") from error
