"""Exposure and coverage of the invented release."""

import numpy as np
import pandas as pd

from tests.support.fake_places import DOMINANT, MEASURES, MONTHS, SMALL, standing, units


def exposure(rng: np.random.Generator) -> pd.DataFrame:
    weeks = [f"2026-W{w:02d}" for w in range(20, 45)]
    rows = []
    for level, unit, factor in units():
        for measure, (base, value_unit, guide) in MEASURES.items():
            weekly = measure in ("hours_per_week", "strokes_per_week", "beyond_guide_share")
            periods = [(m, "month") for m in MONTHS] + ([(w, "week") for w in weeks] if weekly else [])
            for period, kind in periods:
                value = base * factor * (1 + rng.normal(0, 0.05))
                why = (
                    SMALL
                    if unit == "TINY"
                    else DOMINANT
                    if (unit == "PUR" and period == MONTHS[-1])
                    else None
                )
                half = value * (0.05 if level == "organisation" else 0.14)
                numbers = (None, None, None) if why else (value, value - half, value + half)
                rows.append(
                    {
                        "edition": 28, "period": period, "period_kind": kind, "level": level, "unit": unit,
                        "measure": measure, "value": numbers[0], "low": numbers[1], "high": numbers[2],
                        "value_unit": value_unit, "n_band": None if why else "15\u201319", "guide": guide,
                        "standing": None if why else standing(value, guide), "method": measure, "reason": why,
                    }
                )  # fmt: skip
    return pd.DataFrame(rows)


def parts(rng: np.random.Generator) -> pd.DataFrame:
    parts = {
        "task": ["PCR_SETUP", "ELISA", "SERIAL_DILUTION", "MEDIA_CHANGE", "WEIGHING"],
        "instrument": ["P200_A", "P1000_A", "E300_B", "M8_C"],
        "weekday": ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY"],
    }
    rows = []
    for level, unit, factor in units():
        for month in MONTHS[-14:]:
            for kind, names in parts.items():
                shares = rng.dirichlet(np.linspace(4, 1.5, len(names)))
                for name, share in zip(names, shares, strict=True):
                    why = SMALL if unit == "TINY" or name == "WEIGHING" else None
                    rows.append(
                        {
                            "edition": 28, "period": month, "level": level, "unit": unit, "part_kind": kind,
                            "part": name, "share_percent": None if why else round(100 * share),
                            "hours_per_person_week": None if why else 5.4 * factor * share,
                            "n_band": None if why else "10\u201314", "reason": why,
                        }
                    )  # fmt: skip
    return pd.DataFrame(rows)


def coverage(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, _ in units():
        for month in MONTHS:
            why = SMALL if unit == "TINY" else None
            rows.append(
                {
                    "edition": 28, "period": month, "level": level, "unit": unit,
                    "people_band": None if why else "20\u201324",
                    "logged_percent": None if why else int(rng.integers(70, 99)),
                    "force_known_percent": None if why else int(rng.integers(60, 95)), "reason": why,
                }
            )  # fmt: skip
    return pd.DataFrame(rows)
