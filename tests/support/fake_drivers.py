"""What goes with discomfort, invented: a stated quarter, a withheld number, a checked and a failed check."""

import pandas as pd

EDITION, QUARTER = 27, "2026-Q3"
HEAD = {"edition": EDITION, "period": QUARTER, "region": "WRIST_HAND"}
PEOPLE = {"people_band": "140-159", "reason": None}
NODE = ("edition", "node", "words", "role", "x", "y", "handled")
SMALL = "not shown: group too small"


def tables() -> dict[str, pd.DataFrame]:
    """Return the driver tables of the invented release."""
    return {
        "driver_statement": pd.DataFrame([{
            **HEAD, "months": "2024-07 to 2026-09", "label": "main question", "word": "goes with more",
            "sentence": "5 h a week more goes with more discomfort: 9 points more (3 to 15).",
            "adjusted": "age, thumb force, trend and season", "teams": 7, "left_out_percent": 4, **PEOPLE,
        }]),
        "driver_effect": pd.DataFrame(_effects()),
        "driver_curve": pd.DataFrame(_curve()),
        "driver_lag": pd.DataFrame(_lags()),
        "driver_budget": pd.DataFrame(_budget()),
        "driver_share": pd.DataFrame([{
            **HEAD, "above_hours": 6.8, "percent": 12, "low": 4, "high": 19,
            "sentence": "12 % (4 to 19 %) of all discomfort goes with hours above 6.8 a week.",
            "assumptions": "exposure comes before discomfort", **PEOPLE,
        }]),
        "driver_check": pd.DataFrame([
            {**HEAD, "check_name": "events", "verdict": "passes", "sentence": "800 answers with discomfort."},
            {**HEAD, "check_name": "overlap", "verdict": "informs", "sentence": "One team has most hours."},
        ]),
        "driver_trust": pd.DataFrame(_trust()),
        "driver_prediction": pd.DataFrame(_predictions()),
        "driver_importance": pd.DataFrame([
            {**HEAD, "feature": name, "points": points, "low": points - 0.3, "high": points + 0.4}
            for name, points in (("share_now", 2.1), ("hours", 0.9), ("bench", 0.0))
        ]),
        "driver_node": pd.DataFrame([
            dict(zip(NODE, (EDITION, *node), strict=True))
            for node in (
                ("hours", "Pipetting hours a week", "exposure", 0.2, 0.5, "asked about"),
                ("age", "Age", "confounder", 0.5, 0.9, "held fixed"),
                ("habits", "Home <b>and</b> leisure", "unmeasured", 0.5, 0.1, "not measured, left open"),
                ("discomfort", "Discomfort", "outcome", 0.9, 0.5, "what is asked about"),
            )
        ]),
        "driver_arrow": pd.DataFrame([
            {"edition": EDITION, "source": source, "target": target}
            for source, target in (("hours", "discomfort"), ("age", "hours"), ("age", "discomfort"))
        ]),
    }  # fmt: skip


def _effects() -> list[dict]:
    common = {
        **HEAD, "label": "main question", "question": "prevalence", "exposure": "hours", "step": 5.0,
        "step_unit": "h/week", "measure": "prevalence ratio", "ratio": 1.4, "low": 1.1, "high": 1.8,
        "points": 9.0, "points_low": 3.0, "points_high": 15.0, "word": "goes with more", "fdr": None,
        "sentence": "5 h a week more goes with more discomfort.", "method": "Method in words",
        "source": "Source", "teams": 7, **PEOPLE,
    }  # fmt: skip
    force = {"exposure": "thumb_force", "step": 10.0, "step_unit": "N", "points": 7.0, "ratio": 1.3}
    within = {
        "question": "within-worker", "points": None, "points_low": None, "points_high": None,
        "word": "no clear association",
    }  # fmt: skip
    intercepts = {
        **within,
        "question": "random intercepts",
        "measure": "odds ratio",
        "ratio": 1.7,
        "high": 2.7,
    }
    other = {"label": "exploratory", "fdr": "does not stand out", "word": "no clear association"}
    neck = {
        **other,
        "region": "NECK",
        "fdr": "stands out among all regions looked at",
        "word": "goes with more",
    }
    knee = {**other, "region": "KNEE", "points": 1.0, "points_low": -3.0, "points_high": 5.0}
    elbow = {
        **other, "region": "ELBOW", "ratio": None, "low": None, "high": None, "points": None,
        "points_low": None, "points_high": None, "fdr": None, "people_band": None, "teams": None,
        "word": "cannot be estimated", "sentence": f"{SMALL}.", "reason": SMALL,
    }  # fmt: skip
    return [common | own for own in ({}, force, within, intercepts, neck, knee, elbow)]


