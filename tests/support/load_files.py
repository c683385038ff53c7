"""A small clean institute as CSV files, and a profile in the contracts' own notation."""

import atexit
import csv
import datetime as dt
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path

from etl.contracts import CONTRACTS, Field
from etl.home import Home
from etl.load import load_files
from etl.store import open_store
from etl.summary import LoadSummary

NOW = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
PROFILE_HEAD = 'profile = "plain"\ntime_zone = "Europe/Zurich"\n'
SURVEY_COLUMNS = ("person", "month", "region", "side", "score", "hindered", "scale")
Row = dict[str, str]

UNITS = {"force": "N", "duration": "s", "mass": "g", "length": "mm"}


def _plain_fields(name: str) -> list[Field]:
    """Return the fields that plain files carry: a survey's optional items have tests of their own."""
    fields = CONTRACTS[name].fields
    return [f for f in fields if name != "surveys" or f.name in SURVEY_COLUMNS]


def plain_profile(head: str = PROFILE_HEAD, contracts: Iterable[str] = CONTRACTS) -> str:
    """Return a profile whose columns are the contracts' own fields."""
    lines = [head]
    for name in contracts:
        lines += [f"[sources.{name}]", f'contract = "{name}"', f'files = ["{name}*"]']
        lines.append(f"[sources.{name}.fields]")
        for field in _plain_fields(name):
            unit = f', unit = "{field.unit}"' if field.kind == "quantity" else ""
            lines.append(f'{field.name} = {{ column = "{field.name}"{unit} }}')
    return "\n".join(lines) + "\n"


def people() -> list[str]:
    """Return the pseudonyms of the small institute."""
    return [f"p{i:03d}" for i in range(40)]


def registers() -> dict[str, list[Row]]:
    """Return clean rows of the registers."""
    return {
        "teams": [
            {"team": f"T{i}", "team_name": f"Team {i}", "cluster": "C1",
             "cluster_name": "Cluster", "site": "S1"}
            for i in range(4)
        ],
        "people": [
            {"person": p, "team": f"T{i % 4}", "valid_from": "2025-01-01", "valid_to": "", "age_band": ""}
            for i, p in enumerate(people())
        ],
        "instruments": [
            {"instrument": "P200", "kind": "MANUAL", "channels": "1", "plunger_force": "9.5",
             "blow_out_force": "19.6133", "tip_mount_force": "", "ejection_force": "25",
             "volume_change_force": "", "press_duration": "0.8", "eject_duration": "0.5", "mass": "90",
             "length": "240"},
            {"instrument": "E10", "kind": "ELECTRONIC", "channels": "8", "plunger_force": "4",
             "blow_out_force": "4", "tip_mount_force": "", "ejection_force": "8", "volume_change_force": "",
             "press_duration": "0.3", "eject_duration": "0.3", "mass": "150.5", "length": "260"},
        ],
        "stations": [
            {"station": f"B{i}", "team": "T1", "observed_on": "2026-02-03", "bench_height": "900",
             "edge_thickness": "30", "chair_min": "450", "chair_max": "700", "foot_support": "yes",
             "cut_out": "no", "hood_sash": ""}
            for i in range(5)
        ],
    }  # fmt: skip


