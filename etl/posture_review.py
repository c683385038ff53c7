"""Walk-through observations held against discomfort of neck, shoulder and back, for the data custodian.

A station can be one person's place, so what was seen there is published in no table: this stands beside the
custodian's review of symptoms, and no release and no screen reads it. It says what goes together, not why.
"""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np

from etl.sqlfiles import sql
from models.driver_fit import Estimate, fit_groups
from models.driver_records import Progress, Refusal, attempt
from models.driver_standard import standardised_ratio

BEARS_ON = {
    "NECK": ("NECK_BENT", "NECK_TWISTED"),
    "SHOULDER": ("ARM_RAISED", "ELBOW_UNSUPPORTED", "REACH_FAR"),
    "UPPER_BACK": ("BACK_BENT", "BACK_TWISTED"),
    "LOW_BACK": ("BACK_BENT", "BACK_TWISTED"),
}
"""Body regions and the postures that a walk-through looks for on their behalf; anatomy, no estimate."""

STEP = 0.1
LEAST_KNOWN = 0.5
"""Part of a month's work that must lie at stations watched; less says little of the month."""
LEAST_PEOPLE, LEAST_TEAMS, LEAST_CASES = 20, 4, 20


@dataclass(frozen=True)
class PostureEffect:
    """How discomfort of a region goes with a posture seen at people's stations; an association.

    Attributes
    ----------
    region, posture : str
        Body region and posture.
    ratio : Estimate or Refusal
        Ratio of prevalence for ten points more of the time watched, adjusted for hours of pipetting and the
        course of time, teams as clusters; or why there is none.
    people, teams, stations, answers : int
        What it rests on.
    low, high : float
        Lowest and highest tenth of the answers' shares, 0-1; NaN without answers. A narrow span says little.
    """

    region: str
    posture: str
    ratio: Estimate | Refusal
    people: int
    teams: int
    stations: int
    answers: int
    low: float
    high: float


def posture_effects(
    con: duckdb.DuckDBPyConnection, month: date, progress: Progress = lambda step, done, total: None
) -> tuple[PostureEffect, ...]:
    """Hold every posture against the regions it bears on.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts built.
    month : date
        First day of the newest month.
    progress : callable
        Told the region and posture just held together, pairs done and pairs in all.

    Returns
    -------
    tuple of PostureEffect
        One a region and posture, in the order of `BEARS_ON`.
    """
    pairs = [(region, posture) for region, postures in BEARS_ON.items() for posture in postures]
    found = []
    for done, (region, posture) in enumerate(pairs, start=1):
        found.append(posture_effect(con, month, region, posture))
        progress(f"{region} {posture}", done, len(pairs))
    return tuple(found)


def posture_effect(con: duckdb.DuckDBPyConnection, month: date, region: str, posture: str) -> PostureEffect:
    """Return how discomfort of one region goes with one posture.

    A logistic fit, standardised over those who answered, with the errors of Mancl and DeRouen (2001,
    Biometrics 57:126) and t on teams less one, as the drivers of discomfort have them.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts built.
    month : date
        First day of the newest month.
    region, posture : str
        Body region and posture.

    Returns
    -------
    PostureEffect
        With the ratio, or why there is none: fewer than 20 people, 4 teams, or 20 answers with and without
        discomfort; a posture alike everywhere; or a fit that does not settle.
    """
    asked = {"month": month, "region": region, "posture": posture}
    rows = con.execute(sql("review/030_posture"), asked).fetchnumpy()
    keep = np.asarray(rows["known"], dtype=float) >= LEAST_KNOWN
    at = {name: np.asarray(values)[keep] for name, values in rows.items()}
    share, case = at["share"].astype(float), at["is_case"].astype(float)
    people, teams, stations = (len(set(at[name].tolist())) for name in ("person", "team", "station"))
    short = _too_little(region, posture, people, teams, case, share)
    low, high = np.quantile(share, (0.1, 0.9)) if len(share) else (np.nan, np.nan)
    return PostureEffect(
        region, posture, short or attempt(lambda: _ratio(at, share, case)),
        people, teams, stations, len(case), float(low), float(high),
    )  # fmt: skip


def _ratio(at: dict[str, np.ndarray], share: np.ndarray, case: np.ndarray) -> Estimate:
    month = at["month_number"].astype(float)
    x = np.column_stack(
        [np.ones(len(case)), share / STEP, at["hours"].astype(float), (month - month.mean()) / 12]
    )
    # Data of a single month have no course of time to hold fixed.
    x = x[:, [0, *(k for k in (1, 2, 3) if np.ptp(x[:, k]) > 0)]]
    _, team = np.unique(at["team"].astype(str), return_inverse=True)
    more = x.copy()
    more[:, 1] += 1
    return standardised_ratio(fit_groups(case, x, team, link="logit"), x, more)


def _too_little(
    region: str, posture: str, people: int, teams: int, case: np.ndarray, share: np.ndarray
) -> Refusal | None:
    what = f"How {region} goes with {posture}"
    cases = int(case.sum())
    least = min(cases, len(case) - cases)
    for found, enough, of in (
        (people, LEAST_PEOPLE, "people who work at stations watched"),
        (teams, LEAST_TEAMS, "teams with stations watched"),
        (least, LEAST_CASES, "answers with, or without, discomfort there"),
    ):
        if found < enough:
            return Refusal(what, f"{found} {of}", f"At least {enough}: walk through more stations, or wait")
    if np.ptp(share) == 0:
        return Refusal(what, "it was seen alike at all stations", "Stations that differ in it")
    return None
