"""Dose figures and stations of the invented release."""

from datetime import date

import numpy as np
import pandas as pd

from tests.support.fake_places import MONTHS, SMALL, TEAMS, standing, units

FEW = "not shown: measured forces cover less than 50 % of the time"
MEASURES = {  # base, unit, guide, known, status
    "hours_per_year": (237.0, "h/year", 300.0, None, "published"),
    "rest_due": (71.0, "%", None, None, "common practice, no source"),
    "thumb_force": (41.0, "%MVC", 30.0, 83, "strength from memory"),
    "peak_force": (4.1, "of 10", 4.8, 72, "limit cross-checked"),
    "strain_index": (8.4, "index", 10.0, 72, "from memory"),
}


def dose(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, factor in units():
        for period in MONTHS[-3:]:
            for measure, (base, value_unit, guide, known, status) in MEASURES.items():
                value = base * factor * (1 + rng.normal(0, 0.03))
                why = SMALL if unit == "TINY" else FEW if unit == "PUR" and known else None
                numbers = (None, None, None) if why else (value, 0.9 * value, 1.1 * value)
                rows.append(
                    {
                        "edition": 28, "period": period, "period_kind": "month", "level": level, "unit": unit,
                        "measure": measure, "value": numbers[0], "low": numbers[1], "high": numbers[2],
                        "value_unit": value_unit, "n_band": None if why else "15-19", "guide": guide,
                        "standing": None if why else standing(value, guide), "method": f"dose.{measure}",
                        "reason": why, "known_percent": None if why else known,
                        "guide_words": "action limit <2.8>" if measure == "peak_force" else "",
                        "basis": "edition 2018, 50 % women & men", "status": status,
                    }
                )  # fmt: skip
    return pd.DataFrame(rows).astype({"known_percent": "Int64"})


def stations() -> pd.DataFrame:
    rows = []
    for period in MONTHS[-3:]:
        for number, team in enumerate(TEAMS):
            blank = dict.fromkeys(
                (
                    "standing_women", "standing_men", "seated_women", "seated_men", "either_low",
                    "either_high", "best_change", "best_posture", "best_after",
                )
            )  # fmt: skip
            seen = {
                "edition": 28, "period": period, "team": team, "station": f"{team}-B1",
                "observed_on": date(2026, 1, 5 + number), "bench_height_mm": 900.0 + number, "reason": None,
            }  # fmt: skip
            if number == 0:
                rows.append(
                    blank | seen | {"bench_height_mm": None, "reason": "not shown: bench height not measured"}
                )
            elif number == 1:
                rows.append(blank | seen | {"standing_women": 13, "standing_men": 0})
            else:
                fit = (13, 0, 50 + number, 52, 48, 48 + number)
                found = dict(zip(list(blank)[:6], fit, strict=True))
                best = {"best_change": "edge of 20 mm", "best_posture": "seated", "best_after": 80}
                rows.append(blank | seen | found | (best if number % 2 else {}))
    whole = [*list(blank)[:6], "best_after"]
    return pd.DataFrame(rows).astype(dict.fromkeys(whole, "Int64"))


def classes() -> pd.DataFrame:
    """Parts of the time by class of thumb force, one of them hidden in a team."""
    rows = []
    for level, unit, _ in units():
        for period in MONTHS[-3:]:
            for part, share in {"REST": 78, "5-10": 1, "30-50": 3, "70-100": 0, "UNKNOWN": 18}.items():
                why = SMALL if unit == "TINY" or (unit == "QC1" and part == "70-100") else None
                known = {"share_percent": share, "hours_per_person_week": share / 20, "n_band": "15-19"}
                rows.append(
                    {"edition": 28, "period": period, "level": level, "unit": unit, "part": part}
                    | {"part_kind": "force_class", "reason": why}
                    | (dict.fromkeys(known) if why else known)
                )
    return pd.DataFrame(rows)