def bouts(count: int = 400) -> list[Row]:
    """Return clean bouts in local time, on days without a change of clocks."""
    rows = []
    for i in range(count):
        start = dt.datetime(2026, 5, 4, 8) + dt.timedelta(days=(i // 40) % 5, minutes=30 * (i // 200))
        end = start + dt.timedelta(minutes=10 + i % 15)
        rows.append(
            {"person": people()[i % 40], "start": start.strftime("%Y-%m-%d %H:%M"),
             "end": end.strftime("%Y-%m-%d %H:%M:%S"), "task": ("PCR", "ELISA")[i % 2],
             "instrument": ("P200", "E10")[i % 2], "strokes": str(50 + i), "tips": str(i % 90),
             "channels": "1", "volume_changes": "", "station": "B1", "hand": "RIGHT"}
        )  # fmt: skip
    return rows


def surveys(count: int = 400) -> list[Row]:
    """Return clean long survey answers."""
    regions = CONTRACTS["surveys"].field("region").choices
    return [
        {"person": people()[i % 40], "month": "2026-05", "region": regions[(i // 40) % 9], "side": "NONE",
         "score": "" if i % 17 == 0 else str(i % 11), "hindered": "0", "scale": "NRS_0_10"}
        for i in range(min(count, 360))
    ]  # fmt: skip


def everything() -> dict[str, list[Row]]:
    """Return clean rows of every contract."""
    return {
        **registers(),
        "bouts": bouts(),
        "strokes": [
            {"person": "p001", "at": f"2026-05-04T09:{i // 60:02d}:{i % 60:02d}Z", "instrument": "P200",
             "action": "ASPIRATE"}
            for i in range(300)
        ],
        "observations": [
            {"station": "B1", "observed_on": "2026-03-02", "posture": posture, "share_percent": "40",
             "watched": "0.5"}
            for posture in ("NECK_BENT", "ARM_RAISED")
        ],
        "diaries": [
            {"person": p, "month": "2026-05", "report": report, "hours_per_week": "6.5"}
            for p in people()[25:37] for report in ("1", "2")
        ],
        "surveys": surveys(),
        "changes": [
            {"change": "CH1", "title": "Lighter instruments", "kind": "INSTRUMENT",
             "control_level": "ENGINEERING", "team": "T1", "planned": "2026-01-10", "started": "2026-02-01",
             "completed": "", "why": "most strokes", "chosen_on_outcome": "no",
             "target_regions": "NECK;WRIST_HAND", "expected_points": "5", "adherence_percent": "",
             "cost": "1200", "owner_role": "Ergonomist", "status": "STARTED", "allocation": "",
             "lot": ""},
        ],
        "hours": [
            {"team": f"T{i}", "month": "2026-05", "hours_worked": "1600.5", "recordable_cases": "1",
             "lost_time_cases": "0"}
            for i in range(4)
        ],
    }  # fmt: skip


def write_csv(path: Path, rows: Sequence[Mapping[str, str]]) -> Path:
    """Write rows as CSV with the header of the first row."""
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return path


def write_all(folder: Path, tables: Mapping[str, Sequence[Mapping[str, str]]]) -> list[Path]:
    """Write one CSV file a contract."""
    folder.mkdir(parents=True, exist_ok=True)
    return [write_csv(folder / f"{name}.csv", rows) for name, rows in tables.items()]


def write_profile(folder: Path, text: str | None = None) -> Path:
    """Write a profile, by default the plain one."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "profile.toml"
    path.write_text(text or plain_profile(), encoding="utf-8")
    return path


@cache
def empty_home() -> Path:
    """Return a data home with an empty store; made once a process, because migrations take their time."""
    folder = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, folder)
    with open_store(Home(folder / "home"), write=True):
        return folder / "home"


def load(folder: Path, files: Sequence[Path], profile: str | None = None, **more) -> LoadSummary:
    """Load files into the data home ``folder/home`` at a fixed present time."""
    if not (folder / "home").exists():
        shutil.copytree(empty_home(), folder / "home")
    return load_files(Home(folder / "home"), files, write_profile(folder, profile), now=NOW, **more)


def home_before(contract: str, templates: Path, folder: Path) -> Path:
    """Return a data home in which everything `contract` refers to is loaded, copied from a template."""
    needed = [one for one in registers() if one != contract]
    template = templates / f"before-{contract}"
    if not template.exists():
        tables = {name: rows for name, rows in registers().items() if name in needed}
        load(template, write_all(template / "in", tables))
    shutil.copytree(template / "home", folder / "home")
    return folder


def load_table(folder: Path, contract: str, rows: Sequence[Mapping[str, str]], **more) -> LoadSummary:
    """Write one contract's rows and load them."""
    (folder / "in").mkdir(exist_ok=True)
    return load(folder, [write_csv(folder / "in" / f"{contract}.csv", rows)], **more)
