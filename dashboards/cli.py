"""The ``evenhand`` command: one face among others, and the only one that may start loads and releases.

Nothing heavy is imported at module level, so that ``evenhand --help`` answers at once.
"""

import sys

import typer

from dashboards import (
    cli_brief,
    cli_change,
    cli_demo,
    cli_load,
    cli_open,
    cli_plan,
    cli_pseudonym,
    cli_release,
    cli_review,
    cli_withdraw,
)
from etl.errors import EvenhandError

app = typer.Typer(
    name="evenhand",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help=(
        "Shows, for groups and never for a person, how pipetting work loads hands and how discomfort moves. "
        "Example: evenhand demo --open"
    ),
)
app.command("demo")(cli_demo.demo)
app.command("load")(cli_load.load)
app.command("take-back")(cli_load.take_back)
app.command("facts")(cli_load.facts)
app.command("bridge")(cli_load.bridge)
app.command("contracts")(cli_load.contracts)
app.add_typer(cli_release.app, name="release")
app.add_typer(cli_change.app, name="change")
app.command("brief")(cli_brief.brief)
app.command("plan")(cli_plan.plan)
app.add_typer(cli_review.app, name="review")
app.command("open")(cli_open.open_rooms)
app.command("pseudonymise")(cli_pseudonym.pseudonymise)
app.command("rekey")(cli_pseudonym.rekey)
app.command("withdraw")(cli_withdraw.withdraw)
app.command("retain")(cli_withdraw.retain)


def main() -> None:
    """Run the command; a user's mistake prints one line and ends with exit code 1."""
    try:
        app()
    except EvenhandError as error:
        typer.echo(f"evenhand: {error}", err=True)
        sys.exit(1)
