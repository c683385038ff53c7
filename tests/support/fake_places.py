"""Places, periods and measures of the invented release."""

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


def units() -> list[tuple[str, str, float]]:
    """Return level, code and load factor of each invented unit."""
    factor = {"QC1": 1.5, "QC2": 1.12, "SEQ": 0.9, "FERM": 0.5, "PUR": 0.8, "VIR": 1.3, "STEM": 1.0}
    return [
        ("organisation", "ORG", 1.0),
        *(("cluster", code, value) for code, value in zip(CLUSTERS, (1.15, 0.7, 1.1), strict=True)),
        *(("team", code, factor.get(code, 1.0)) for code in TEAMS),
    ]


def health_places() -> list[tuple[str, str, str, str]]:
    places = [(lv, u, p, "month") for lv, u, _ in units() if lv != "team" for p in MONTHS]
    return places + [(lv, u, q, "quarter") for lv, u, _ in units() if lv == "team" for q in QUARTERS]


def standing(value: float, guide: float | None) -> str | None:
    """Return the words of the release for a value and a guide."""
    if guide is None:
        return None
    return "over guide" if value > guide else "near guide" if value >= 0.8 * guide else "within guide"
