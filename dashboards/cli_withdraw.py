"""Commands that take persons or old rows out of the person store."""

import sys
from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import progress_bar, say
from etl.errors import EvenhandError


def withdraw(
    person: Annotated[
        str | None,
        typer.Argument(help="Pseudonym; '-' reads it from standard input.", metavar="PSEUDONYM"),
    ] = None,
    again: Annotated[
        bool, typer.Option("--again", help="After restoring a backup: take withdrawn persons out again.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Remove a person from the person store for good; published editions stay as they are.

    Example: evenhand withdraw - < pseudonym.txt
    """
    from etl.withdraw import withdraw as take_out
    from etl.withdraw import withdraw_again

    if again == (person is not None):
        raise EvenhandError(
            "Name one pseudonym, or --again alone", "evenhand withdraw", "See 'evenhand withdraw --help'."
        )
    with progress_bar("Withdrawal") as progress:
        if person is None:
            summary = withdraw_again(home_of(home), progress=progress)
        else:
            # Read from a pipe, a pseudonym stays out of the shell's history and the list of processes.
            named = sys.stdin.readline().strip() if person == "-" else person
            summary = take_out(home_of(home), named, progress=progress)
    say(str(summary) if summary else "No withdrawn person is in the person store.")
    if summary and not summary.complete:
        raise typer.Exit(code=1)


def retain(
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only count what would be removed.")] = False,
    home: HomeOption = None,
) -> None:
    """Remove person-level rows older than the institute keeps them (setting retention.person_months).

    Example: evenhand retain --dry-run
    """
    from etl.retain import retain as apply

    with progress_bar("Retention") as progress:
        summary = apply(home_of(home), dry_run=dry_run, progress=progress)
    say(str(summary))
