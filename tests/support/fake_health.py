"""Discomfort and answers of the invented release."""

import numpy as np
import pandas as pd

from tests.support.fake_places import MONTHS, REGIONS, SMALL, health_places, units


def health(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in health_places():
        for place, region in enumerate(REGIONS):
            middle = 38 - 3.4 * place + (8 if region == "WRIST_HAND" else 0)
            percent = int(5 * round((middle + rng.normal(0, 3)) / 5))
            hidden = unit == "TINY" or (unit == "BIO" and period == "2025-08")
            rows.append(
                {
                    "edition": 28, "period": period, "period_kind": kind, "level": level, "unit": unit,
                    "region": region, "n_band": None if hidden else "150\u2013154",
                    "count_rounded": None if hidden else percent,
                    "percent": None if hidden else max(percent, 0),
                    "low": None if hidden else max(percent - 7, 0), "high": None if hidden else percent + 8,
                    "reason": SMALL if hidden else None,
                }
            )  # fmt: skip
    return pd.DataFrame(rows)


def average(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in health_places():
        percent = int(24 + rng.integers(-3, 4))
        hidden = unit == "TINY" or (unit == "BIO" and period == "2025-08")
        rows.append(
            {
                "edition": 28, "period": period, "period_kind": kind, "level": level, "unit": unit,
                "regions_shown": 0 if hidden else 9, "percent": None if hidden else percent,
                "low": None if hidden else percent - 3, "high": None if hidden else percent + 3,
                "reason": SMALL if hidden else None,
            }
        )  # fmt: skip
    return pd.DataFrame(rows)


def trend() -> pd.DataFrame:
    points = dict(zip(REGIONS, (2, 9, -1, 3, -8, 0, 1, -2, 0), strict=True))
    rows = []
    for month in MONTHS[12:]:
        for level, unit, _ in units():
            if level == "team":
                continue
            for region, value in points.items():
                few = unit == "CELL" and region in ("KNEE", "ANKLE_FOOT")
                word = "rising" if value == 9 else "easing" if value == -8 else "steady"
                rows.append(
                    {
                        "edition": 28, "period": month, "compared_with": f"{int(month[:4]) - 1}{month[4:]}",
                        "level": level, "unit": unit, "region": region, "points": None if few else value,
                        "low": None if few else value - 7, "high": None if few else value + 7,
                        "word": "too few answers" if few else word, "sentence": "",
                    }
                )  # fmt: skip
    return pd.DataFrame(rows)


def response(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in health_places():
        hidden = unit == "TINY"
        rows.append(
            {
                "edition": 28, "period": period, "period_kind": kind, "level": level, "unit": unit,
                "invited_band": None if hidden else "180\u2013184",
                "answered_band": None if hidden else "150\u2013154",
                "percent": None if hidden else int(80 + rng.integers(-5, 6)),
                "reason": SMALL if hidden else None,
            }
        )  # fmt: skip
    return pd.DataFrame(rows)


def smooth(rows: pd.DataFrame) -> pd.DataFrame:
    """Return a line beside the published percentages, flat enough to be told from them."""
    shown = rows[rows["percent"].notna()]
    keys = ["edition", "period", "period_kind", "level", "unit", "region"]
    return shown[keys].assign(percent=shown["percent"].astype(float) * 0.5 + 10.2)
