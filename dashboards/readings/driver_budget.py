"""The main question's months back, and its hours budget with the share above the guide."""

import pandas as pd

from dashboards.data import ReleaseFrames
from dashboards.figures.rows import RowsPlot
from dashboards.labels import interval, missing, number
from dashboards.readings.base import Reading
from dashboards.readings.drivers import NONE, main_row, quarter
from dashboards.readings.exposure import method_words
from dashboards.state import Chosen
from dashboards.tables import Column

LAG_COLUMNS = (
    Column("months_back", "Months back"),
    Column("ratio", "Odds ratio", "1"),
    Column("low", "95 % interval", "interval"),
    Column("people_band", "People"),
)
BUDGET_COLUMNS = (
    Column("rise_words", "Rise of discomfort"),
    Column("hours", "Reached at, h a week", "0"),
    Column("low", "Not before, h (95 % sure)", "0"),
    Column("averaged", "Averaged over"),
    Column("people_band", "People"),
)


def lags(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the odds ratio of hours by months back.

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
    rows = frames.frame("driver_lag", period=quarter(frames, chosen))
    rows = rows.assign(months_back=[_back(lag) for lag in rows["lag"]]).sort_values("lag")
    shown = rows[rows["ratio"].notna()]
    if shown.empty:
        why = NONE if rows.empty else str(rows["sentence"].iloc[0])
        return Reading(None, why, "", rows, LAG_COLUMNS, notice="No picture of the months back is published.")
    plot = pd.DataFrame(
        {
            "label": shown["months_back"], "value": shown["ratio"],
            "low": shown["low"], "high": shown["high"],
            "kind": ["own" if missing(lag) else "plain" for lag in shown["lag"]],
            "printed": [
                f"{number(r, 1)} ({interval(low, high, 1)})"
                for r, low, high in zip(shown["ratio"], shown["low"], shown["high"], strict=True)
            ],
        }
    )  # fmt: skip
    plot["text"] = plot["label"] + ": " + plot["printed"]
    first = shown.iloc[0]
    step = f"{number(first['step'])} h a week more"
    return Reading(
        RowsPlot(
            plot,
            f"Odds ratio for {step}",
            "Hours of which month",
            1.0,
            "no difference",
            30,
            from_zero=False,
            ratio=True,
        ),
        str(first["sentence"]),
        f"{first['people_band']} people. Bars show the 95 % interval, each month given the others; "
        "half and double lie equally far from 1. "
        f"{method_words(frames, 'driver.lag')}",
        rows,
        LAG_COLUMNS,
    )


def _back(lag: object) -> str:
    if missing(lag):
        return "all seven months"
    months = int(lag)  # type: ignore[call-overload]
    return "same month" if months == 0 else f"{months} month{'s' if months > 1 else ''} back"


def budget_rows(frames: ReleaseFrames, chosen: Chosen) -> Reading:
    """Return the hours budget in both ways of counting a rise, and the share above the guide.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    Reading
        A table without a figure.
    """
    at = quarter(frames, chosen)
    rows = frames.frame("driver_budget", period=at)
    if rows.empty:
        return Reading(None, NONE, "", rows, BUDGET_COLUMNS)
    kinds = {"added": "{} points", "extra": "{} % of those without"}
    rows = rows.assign(
        rise_words=[kinds[k].format(number(r)) for k, r in zip(rows["kind"], rows["rise"], strict=True)]
    )
    share = main_row(frames, "driver_share", at)
    told = (
        "" if share is None else f"{share['sentence']} It could be prevented only if {share['assumptions']}."
    )
    return Reading(
        None,
        told or "How many hours go with a given rise of discomfort.",
        f"A budget to plan with, no limit of safety. {method_words(frames, 'driver.budget')} "
        f"{method_words(frames, 'driver.share')}",
        rows,
        BUDGET_COLUMNS,
    )
