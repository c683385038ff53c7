"""An invented release with every state a room must show: shown, hidden, empty, near, over, too few.

It stands in for a published edition in tests of the rooms. Values are drawn from a seeded generator
and are of no meaning.
"""

import importlib.resources
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd

from tests.support import (
    fake_changes,
    fake_dose,
    fake_drivers,
    fake_exposure,
    fake_health,
    fake_plan,
    fake_quality,
)


@dataclass
class FrameDoor:
    """A door over frames in memory, with the part of the release door the rooms use.

    Attributes
    ----------
    frames : dict of str to DataFrame
        Tables by name.
    """

    frames: dict[str, pd.DataFrame]

    def table(self, name: str, **equals: Any) -> pd.DataFrame:
        """Return rows of one table as a copy."""
        rows = self.frames[name]
        for column, value in equals.items():
            rows = rows[rows[column] == value]
        return rows.copy()


def write(path: Path, seed: int = 7) -> Path:
    """Write the invented release as a DuckDB file with the release tables of the product.

    Parameters
    ----------
    path : Path
        File to make.
    seed : int, default 7
        Seed of the invented values.

    Returns
    -------
    Path
        The file.
    """
    ddl = importlib.resources.files("etl").joinpath("sql/store/020_release.sql").read_text(encoding="utf-8")
    rng = np.random.default_rng(seed)
    with duckdb.connect(str(path)) as con:
        con.execute(ddl)
        for name, frame in _tables(rng).items():
            con.register("rows_in", frame)
            con.execute(f"insert into {name} by name select * from rows_in")
            con.unregister("rows_in")
    return path


def frames(path: Path) -> FrameDoor:
    """Return a door in memory over a written file, whose frames a test may change."""
    with duckdb.connect(str(path), read_only=True) as con:
        names = [r[0] for r in con.execute("select table_name from information_schema.tables").fetchall()]
        return FrameDoor({name: con.execute(f"select * from {name}").df() for name in names})


def _tables(rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    health = fake_health.health(rng)
    return {
        "edition": fake_quality.edition(),
        "unit": fake_quality.unit(),
        "health": health,
        "smooth": fake_health.smooth(health),
        "health_average": fake_health.average(rng),
        "trend": fake_health.trend(),
        "response": fake_health.response(rng),
        "exposure": fake_exposure.exposure(rng),
        "exposure_part": pd.concat([fake_exposure.parts(rng), fake_dose.classes()], ignore_index=True),
        "dose": fake_dose.dose(np.random.default_rng(11)),
        "station_fit": fake_dose.stations(),
        "change": fake_changes.change(),
        "change_reach": fake_changes.reach(),
        "change_effect": fake_changes.effect(),
        "change_event": fake_changes.event(),
        "change_check": fake_changes.check(),
        "change_history": fake_changes.history(),
        "change_adherence": fake_changes.adherence(),
        "plan_ground": fake_plan.ground(),
        "plan_reach": fake_plan.reach(),
        "plan": fake_plan.plan(),
        "plan_start": fake_plan.start(),
        "coverage": fake_exposure.coverage(rng),
        **fake_drivers.tables(),
        **fake_quality.quality(),
    }
