"""The invented Fernhollow Institute from one seed: what its sites export, and where the files lie."""

import argparse
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from demo_data import truth
from demo_data.dialect import PROFILE_OF, PROFILES
from demo_data.dirt import plant
from demo_data.export import write_refused, write_sheet
from demo_data.strokes import logged
from demo_data.world import clean_sheets, streams, world

_LOAD_ORDER = (
    "teams",
    "people",
    "instruments",
    "stations",
    "observations",
    "bouts",
    "strokes",
    "diaries",
    "surveys",
    "changes",
    "hours",
)
INSTITUTE = "Fernhollow Institute"
_PROFILE_ORDER = tuple(dict.fromkeys(PROFILE_OF.values()))
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class DemoSummary:
    """What was generated.

    Attributes
    ----------
    files : tuple of Path
        Files to load, in load order.
    rows : dict of str to int
        Rows written by contract; answers, where a wide survey holds several a line.
    seconds : float
        Time taken.
    institute : str
        Name of the invented institute.
    first_month, last_month : str
        First and last month of the history, such as ``2026-10``.
    """

    files: tuple[Path, ...]
    rows: dict[str, int]
    seconds: float
    institute: str
    first_month: str
    last_month: str


def generate(
    out: Path, *, seed: int = 20261, scale: str = "full", progress: Progress | None = None
) -> DemoSummary:
    """Write the demonstration data and its truth; the same seed gives the same bytes.

    Parameters
    ----------
    out : Path
        Folder to fill; created where missing.
    seed : int, default 20261
        Seed of everything.
    scale : {'full', 'small'}, default 'full'
        ``full``: 16 teams, 36 months, about 1.5 million bouts. ``small``: 8 teams, 15 months, for tests.
    progress : callable, optional
        Called with what is being done, steps done and steps in all.

    Returns
    -------
    DemoSummary
        Files, rows and seconds.

    Raises
    ------
    ValueError
        If ``scale`` is unknown.
    """
    began = time.perf_counter()
    tell = progress or (lambda _what, _done, _all: None)
    tell("drawing people, work and health", 0, 1)
    rng = streams(seed)
    found = world(scale, rng)
    sheets = list(clean_sheets(found, rng))
    counts, rows = {}, Counter[str]()
    for number, sheet in enumerate(sheets):
        tell(sheet.name, number, len(sheets))
        table, planted = plant(sheet, rng["dirt"])
        write_sheet(sheet, table, out)
        counts[sheet.name] = truth.sheet_counts(sheet, planted)
        rows[sheet.contract] += counts[sheet.name]["rows_in"]
    write_refused(next(sheet for sheet in sheets if sheet.contract == "bouts"), out)
    truth.write_truth(
        {
            "seed": seed, "scale": scale,
            "months": [str(month) for month in found.plan.month_list],
            "effects": truth.effects(),
            "changes": truth.change_truth(found.plan, found.changes, found.staff, found.dose, found.health),
            "response": truth.response_model(found.plan, found.health),
            "story": truth.story(found.plan, found.dose, found.health),
            "files": counts,
            "bouts_true": int(found.bouts.start.size),
            "bouts_told_as_strokes": int(logged(found.plan, found.bouts).sum()),
            "people": int(found.staff.drive.size), "spells": len(found.staff.spells),
        },
        out,
    )  # fmt: skip
    tell("done", len(sheets), len(sheets))
    months = [str(month)[:7] for month in found.plan.month_list]
    return DemoSummary(
        tuple(path for path, _ in files(out)), dict(rows), time.perf_counter() - began,
        INSTITUTE, months[0], months[-1],
    )  # fmt: skip


def files(out: Path) -> list[tuple[Path, Path]]:
    """List the generated files with the profile of each, in the order in which they must be loaded.

    Parameters
    ----------
    out : Path
        A folder filled by `generate`.

    Returns
    -------
    list of tuple of Path
        File and profile. All files of a profile stand together, the institute's registers first; within a
        profile registers come before logs and logs before surveys.
    """
    found = []
    for place, (site, profile) in enumerate(PROFILE_OF.items()):
        for path in sorted((out / site.lower()).glob("*.*")):
            contract = path.stem.split("_")[1].replace("survey", "surveys")
            rank = _PROFILE_ORDER.index(profile), _LOAD_ORDER.index(contract), place, path
            found.append((rank, PROFILES / f"{profile}.toml"))
    return [(rank[-1], profile) for rank, profile in sorted(found)]


def main() -> None:
    """Generate from the command line: ``python -m demo_data.generate FOLDER``."""
    parser = argparse.ArgumentParser(description="Generate the demonstration data of an invented institute.")
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=20261)
    parser.add_argument("--scale", choices=("full", "small"), default="full")
    given = parser.parse_args()
    done = generate(given.out, seed=given.seed, scale=given.scale)
    for contract, rows in done.rows.items():
        print(f"{contract:12} {rows:>10,} rows")
    print(f"{len(done.files)} files in {done.seconds:.1f} s")


if __name__ == "__main__":
    main()
