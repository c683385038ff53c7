"""Plans in the invented release: one kept, one proposed in steps, reach by teams and months."""

import pandas as pd

SPAN = "2024-04 to 2026-09"


def ground() -> pd.DataFrame:
    wrist = {
        "edition": 27, "period": "2026-09", "region": "WRIST_HAND", "months": SPAN, "people_band": "120-139",
        "teams": 8, "percent": 26.0, "low": 22.0, "high": 30.0, "lasting_percent": 55, "carried": 0.55,
        "answered_percent": 75, "leaving_percent": 20, "team_points": 9.0, "shock_points": 4.0,
        "reason": None,
    }  # fmt: skip
    few = dict.fromkeys(wrist) | {"edition": 27, "period": "2026-09", "region": "NECK", "months": SPAN}
    few["reason"] = "not shown: group too small"
    return pd.DataFrame([wrist, few])


def reach() -> pd.DataFrame:
    rows = []
    for changed, smallest in ((2, 1 / 3), (4, 2 / 70), (8, 2 / 12870)):
        for months, points in ((6, 20), (12, 14)):
            found = None if changed == 2 else points - changed // 2
            rows.append({
                "edition": 27, "period": "2026-09", "region": "WRIST_HAND",
                "changed": changed, "others": changed,
                "months": months, "points": found, "points_error": None if found is None else 0.6,
                "fall_points": 5.0, "found_percent": 4 * changed, "found_error": 1.5,
                "case_months": changed * months, "smallest_p": smallest, "teams_enough": changed < 8,
                "sentence": f"a fall of {found} points" if found else "chance can never be told apart",
            })  # fmt: skip
    return pd.DataFrame(rows)


def plan() -> pd.DataFrame:
    kept = {
        "edition": 28, "plan": "TIMER-1", "title": "Shared <i>timer</i>", "status": "kept",
        "drawn_on": pd.Timestamp("2026-10-15"), "region": "WRIST_HAND", "kind": "common start", "seed": 7,
        "steps": 1, "changed": 4, "others": 4, "months": 12, "first_start": pd.Timestamp("2027-01-01"),
        "fall_points": 8.0, "points": 12, "points_error": 0.6, "found_percent": 46, "found_error": 2.5,
        "worlds": 400, "smallest_p": 2 / 70, "case_months": 60, "cost": 3600.0, "case_cost": 60.0,
        "case_low": 35.0, "case_high": 240.0, "cost_words": "One month of discomfort avoided would cost 60.",
        "cannot": "a fall of 8 points is missed more often than once in five",
    }  # fmt: skip
    proposed = kept | {
        "edition": 27, "plan": "LOT-2026-09-WRIST_HAND", "title": "Proposed by lot", "status": "proposed",
        "drawn_on": pd.Timestamp("2026-09-30"), "kind": "stepped roll-out", "seed": 202609, "steps": 2,
        "cost": None, "case_cost": None, "case_low": None, "case_high": None,
        "cost_words": "What the change costs is not known.", "cannot": "",
    }  # fmt: skip
    return pd.DataFrame([kept, proposed])


def start() -> pd.DataFrame:
    first, later = pd.Timestamp("2027-01-01"), pd.Timestamp("2028-01-01")
    teams = ("QC1", "SEQ", "VIR", "STEM", "PUR", "QC2", "TINY", "HIT")
    rows = [
        (28, "TIMER-1", 1 + k // 4, team, later if k > 3 else first, k > 3) for k, team in enumerate(teams)
    ]
    steps = (pd.Timestamp("2026-12-01"), pd.Timestamp("2027-03-01"))
    rows += [
        (27, "LOT-2026-09-WRIST_HAND", 1 + k % 2, team, steps[k % 2], False) for k, team in enumerate(teams)
    ]
    return pd.DataFrame(rows, columns=["edition", "plan", "step", "team", "start", "follows"])
