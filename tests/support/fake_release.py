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

REGIONS = [
    "NECK",
    "SHOULDER",
    "UPPER_BACK",
    "ELBOW",
    "WRIST_HAND",
    "LOW_BACK",
    "HIP_THIGH",
    "KNEE",
    "ANKLE_FOOT",
]
SMALL = "not shown: group too small"
DOMINANT = "not shown: one or two people do most of it"
MONTHS = [f"{y}-{m:02d}" for y in (2024, 2025, 2026) for m in range(1, 13)][6:34]
QUARTERS = [f"{y}-Q{q}" for y in (2024, 2025, 2026) for q in range(1, 5)][2:11]
CLUSTERS = {"ANALYT": "Analytical sciences", "BIO": "Bioprocess", "CELL": "Cell & gene <lab>"}
TEAMS = {
    "QC1": ("Quality control 1", "ANALYT"),
    "QC2": ("Quality control 2", "ANALYT"),
    "SEQ": ("Sequencing", "ANALYT"),
    "FERM": ("Fermentation", "BIO"),
    "PUR": ("Purification", "BIO"),
    "VIR": ("Vector production", "CELL"),
    "STEM": ("Stem cell culture", "CELL"),
    "TINY": ("Method transfer", "CELL"),
}
MEASURES = {
    "hours_per_week": (5.4, "h/week", 6.8),
    "strokes_per_week": (4200.0, "strokes/week", None),
    "longest_spell": (24.0, "min", 20.0),
    "long_spell_days": (12.0, "%", None),
    "beyond_guide_share": (31.0, "%", None),
    "micro_rests": (1.6, "1/h", None),
    "force_time": (310.0, "N*s", None),
    "peak_thumb_force": (14.2, "N", 19.6133),
    "over_force_share": (8.0, "%", None),
}


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


def units() -> list[tuple[str, str, float]]:
    """Return level, code and load factor of each invented unit."""
    factor = {"QC1": 1.5, "QC2": 1.12, "SEQ": 0.9, "FERM": 0.5, "PUR": 0.8, "VIR": 1.3, "STEM": 1.0}
    return [
        ("organisation", "ORG", 1.0),
        *(("cluster", code, value) for code, value in zip(CLUSTERS, (1.15, 0.7, 1.1), strict=True)),
        *(("team", code, factor.get(code, 1.0)) for code in TEAMS),
    ]


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
    return {
        "edition": _edition(),
        "unit": _unit(),
        "health": _health(rng),
        "health_average": _average(rng),
        "trend": _trend(),
        "response": _response(rng),
        "exposure": _exposure(rng),
        "exposure_part": _parts(rng),
        "change": _change(),
        "change_reach": _reach(),
        "change_effect": _effect(),
        "coverage": _coverage(rng),
        **_quality(),
    }


def _edition() -> pd.DataFrame:
    row = {
        "edition": 28, "period": MONTHS[-1], "created_at": pd.Timestamp("2026-11-04 09:30"),
        "previous_hash": "a" * 64, "content_hash": "3f9c" * 16, "rules": "{}", "tool_version": "0.1.0",
        "note": "",
    }  # fmt: skip
    return pd.DataFrame([row])


def _unit() -> pd.DataFrame:
    rows = [("organisation", "ORG", "Kestrel Institute", None, None, "180\u2013199")]
    rows += [("cluster", code, name, "ORG", None, "60\u201364") for code, name in CLUSTERS.items()]
    rows += [("team", code, name, up, "North", "20\u201324") for code, (name, up) in TEAMS.items()]
    frame = pd.DataFrame(rows, columns=["level", "unit", "name", "parent", "site", "people_band"])
    return frame.assign(edition=28)


def _health_places() -> list[tuple[str, str, str, str]]:
    places = [(lv, u, p, "month") for lv, u, _ in units() if lv != "team" for p in MONTHS]
    return places + [(lv, u, q, "quarter") for lv, u, _ in units() if lv == "team" for q in QUARTERS]


