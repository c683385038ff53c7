"""Commands for the data custodian: load files, rebuild facts, publish the contracts."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import progress_bar, say
from etl.errors import EvenhandError


class Engine(StrEnum):
    """Engines that reduce stroke events to buckets."""

    duckdb = "duckdb"
    spark = "spark"


def load(
    files: Annotated[list[Path], typer.Argument(help="CSV, Parquet or XLSX files.", metavar="FILE...")],
    profile: Annotated[Path, typer.Option("--profile", help="TOML profile of the files' own columns.")],
    source: Annotated[
        str | None, typer.Option("--as", help="Source of the profile, where file names do not tell.")
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Check everything, keep nothing.")] = False,
    units: Annotated[
        bool, typer.Option("--confirm-units", help="Forces and durations were looked at and are right.")
    ] = False,
    scale: Annotated[
        bool, typer.Option("--confirm-scale", help="Scores were looked at; 0 is no discomfort in all files.")
    ] = False,
    series: Annotated[
        bool, typer.Option("--confirm-series", help="Asked in another way than before, and that is settled.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Check files row by row and load what holds into the person store.

    Example: evenhand load exports/bouts_2026_q3.csv --profile demo_data/profiles/harbour.toml
    """
    from etl.load import load_files

    given = {"units": units, "scale": scale, "series": series}
    confirmed = [name for name, chosen in given.items() if chosen]
    with progress_bar("Loading") as progress:
        summary = load_files(
            home_of(home), files, profile, source=source, dry_run=dry_run, confirmed=confirmed,
            progress=progress,
        )  # fmt: skip
    say("\n".join(summary.lines()))
    if summary.refused:
        raise typer.Exit(code=summary.exit_code)


def take_back(
    file: Annotated[str, typer.Argument(help="Name of the file as loaded, or the start of its SHA-256.")],
    home: HomeOption = None,
) -> None:
    """Take a loaded file out of the person store, so that a corrected one can be loaded.

    Published editions stay as they are. Example: evenhand take-back bouts_2026_q3.csv
    """
    from etl.takeback import take_back as take

    say("\n".join(take(home_of(home), file).lines()))


def facts(
    events: Annotated[
        str | None,
        typer.Option("--events", help="Parquet file or folder of stroke events to read where it lies."),
    ] = None,
    zone: Annotated[
        str | None, typer.Option("--zone", help="Time zone of these events' days, such as Europe/Zurich.")
    ] = None,
    engine: Annotated[Engine, typer.Option("--engine", help="What reads the events.")] = Engine.duckdb,
    anew: Annotated[
        bool, typer.Option("--anew", help="Build everything, also what no file touched.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Bring exposure and symptom facts up to the loaded files and run the audits on them.

    Example: evenhand facts
    """
    from etl.audits import run_audits
    from etl.event_facts import read_in_place
    from etl.facts import build_facts
    from etl.facts_update import refresh_facts
    from etl.settings import load_settings
    from etl.store import open_store

    place = home_of(home)
    if not place.person_db.exists():
        raise EvenhandError("Nothing is loaded yet", str(place.person_db), "Run 'evenhand load' first.")
    if (events is None) != (zone is None):
        raise EvenhandError(
            "Events and their time zone go together", "evenhand facts", "Give both --events and --zone."
        )
    rules = load_settings(place.settings_file)
    with progress_bar("Facts") as progress, open_store(place, write=True) as con:
        if events is not None and zone is not None:
            say(str(read_in_place(place, con, rules, events, zone, engine.value, progress)))
        built = (build_facts if anew else refresh_facts)(con, rules, progress)
        findings = run_audits(con)
    say(str(built))
    for finding in findings:
        say(str(finding))
    if any(finding.severity == "stop" and finding.offenders for finding in findings):
        raise typer.Exit(code=1)


def bridge(
    old: Annotated[str, typer.Argument(help="Scale so far, such as NRS_0_10.")],
    new: Annotated[str, typer.Argument(help="Scale from now on, such as CR10.")],
    home: HomeOption = None,
) -> None:
    """Read the case mark of a new survey scale off people who answered on both in one month.

    Example: evenhand bridge NRS_0_10 CR10
    """
    from etl.case_rules import bridged_mark
    from etl.settings import load_settings
    from etl.store import open_store

    place = home_of(home)
    mark = load_settings(place.settings_file).symptoms.rules()[-1].case_score
    with open_store(place, write=False) as con:
        try:
            found, people = bridged_mark(con, old, new, mark)
        except ValueError as error:
            raise EvenhandError(
                str(error), f"bridge {old} {new}", "Ask both in one month, or begin a new series."
            ) from error
    say(
        f"{people} pairs of answers: {mark} on {old} reads as {found} on {new}. In the settings: "
        f'[[symptoms.series]] with since, scale = "{new}", case_score = {found}, bridged = true.'
    )


def contracts(
    to: Annotated[Path, typer.Option("--to", help="Folder to write to.")] = Path("schemas"),
) -> None:
    """Write each source's contract as a Frictionless Table Schema (open standard).

    Example: evenhand contracts --to schemas
    """
    from etl.contracts import write_schemas

    for path in write_schemas(to):
        say(str(path))
