"""A store of people at stations of their own, whose neck hurts by the posture there, or does not."""

from datetime import date

import duckdb
import numpy as np

from etl.facts import build_facts
from etl.settings import Settings
from tests.support.person_rows import Answer, TeamSpell, bout, put


def watch(con: duckdb.DuckDBPyConnection, *rows: tuple) -> None:
    """Insert observations: station, day, posture, share in percent."""
    con.executemany("insert into core.observations values (9, 1, ?, ?, ?, ?, 0.5)", rows)


def world(
    con: duckdb.DuckDBPyConnection, log_odds_of_ten_points: float, seed: int,
    teams: int = 8, per_team: int = 6, months: int = 12,
) -> None:  # fmt: skip
    """People at stations of their own, discomfort by the posture there and nothing else."""
    rng = np.random.default_rng(seed)
    rows = []
    for team in range(teams):
        for place in range(per_team):
            person, station = f"p{team}-{place}", f"S{team}-{place}"
            share = rng.uniform(0, 80)
            watch(con, (station, date(2025, 1, 1), "NECK_BENT", share))
            rows.append(TeamSpell(person, f"T{team}", date(2020, 1, 1)))
            odds = np.exp(-2.2 + log_odds_of_ten_points * share / 10)
            for month in range(1, months + 1):
                day, until = f"2026-{month:02d}-05", 9 + int(rng.integers(1, 4))
                rows.append(bout(person, f"{day} 09:00:00", f"{day} {until:02d}:00:00", station=station))
                case = rng.random() < odds / (1 + odds)
                rows.append(Answer(person, date(2026, month, 1), "NECK", 6 if case else 0))
    put(con, rows)
    build_facts(con, Settings())