def _trust() -> list[dict]:
    head = {"edition": EDITION, "period": QUARTER, "region": "WRIST_HAND", "exposure": "hours"}
    corrected = {"way": "corrected for hours misreported", "method": "driver.corrected"}
    rows = [
        {
            "way": "E-value",
            "ratio": 2.1,
            "low": 1.4,
            "high": None,
            "method": "driver.e_value",
            "sentence": "Something not measured would have to go with both, 2.1 times each.",
        },
        *(
            {
                **corrected,
                "reliability": r,
                "ratio": v,
                "low": low,
                "high": high,
                "sentence": f"Were {100 * r:.0f} % of the spread of hours true (assumed), {v} times.",
            }
            for r, v, low, high in ((0.5, 2.0, 1.2, 3.3), (0.7, 1.6, 1.1, 2.4), (0.9, 1.5, 1.1, 2.0))
        ),
        {
            "way": "regions together",
            "ratio": 1.3,
            "low": 1.1,
            "high": 1.6,
            "method": "driver.together",
            "sentence": "Pulled towards the mean of 4 regions, 1.3 times.",
        },
    ]
    return [head | {"reliability": None} | row for row in rows]


def _curve() -> list[dict]:
    rows = []
    for kind, lift in (("average", 0), ("monotone", 1)):
        for k in range(11):
            percent = 14 + 3 * k + lift
            rows.append({
                **HEAD, "exposure": "hours", "unit": "h/week", "kind": kind, "x": 2.0 + k, "percent": percent,
                "low": percent - 5, "high": percent + 6, **PEOPLE,
            })  # fmt: skip
    return rows


def _lags() -> list[dict]:
    common = {
        **HEAD, "exposure": "hours", "step": 5.0, "step_unit": "h/week", "measure": "odds ratio",
        "sentence": "5 h a week more in all 7 months goes with 1.7 times the odds (1.2 to 2.4).",
        "method": "distributed lag", **PEOPLE,
    }  # fmt: skip
    numbers = [(None, 1.7, 1.2, 2.4), *((k, 1.3 - 0.05 * k, 1.0 - 0.05 * k, 1.6) for k in range(7))]
    return [
        {**common, "lag": lag, "ratio": ratio, "low": low, "high": high} for lag, ratio, low, high in numbers
    ]


def _budget() -> list[dict]:
    common = {**HEAD, "rise": 10.0, "floor_percent": 14, "floor_hours": 2.0, "reach_hours": 12.0, **PEOPLE}
    told = "Discomfort is 10 points above the 14 % at 2.0 h a week at 5.0 h a week."
    none = "The hours cannot be estimated: within the 12.0 h a week observed discomfort does not rise so far."
    return [
        {**common, "kind": "added", "hours": 5.0, "low": 4.0, "averaged": "a line 60 %", "sentence": told},
        {**common, "kind": "extra", "hours": None, "low": None, "averaged": "a line 60 %", "sentence": none},
    ]


def _predictions() -> list[dict]:
    rows = []
    for scheme in ("teams left out", "later quarters left out"):
        for model, error in (
            ("same as last quarter", 8.8), ("own past only", 8.1), ("penalised logistic", 8.0),
            ("monotone boosting", 9.1),
        ):  # fmt: skip
            gain = round(8.8 - error, 1)
            rows.append({
                **HEAD, "scheme": scheme, "model": model, "error": error, "gain": gain, "low": gain - 0.9,
                "high": gain + 0.9, "parts": 7, "beats": False,
                "sentence": "Next quarter is not predicted better than by the last one beyond chance.",
                "calibration": "On later quarters 24 % were predicted, 25 % seen.", "reason": None,
            })  # fmt: skip
    return rows
