"""Commands on the release: publish a period, list and show editions, verify the chain."""

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import ProgressBar, progress_bar, say, with_step_inside
from etl.errors import EvenhandError
from etl.home import Home

if TYPE_CHECKING:
    from etl.release import ReleaseSummary


class Audit(StrEnum):
    """Which editions the exact auditor judges before they are published."""

    EACH = "each"
    QUARTER = "quarter"
    NONE = "none"


app = typer.Typer(
    invoke_without_command=True,
    no_args_is_help=True,
    help="Publish a frozen edition of protected group numbers, or look at published ones. "
    "Example: evenhand release --period 2026-10",
)


@app.callback()
def release(
    context: typer.Context,
    period: Annotated[str | None, typer.Option("--period", help="Month to publish, such as 2026-10.")] = None,
    first: Annotated[
        str | None, typer.Option("--from", help="First month, to publish several in order.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="A remark kept with the edition.")] = None,
    audit: Annotated[
        Audit | None,
        typer.Option(
            "--audit",
            help="Search for answers that could be worked out, before publishing: at each edition (default), "
            "at those that close a quarter and the last (default with --from), or at none.",
            show_default=False,
        ),
    ] = None,
    home: HomeOption = None,
) -> None:
    """Publish one month, or every month from one to another.

    Example: evenhand release --period 2026-10
    """
    if context.invoked_subcommand is not None:
        return
    if period is None:
        raise EvenhandError("No period named", "evenhand release", "Name a month: --period 2026-10.")
    chosen = audit or (Audit.EACH if first is None else Audit.QUARTER)
    for summary in release_months(home_of(home), first or period, period, chosen, progress_bar, note):
        say(str(summary))
        say(summary.audit)


def release_months(
    place: Home, first: str, last: str, audit: Audit, bar: ProgressBar, note: str | None = None
) -> "tuple[ReleaseSummary, ...]":
    """Publish months with the exact auditor in its seat.

    Parameters
    ----------
    place : Home
        Data home.
    first, last : str
        Months, such as ``2026-10``.
    audit : Audit
        Which editions the auditor judges.
    bar : Callable[[str], AbstractContextManager[Progress]]
        Opens a progress bar for a phase.
    note : str, optional
        A remark kept with each edition.

    Returns
    -------
    tuple of ReleaseSummary
        What was published.
    """
    from etl.release import make_releases
    from etl.release_audit import exact_auditor
    from etl.release_audit_plan import AuditSchedule

    with bar("Releasing month by month" if first != last else "Releasing") as progress:
        months, search = with_step_inside(progress)
        options = {"progress": months, "note": note, "schedule": AuditSchedule(audit.value)}
        if audit is Audit.NONE:
            return make_releases(place, first, last, **options)
        with exact_auditor(search) as auditor:
            return make_releases(place, first, last, auditor=auditor, **options)


@app.command("list")
def list_editions(home: HomeOption = None) -> None:
    """List the published editions.

    Example: evenhand release list
    """
    from etl.release_door import open_release

    for edition in open_release(home_of(home)).editions():
        day = f"{edition.created_at:%Y-%m-%d}"
        say(f"{edition.edition:>4}  {edition.period}  {edition.content_hash[:16]}  {day}")


@app.command("show")
def show(
    edition: Annotated[int, typer.Argument(help="Edition number, as in 'evenhand release list'.")],
    home: HomeOption = None,
) -> None:
    """Show how many rows each table of an edition holds, and its audit report.

    Example: evenhand release show 36
    """
    from etl.release_door import open_release

    door = open_release(home_of(home))
    if edition not in {known.edition for known in door.editions()}:
        raise EvenhandError(
            f"No edition {edition}", "evenhand release show", "Run 'evenhand release list' to see them."
        )
    for name in door.tables():
        rows = len(door.table(name, edition=edition))
        say(f"{name:<20} {rows:>8} rows")
    for row in door.table("audit_report", edition=edition).to_dict("records"):
        say(f"{row['check_name']}: {row['sentence']}")


@app.command("verify")
def verify(home: HomeOption = None) -> None:
    """Recompute the hash chain of the published editions; fail if any number was altered.

    Example: evenhand release verify
    """
    from etl.release_chain import verify as verify_chain
    from etl.release_door import open_release

    open_release(home_of(home))  # Says what to do where nothing is published yet.
    verdict = verify_chain(home_of(home).current_release)
    if not verdict.intact:
        raise EvenhandError(
            str(verdict), "evenhand release verify", "Restore the release folder from a backup."
        )
    say(str(verdict))
