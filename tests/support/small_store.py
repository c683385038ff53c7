"""A small random institute straight in the core tables, and a release of it, for any test that needs one.

Nothing here goes through files: loading has tests of its own. Numbers are drawn from a seeded generator and
mean nothing.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd

from etl.home import Home
from etl.release import ReleaseSummary, make_releases
from etl.release_calendar import Month
from etl.settings import Settings
from etl.store import open_store
from tests.support.copied_home import copied_home

CLUSTERS = {"ANALYT": "Analytics", "CULTURE": "Cell culture", "PREP": "Sample preparation"}
TEAMS = {  # team: (cluster, people)
    "A-ONE": ("ANALYT", 21),
    "A-TWO": ("ANALYT", 15),
    "C-ONE": ("CULTURE", 16),
    "C-TWO": ("CULTURE", 14),
    "P-ONE": ("PREP", 24),
    "P-TWO": ("PREP", 7),
}
REGIONS = (
    "NECK", "SHOULDER", "UPPER_BACK", "ELBOW", "WRIST_HAND", "LOW_BACK", "HIP_THIGH", "KNEE", "ANKLE_FOOT",
)  # fmt: skip
TASKS = ("ALIQUOT", "DILUTE", "PLATE")
INSTRUMENTS = (  # code, kind, channels, plunger, blow-out, ejection in mN
    ("MAN-1", "MANUAL", 1, 9_000, 14_000, 21_000),
    ("MAN-2", "MANUAL", 1, 6_000, 9_000, 12_000),
    ("ELE-1", "ELECTRONIC", 1, 1_500, 1_500, 5_000),
    ("MUL-1", "MULTI_MANUAL", 8, 11_000, 16_000, None),
)
FIRST = Month(2025, 1)
MONTHS = 15
NOW = datetime(2026, 6, 15, 8, 0, tzinfo=UTC)
ZONE = "Europe/Zurich"


@dataclass(frozen=True)
class Frames:
    """Core tables of the invented institute as frames, without file and row numbers."""

    people: pd.DataFrame
    bouts: pd.DataFrame
    surveys: pd.DataFrame


def people_frame(rng: np.random.Generator) -> pd.DataFrame:
    """Return one spell a person, a few of them joining or leaving on the way."""
    rows = []
    for team, (_, size) in TEAMS.items():
        for k in range(size):
            joined = (
                FIRST.first_day if rng.random() > 0.05 else FIRST.plus(int(rng.integers(1, 10))).first_day
            )
            left = FIRST.plus(13).last_day if team == "P-ONE" and k < 2 else None
            rows.append((f"person-{team}-{k:02d}", team, joined, left, None))
    return pd.DataFrame(rows, columns=["person", "team", "valid_from", "valid_to", "age_band"])


def bouts_frame(people: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return two bouts on about three days a week, an hour or so each."""
    days = [
        FIRST.first_day + timedelta(days=k)
        for k in range((FIRST.plus(MONTHS).first_day - FIRST.first_day).days)
    ]
    days = [day for day in days if day.weekday() < 5]
    rows = []
    for spell in people.itertuples(index=False):
        for day in days:
            inside = spell.valid_from <= day and (spell.valid_to is None or day <= spell.valid_to)
            if not inside or rng.random() > 0.6:
                continue
            begin = datetime(day.year, day.month, day.day, 8, tzinfo=UTC)
            for hour in (0, 3):
                start = int(begin.timestamp()) + hour * 3600 + int(rng.integers(0, 1800))
                seconds = int(rng.integers(600, 5400))
                instrument = INSTRUMENTS[int(rng.integers(len(INSTRUMENTS)))][0]
                rows.append((
                    spell.person, start * 1_000_000, (start + seconds) * 1_000_000, ZONE,
                    TASKS[int(rng.integers(len(TASKS)))], instrument, seconds // 6, seconds // 30,
                ))  # fmt: skip
    columns = ["person", "start_us", "end_us", "tz", "task", "instrument", "strokes", "tips"]
    frame = pd.DataFrame(rows, columns=columns)
    return frame.assign(channels=1, volume_changes=0, station=None, hand="RIGHT")


def surveys_frame(
    people: pd.DataFrame, rng: np.random.Generator, response: float = 0.85, regions: tuple[str, ...] = REGIONS
) -> pd.DataFrame:
    """Return a monthly answer for every region of those who answered; lasting discomfort and some noise."""
    rows = []
    prone = {(p, r): rng.random() < 0.3 for p in people["person"] for r in regions}
    for k in range(MONTHS):
        month = FIRST.plus(k)
        for spell in people.itertuples(index=False):
            on_team = spell.valid_from <= month.last_day and (
                spell.valid_to is None or month.first_day <= spell.valid_to
            )
            if not on_team or rng.random() > response:
                continue
            for region in regions:
                level = (
                    rng.integers(4, 9)
                    if prone[spell.person, region] and rng.random() < 0.85
                    else rng.integers(0, 4)
                )
                rows.append(
                    (spell.person, month.first_day, region, "NONE", int(level), bool(level > 6), "NRS_0_10")
                )
    columns = ["person", "month", "region", "side", "score", "hindered", "scale"]
    return pd.DataFrame(rows, columns=columns)


def frames(seed: int = 7) -> Frames:
    """Return the tables of a seeded institute."""
    rng = np.random.default_rng(seed)
    people = people_frame(rng)
    return Frames(people, bouts_frame(people, rng), surveys_frame(people, rng))


