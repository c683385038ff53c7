"""Edition, units and data quality of the invented release."""

import pandas as pd

from tests.support.fake_places import CLUSTERS, MEASURES, MONTHS, TEAMS


def edition() -> pd.DataFrame:
    row = {
        "edition": 28, "period": MONTHS[-1], "created_at": pd.Timestamp("2026-11-04 09:30"),
        "previous_hash": "a" * 64, "content_hash": "3f9c" * 16, "rules": "{}", "tool_version": "0.1.0",
        "note": "",
    }  # fmt: skip
    return pd.DataFrame([row])


def unit() -> pd.DataFrame:
    rows = [("organisation", "ORG", "Kestrel Institute", None, None, "180\u2013199")]
    rows += [("cluster", code, name, "ORG", None, "60\u201364") for code, name in CLUSTERS.items()]
    rows += [("team", code, name, up, "North", "20\u201324") for code, (name, up) in TEAMS.items()]
    frame = pd.DataFrame(rows, columns=["level", "unit", "name", "parent", "site", "people_band"])
    return frame.assign(edition=28)


def quality() -> dict[str, pd.DataFrame]:
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