def _health(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in _health_places():
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


def _average(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in _health_places():
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


def _trend() -> pd.DataFrame:
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


def _response(rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for level, unit, period, kind in _health_places():
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


def standing(value: float, guide: float | None) -> str | None:
    """Return the words of the release for a value and a guide."""
    if guide is None:
        return None
    return "over guide" if value > guide else "near guide" if value >= 0.8 * guide else "within guide"


def _exposure(rng: np.random.Generator) -> pd.DataFrame:
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


def _parts(rng: np.random.Generator) -> pd.DataFrame:
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


def _change() -> pd.DataFrame:
    day = pd.Timestamp
    rows = [
        ("C1", "Low-force electronic pipettes", "INSTRUMENT", "SUBSTITUTION", "QC1", day("2025-01-10"),
         day("2025-03-01"), day("2025-05-15"), "highest peak thumb force", True, 85.0, "COMPLETE"),
        ("C2", "Eight-channel heads for dilution series", "MULTI_CHANNEL", "ENGINEERING", "SEQ",
         day("2025-09-01"), day("2025-11-15"), None, "most strokes", False, 60.0, "STARTED"),
        ("C3", "Rotation between benches", "ROTATION", "ADMINISTRATIVE", "VIR", day("2026-05-01"),
         day("2026-08-01"), None, "longest spells", False, None, "STARTED"),
        ("C4", "Adjustable bench <b>trial</b>", "BENCH_CHAIR", "ENGINEERING", "STEM", day("2026-12-01"),
         None, None, "bench heights unequal", False, None, "PLANNED"),
    ]  # fmt: skip
    names = [
        "change", "title", "kind", "control_level", "team", "planned", "started", "completed", "why",
        "chosen_on_outcome", "adherence_percent", "status",
    ]  # fmt: skip
    frame = pd.DataFrame(rows, columns=names)
    for name in ("planned", "started", "completed"):
        frame[name] = pd.to_datetime(frame[name])
    return frame.assign(
        edition=28, target_regions="WRIST_HAND", expected_points=-8.0, cost=12000.0, owner_role="lab manager"
    )


def _reach() -> pd.DataFrame:
    rows = []
    for change in ("C1", "C2"):
        for measure, (before, after) in {"hours_per_week": (7.9, 6.1), "force_time": (410.0, 290.0)}.items():
            for side, teams, shift in (("changed", "QC1", 0.0), ("others", "SEQ, QC2", 0.3)):
                for span, value in (("2024-09 to 2025-02", before), ("2025-06 to 2025-11", after)):
                    value = value if side == "changed" else before * (0.8 + shift / 10)
                    hidden = change == "C2" and side == "changed" and span.startswith("2025")
                    rows.append(
                        {
                            "edition": 28, "change": change, "side": side, "teams": teams, "measure": measure,
                            "periods": span, "value": None if hidden else value,
                            "low": None if hidden else value * 0.9, "high": None if hidden else value * 1.1,
                            "value_unit": MEASURES[measure][1], "n_band": None if hidden else "20\u201324",
                            "reason": SMALL if hidden else None,
                        }
                    )  # fmt: skip
    return pd.DataFrame(rows)


def _effect() -> pd.DataFrame:
    common = {
        "edition": 28, "other_teams": 6, "method": "common start", "method_words": "Changes team by team",
        "periods": "2024-03 to 2025-11", "changed_band": "20-24", "others_band": "120-139",
        "word": "cannot tell", "meaningful": 5.0, "expected_points": 8.0, "smallest_p": 1 / 7,
        "checks": "Nothing is seen at an earlier date.", "weaker": "", "cost": "",
        "settle": "The same change at 2 of these 7 teams, chosen by lot, could settle it", "reason": None,
    }  # fmt: skip
    told = "Cannot tell. Discomfort fell by 10 points, but 1 of 7 teams can move so far by chance."
    wrist = {"region": "WRIST_HAND", "points": -10, "low": -25, "high": 5, "sentence": told}
    neck = {
        "region": "NECK", "points": None, "low": None, "high": None, "reason": SMALL,
        "sentence": "Cannot tell: too few people on a side.",
    }  # fmt: skip
    first = {"change": "C1", "title": "Low-force electronic pipettes", "changed_teams": "QC1"}
    second = {"change": "C2", "title": "Eight-channel heads for dilution series", "changed_teams": "SEQ"}
    return pd.DataFrame([common | own | region for own in (first, second) for region in (wrist, neck)])


def _coverage(rng: np.random.Generator) -> pd.DataFrame:
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


def _quality() -> dict[str, pd.DataFrame]:
    quality = [("bouts", 36, 1500000, 1492500, 7500), ("surveys", 36, 60000, 59900, 100)]
    aside = [
        (
            "bouts",
            "E_OVERLAP",
            5200,
            "Overlaps another bout of the same person",
            "Correct the start or the end",
        ),
        ("bouts", "E_UNIT", 2300, "Unknown team <script>", "Add the team, then load again"),
        ("surveys", "E_RANGE", 100, "Score outside 0 to 10", "Correct the score"),
    ]
    method = [
        (m, m.replace("_", " ").capitalize(), "How it is counted.", "Invented source 1999", "read in source")
        for m in MEASURES
    ]
    audit = [
        ("re_identification", None, "This edition has not passed the re-identification audit yet.", ""),
        ("floors", True, "Every shown group meets its floor.", "0 below"),
    ]
    return {
        "data_quality": pd.DataFrame(
            quality, columns=["contract", "files", "rows_in", "rows_accepted", "rows_set_aside"]
        ).assign(edition=28),
        "set_aside_reason": pd.DataFrame(
            aside, columns=["contract", "reason", "rows", "meaning", "remedy"]
        ).assign(edition=28),
        "method": pd.DataFrame(method, columns=["key", "title", "text", "source", "status"]).assign(
            edition=28
        ),
        "audit_report": pd.DataFrame(audit, columns=["check_name", "passed", "sentence", "detail"])
        .astype({"passed": "boolean"})
        .assign(edition=28),
    }