def changes_frame() -> pd.DataFrame:
    """Return two completed changes, one of them late enough to have no six months after it."""
    common = {
        "planned": date(2025, 5, 1),
        "target_regions": None,
        "expected_points": None,
        "adherence_percent": None,
    }
    rows = [
        {
            "change": "LIGHT",
            "title": "Lighter instruments",
            "kind": "INSTRUMENT",
            "control_level": "ENGINEERING",
            "team": "C-ONE",
            "started": date(2025, 7, 7),
            "completed": date(2025, 7, 31),
            "why": "highest thumb force",
            "chosen_on_outcome": False,
            "cost": 12_000.0,
            "owner_role": "ergonomist",
            "status": "COMPLETE",
        },
        {
            "change": "PAUSE",
            "title": "Short rests",
            "kind": "MICRO_BREAKS",
            "control_level": "ADMINISTRATIVE",
            "team": "A-ONE",
            "started": date(2026, 1, 12),
            "completed": date(2026, 1, 30),
            "why": "long spells",
            "chosen_on_outcome": True,
            "cost": None,
            "owner_role": "team lead",
            "status": "COMPLETE",
        },
    ]
    return pd.DataFrame([common | row for row in rows])


def _insert(con: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame, file_id: int) -> None:
    numbered = frame.reset_index(drop=True)
    numbered.insert(0, "row_number", range(1, len(numbered) + 1))
    numbered.insert(0, "file_id", file_id)
    con.register("incoming", numbered)
    con.execute(f"insert into core.{table} by name select * from incoming")
    con.unregister("incoming")
    con.execute(
        "insert into core.file_ledger by name select ? as file_id, ? as contract, ? as source, "
        "'test' as profile, ? as file_name, ? as file_sha256, ? as rows_in, ? as rows_accepted, "
        "0 as rows_set_aside, "
        "? as content_checksum, timestamp '2026-06-01' as loaded_at",
        [file_id, table, table, f"{table}.csv", f"{table}-{file_id}", len(frame), len(frame), str(file_id)],
    )


def add_rows(home: Home, table: str, frame: pd.DataFrame) -> None:
    """Add rows to a core table the way another file would."""
    with open_store(home, write=True) as con:
        last = con.execute("select coalesce(max(file_id), 0) from core.file_ledger").fetchall()[0][0]
        _insert(con, table, frame, last + 1)


def small_store(folder: Path, content: Frames | None = None, seed: int = 7) -> Home:
    """Fill the person store of a fresh data home.

    Parameters
    ----------
    folder : Path
        Where the data home goes.
    content : Frames, optional
        Tables to fill it with; by default a seeded institute.
    seed : int
        Seed of the institute.

    Returns
    -------
    Home
        The data home, nothing released yet.
    """
    if content is None:
        return copied_home(folder, f"store-{seed}", lambda place: _filled(Home(place), frames(seed)))
    return _filled(Home(folder), content)


def _filled(home: Home, made: Frames) -> Home:
    teams = pd.DataFrame(
        [(t, f"Team {t}", c, CLUSTERS[c], "SITE-A") for t, (c, _) in TEAMS.items()],
        columns=["team", "team_name", "cluster", "cluster_name", "site"],
    )
    instruments = pd.DataFrame(
        INSTRUMENTS, columns=["instrument", "kind", "channels", "plunger_mn", "blow_out_mn", "ejection_mn"]
    ).assign(press_ms=300, eject_ms=200)
    changes = changes_frame()
    hours = pd.DataFrame(
        [(t, FIRST.plus(k).first_day, 140.0 * n, int(k % 5 == 0), int(k % 10 == 0))
         for t, (_, n) in TEAMS.items() for k in range(MONTHS)],
        columns=["team", "month", "hours_worked", "recordable_cases", "lost_time_cases"],
    )  # fmt: skip
    tables = {
        "teams": teams, "people": made.people, "instruments": instruments, "bouts": made.bouts,
        "surveys": made.surveys, "changes": changes, "hours": hours,
    }  # fmt: skip
    with open_store(home, write=True) as con:
        for number, (table, frame) in enumerate(tables.items(), start=1):
            _insert(con, table, frame, number)
    return home


def small_release(
    folder: Path,
    editions: int = MONTHS,
    *,
    content: Frames | None = None,
    seed: int = 7,
    settings: Settings | None = None,
) -> Home:
    """Fill a data home and publish its first months.

    Parameters
    ----------
    folder : Path
        Where the data home goes.
    editions : int
        Number of months to publish, from January 2025.
    content : Frames, optional
        Tables to fill the store with.
    seed : int
        Seed of the institute.
    settings : Settings, optional
        Settings; by default the usual ones.

    Returns
    -------
    Home
        The data home with that many editions.
    """
    if content is None and settings is None:
        return copied_home(
            folder,
            f"release-{seed}-{editions}",
            lambda place: _published(small_store(place, None, seed), editions),
        )
    return _published(small_store(folder, content, seed), editions, settings)


def _published(home: Home, editions: int, settings: Settings | None = None) -> Home:
    publish(home, FIRST, FIRST.plus(editions - 1), settings)
    return home


def publish(
    home: Home, first: Month, last: Month | None = None, settings: Settings | None = None
) -> tuple[ReleaseSummary, ...]:
    """Publish months at a fixed time of the clock."""
    return make_releases(home, str(first), str(last or first), settings=settings or Settings(), now=NOW)
