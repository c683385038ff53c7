"""People's exposure month by month joined with their answers: what the driver models are fitted to."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from etl.release_calendar import Month, month_of
from etl.release_rows import Job
from etl.sqlfiles import sql
from models.driver_data import DriverData
from models.driver_windows import ExposureHistory

THUMB_FORCE = "thumb_force"
AGE = "age"
CELL_COLUMNS = (
    "hours", "strokes", "spell", "beyond", "force", "multi_share", "powered_share",
    "bench", "no_support_share",
)  # fmt: skip
"""Exposures that a group's next quarter is predicted from."""


@dataclass(frozen=True)
class DriverFrame:
    """Exposure and answers up to the month released.

    Attributes
    ----------
    first, last : Month
        First and last month.
    exposure : pandas.DataFrame
        Rows of ``release/500_driver_exposure``.
    answers : pandas.DataFrame
        Rows of ``release/410_effect_answer``.
    """

    first: Month
    last: Month
    exposure: pd.DataFrame
    answers: pd.DataFrame

    @property
    def period(self) -> str:
        """The months, in words."""
        return f"{self.first} to {self.last}"


def driver_frame(job: Job, first: Month) -> DriverFrame:
    """Read exposure and answers from the facts.

    Parameters
    ----------
    job : Job
        Edition in the making, facts built.
    first : Month
        First month that may be compared with the one released.

    Returns
    -------
    DriverFrame
        The frame.
    """
    span = {"first": first.first_day, "month": job.month.first_day}
    return DriverFrame(
        first, job.month,
        job.con.execute(sql("release/500_driver_exposure"), span).df(),
        job.con.execute(sql("release/410_effect_answer"), span).df(),
    )  # fmt: skip


def first_answered(job: Job) -> Month | None:
    """Return the first month with answers, or None before there are any.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    Month or None
        The month.
    """
    found = job.con.execute("select min(month) from facts.symptom where team is not null").fetchall()[0][0]
    return None if found is None else month_of(found)


@dataclass(frozen=True)
class RegionData:
    """Answers of one region, ready for the models.

    Attributes
    ----------
    data : DriverData
        Answers of months with logged work and known force.
    names : tuple of str
        Pseudonym of each person code.
    left_out : int
        Answers of months without logged work, or with most of the force unmeasured.
    """

    data: DriverData
    names: tuple[str, ...]
    left_out: int


def region_data(frame: DriverFrame, region: str) -> RegionData:
    """Join one region's answers with the same month's exposure.

    Parameters
    ----------
    frame : DriverFrame
        Exposure and answers.
    region : str
        Region.

    Returns
    -------
    RegionData
        The data. Age enters by band; a band nobody gave is one of its own.
    """
    own = frame.answers[frame.answers["region"] == region]
    joined = own.merge(frame.exposure, on=["person", "month"], suffixes=("", "_roster"))
    known: Any = joined[joined["force"].notna() & joined["force_dose"].notna()]
    person, names = _coded(known["person"])
    team, _ = _coded(known["team"])
    age, _ = _coded(known["age_band"].fillna("not given"))
    data = DriverData(
        person, team, known["month"].to_numpy(np.int64), known["hours"].to_numpy(float),
        known["force_dose"].to_numpy(float), known["is_case"].to_numpy(bool),
        {THUMB_FORCE: known["force"].to_numpy(float), AGE: age},
    )  # fmt: skip
    return RegionData(data, names, len(own) - len(known))


def exposure_history(frame: DriverFrame, names: tuple[str, ...]) -> ExposureHistory:
    """Return everybody's exposure of all months on a roster, whether they answered or not.

    Parameters
    ----------
    frame : DriverFrame
        Exposure and answers.
    names : tuple of str
        Pseudonyms in the order of their codes.

    Returns
    -------
    ExposureHistory
        A month without logged work is a month of zero hours.
    """
    code = {name: k for k, name in enumerate(names)}
    rows: Any = frame.exposure[frame.exposure["person"].isin(code)]
    return ExposureHistory(
        rows["person"].map(code).to_numpy(np.int64), rows["month"].to_numpy(np.int64),
        rows["hours"].to_numpy(float), rows["force_dose"].fillna(0.0).to_numpy(float),
    )  # fmt: skip


def entered(found: RegionData) -> dict[str, str]:
    """Return how each person enters: the months answered, with their hours.

    Parameters
    ----------
    found : RegionData
        Answers.

    Returns
    -------
    dict of str to str
        Pseudonym to months and hours; only a digest of it is kept.
    """
    data = found.data
    told: dict[str, list[str]] = {}
    for k in np.lexsort((data.month, data.person)):
        told.setdefault(found.names[data.person[k]], []).append(f"{data.month[k]}:{data.hours[k]:.3f}")
    return {name: ",".join(months) for name, months in told.items()}


def group_cells(frame: DriverFrame, region: str) -> pd.DataFrame:
    """Return teams by quarter with answers, cases and mean exposure.

    Parameters
    ----------
    frame : DriverFrame
        Exposure and answers.
    region : str
        Region.

    Returns
    -------
    pandas.DataFrame
        One row a team and quarter; quarters count from the first month's.
    """
    shift = (frame.first.month - 1) % 3
    own = frame.answers[frame.answers["region"] == region]
    answers = own.assign(quarter=(own["month"] + shift) // 3).groupby(["team", "quarter"])["is_case"]
    counted = answers.agg(cases="sum", n="count")
    exposed = frame.exposure.assign(quarter=(frame.exposure["month"] + shift) // 3)
    means: Any = exposed.groupby(["team", "quarter"])[list(CELL_COLUMNS)].mean()
    return counted.join(means, how="inner").reset_index()


def _coded(values: pd.Series) -> tuple[np.ndarray, tuple[str, ...]]:
    codes, names = pd.factorize(values, sort=True)
    return codes.astype(np.int64), tuple(map(str, names))
