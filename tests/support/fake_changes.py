"""Changes, their reach and their verdicts in the invented release."""

import pandas as pd

from tests.support.fake_places import MEASURES, SMALL


def change() -> pd.DataFrame:
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


def reach() -> pd.DataFrame:
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


def effect() -> pd.DataFrame:
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


def event() -> pd.DataFrame:
    rows = []
    for quarter, points in ((-3, 5), (-2, 0), (-1, 0), (0, -10), (1, -15)):
        reference, hidden = quarter == -1, quarter == 1
        rows.append({
            "edition": 28, "change": "C1", "region": "WRIST_HAND", "quarter": quarter,
            "points": None if hidden else float(points),
            "low": None if hidden else points - (0.0 if reference else 15.0),
            "high": None if hidden else points + (0.0 if reference else 10.0),
            "changed_band": None if reference or hidden else "20-24",
            "others_band": None if reference or hidden else "120-139", "reason": SMALL if hidden else None,
        })  # fmt: skip
    first = pd.DataFrame(rows)
    return pd.concat([first, first.assign(change="C2")], ignore_index=True)


def check() -> pd.DataFrame:
    told = [
        ("Lots", False, "Given to other teams, 1 in 20 or more of the ways to do so show as much."),
        ("Before the start", True, "No drift is seen before the start. A drift of 5 points would have been."),
        ("Use", None, "How many work the new way is not known for every team."),
    ]
    rows = [
        {"edition": 28, "change": "C1", "region": "WRIST_HAND", "place": place, "check_name": name,
         "passed": passed, "sentence": sentence}
        for place, (name, passed, sentence) in enumerate(told, start=1)
    ]  # fmt: skip
    rows.append({
        "edition": 28, "change": "C3", "region": "WRIST_HAND", "place": 3,
        "check_name": "Before the start",
        "passed": None, "sentence": "No picture by quarters is drawn: there is no comparison.",
    })  # fmt: skip
    return pd.DataFrame(rows).astype({"passed": "boolean"})


def history() -> pd.DataFrame:
    day = pd.Timestamp
    names = ["change", "version", "noted_on", "action", "status", "adherence_percent", "allocation", "lot"]
    rows = [
        ("C1", 1, day("2025-01-10"), "entered", "PLANNED", None, "LOT_TEAMS", "TIMER-1"),
        ("C1", 2, day("2025-03-02"), "altered", "STARTED", 40.0, "LOT_TEAMS", "TIMER-1"),
        ("C1", 3, day("2025-05-20"), "altered", "COMPLETE", 85.0, "LOT_TEAMS", "TIMER-1"),
        ("C4", 1, day("2026-10-02"), "entered", "PLANNED", None, None, None),
    ]
    frame = pd.DataFrame(rows, columns=names)
    planned = [day("2025-01-10")] * 3 + [day("2026-12-01")]
    started = [None, day("2025-03-01"), day("2025-03-01"), None]
    completed = [None, None, day("2025-05-15"), None]
    return frame.assign(
        edition=28, planned=planned, started=pd.to_datetime(started), completed=pd.to_datetime(completed)
    )


def adherence() -> pd.DataFrame:
    rows = [(28, "C1", "2025-04", 60.0), (28, "C1", "2025-05", 85.0)]
    return pd.DataFrame(rows, columns=["edition", "change", "month", "adherence_percent"])
