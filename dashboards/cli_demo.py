"""Command that runs the whole job on an invented institute."""

import shutil
from enum import StrEnum
from itertools import groupby
from pathlib import Path
from typing import Annotated

import typer

from dashboards.cli_options import PortOption, home_of
from dashboards.cli_progress import Progress, ProgressBar, progress_bar, say
from dashboards.cli_release import Audit, release_months
from etl.errors import EvenhandError
from etl.home import Home, default_root

MARK = "made-by-evenhand-demo"


class Scale(StrEnum):
    """Size of the invented institute."""

    FULL = "full"
    SMALL = "small"


def demo(
    scale: Annotated[
        Scale, typer.Option("--scale", help="full: 36 months, 1.5 million bouts; small: seconds.")
    ] = Scale.FULL,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the generator.")] = 20261,
    open_after: Annotated[bool, typer.Option("--open/--no-open", help="Serve the rooms when done.")] = False,
    audit: Annotated[
        Audit,
        typer.Option(
            "--audit",
            help="Which editions the exact auditor judges: those that close a quarter, each, or none.",
        ),
    ] = Audit.QUARTER,
    port: PortOption = 5006,
    home: Annotated[
        Path | None,
        typer.Option("--home", help="Data home; default: 'demo' below the usual one.", show_default=False),
    ] = None,
) -> None:
    """Invent an institute, load its messy files, publish every month, and (with --open) serve the rooms.

    Example: evenhand demo --scale small --open
    """
    place = home_of(home or default_root() / "demo")
    _clear_earlier_demo(place)
    run_demo(place, scale.value, seed, progress_bar, audit)
    say(f"Demo data and releases are in {place.root}")
    if open_after:
        from dashboards.serve import serve

        serve(place.current_release, port=port)
    else:
        say(f"Look at it with: evenhand open --home {place.root}")


def _clear_earlier_demo(place: Home) -> None:
    """Remove an earlier demo, and refuse any folder that this command did not make."""
    if place.root.exists() and any(place.root.iterdir()):
        if not (place.root / MARK).exists():
            raise EvenhandError(
                "The folder holds data that the demo did not make",
                str(place.root),
                "Name an empty folder with --home.",
            )
        shutil.rmtree(place.root)
    place.root.mkdir(parents=True, exist_ok=True)
    (place.root / MARK).write_text("This folder may be overwritten by 'evenhand demo'.\n", encoding="utf-8")


def run_demo(place: Home, scale: str, seed: int, bar: ProgressBar, audit: Audit = Audit.QUARTER) -> None:
    """Generate, load and release the invented institute.

    Parameters
    ----------
    place : Home
        An empty data home.
    scale : {"full", "small"}
        Size of the institute.
    seed : int
        Seed of the generator.
    bar : Callable[[str], AbstractContextManager[Progress]]
        Opens a progress bar for a phase.
    audit : Audit
        Which editions the auditor judges.
    """
    from demo_data import generate as generator

    raw = place.root / "raw"
    with bar("Inventing the institute") as progress:
        made = generator.generate(raw, seed=seed, scale=scale, progress=progress)
    # The invented history is longer than the default retention, so that every month can be looked into.
    place.settings_file.write_text(
        f'institute = "{made.institute}"\n[retention]\nperson_months = 40\n', encoding="utf-8"
    )
    with bar("Loading") as progress:
        say("\n".join(_load_all(place, generator.files(raw), progress)))
    summaries = release_months(place, made.first_month, made.last_month, audit, bar)
    say(str(summaries[-1]))
    say(summaries[-1].audit)


def _load_all(place: Home, files: list[tuple[Path, Path]], progress: Progress) -> list[str]:
    """Load every file with its profile, in order, and return the lines that tell what became of the rows."""
    from etl.load import load_files
    from etl.summary import LoadSummary

    records = []
    for profile, pairs in groupby(files, key=lambda pair: pair[1]):
        paths = [path for path, _ in pairs]
        progress(paths[0].name, len(records), len(files))
        records.extend(load_files(place, paths, profile).files)
    progress("", len(files), len(files))
    summary = LoadSummary(tuple(records))
    if summary.refused:
        raise EvenhandError(
            summary.refused[0].message, "demo", "This is a fault of the demo: please report it."
        )
    return [f"Loaded {len(records)} files of three sites.", summary.lines()[-1], *summary.reason_lines()]
