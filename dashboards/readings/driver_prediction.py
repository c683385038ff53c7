"""Next quarter's group discomfort: how far off each prediction is, and what it leans on."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.kinds import Frame
from dashboards.labels import interval, number
from dashboards.readings.base import Reading, inside, listed
from dashboards.readings.drivers import NONE, quarter
from dashboards.readings.exposure import method_words
from dashboards.state import Chosen
from dashboards.tables import Column

PREDICTION_COLUMNS = (
    Column("model", "Prediction"),
    Column("scheme", "Judged on"),
    Column("error", "Off by, points", "1"),
    Column("gain", "Nearer than the last quarter by", "1"),
    Column("range", "95 % interval"),
)
IMPORTANCE_COLUMNS = (
    Column("name", "Column shuffled"),
    Column("points", "Prediction worse by, points", "1"),
    Column("range", "Spread of ten shuffles"),
)
FEATURES = {
    "share_now": "discomfort of this quarter", "share_before": "discomfort of all quarters so far",
    "hours": "hours a week", "strokes": "strokes a week", "spell": "longest spell",
    "beyond": "time past 20 min",
    "force": "thumb force", "multi_share": "share with several channels",
    "powered_share": "share with electronic instruments", "bench": "bench height",
    "no_support_share": "share without foot support",
}  # fmt: skip


def prediction(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return how far off each prediction of the next quarter is.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        The reading.
    """
    rows = _ranged(frames.frame("driver_prediction", period=quarter(frames, chosen)))
    shown = rows[rows["error"].notna()]
    if shown.empty:
        why = (
            _why_none(frames, chosen) if rows.empty else f"No prediction: {inside(rows['sentence'].iloc[0])}"
        )
        return Reading(None, "", "", rows, PREDICTION_COLUMNS, notice=why)
    against = shown[shown["model"] != "same as last quarter"]
    plot = pd.DataFrame(
        {
            "label": [
                f"{m}, {s.split(' ')[0]}" for m, s in zip(against["model"], against["scheme"], strict=True)
            ],
            "value": against["gain"], "low": against["low"], "high": against["high"],
            "kind": ["easing" if beats else "steady" for beats in against["beats"]],
            "printed": [
                f"{number(g, 1)} ({r})" for g, r in zip(against["gain"], against["range"], strict=True)
            ],
        }
    )  # fmt: skip
    plot["text"] = plot["label"] + ": " + plot["printed"]
    return Reading(
        RowsPlot(
            plot, "Nearer than 'same as last quarter' by, points", "Prediction, judged on", 0.0, "no gain",
            30, symmetric=True,
        ),
        str(shown["sentence"].iloc[0]),
        f"{shown['calibration'].iloc[0]} For groups only; nobody is scored. Bars show the 95 % interval "
        f"over the teams or quarters left out. {method_words(frames, 'driver.prediction')}",
        rows,
        PREDICTION_COLUMNS,
    )  # fmt: skip


def importance(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return how much each column matters to the prediction, with its spread.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        The reading.
    """
    rows = _ranged(frames.frame("driver_importance", period=quarter(frames, chosen)))
    rows = rows.assign(name=[FEATURES.get(f, f) for f in rows["feature"]]).sort_values(
        "points", ascending=False
    )
    if rows.empty:
        return Reading(None, "", "", rows, IMPORTANCE_COLUMNS, notice=_why_none(frames, chosen))
    plot = pd.DataFrame(
        {
            "label": rows["name"], "value": rows["points"], "low": rows["low"], "high": rows["high"],
            "kind": ["own" if low > 0 else "plain" for low in rows["low"]],
            "printed": [f"{number(p, 1)} ({r})" for p, r in zip(rows["points"], rows["range"], strict=True)],
        }
    )  # fmt: skip
    plot["text"] = plot["label"] + ": " + plot["printed"]
    top = [name for name, low in zip(rows["name"], rows["low"], strict=True) if low > 0][:3]
    return Reading(
        RowsPlot(plot, "Prediction worse by, points", "Column shuffled", 0.0, "no matter", 26),
        f"What the prediction leans on most: {listed(top)}." if top else "No column matters to it.",
        "Bars show the smallest and largest of ten shuffles, no interval. What predicts need not drive: "
        f"columns stand in for each other. {method_words(frames, 'driver.prediction')}",
        rows,
        IMPORTANCE_COLUMNS,
    )


def _why_none(frames: ReleaseFrames, chosen: Chosen) -> str:
    # A statement without a prediction is another matter than no statement at all.
    return "No prediction is published with this statement." if quarter(frames, chosen) else NONE


def _ranged(rows: Frame) -> Frame:
    return rows.assign(range=[interval(a, b, 1) for a, b in zip(rows["low"], rows["high"], strict=True)])
