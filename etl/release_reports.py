"""How far self-reported hours can be trusted: stated once a quarter, for the organisation."""

from collections.abc import Callable
from math import ceil, floor

import numpy as np

from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.disclosure import band_text
from models.self_report import Reliability, assumed_reliability, calibration, reliability_of_two

MONTHS_BACK = 12
STEP = 0.05
"""Reliabilities are rounded to this, limits outward; with the floor no single report can be read off."""

BIAS_STEP = 0.5


def report_rows(job: Job) -> list[Row]:
    """Return the rows of table ``reliability``; none within a quarter.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows without the edition number: one a way in which reports were checked, or one that says what is
        assumed where nobody, or too few people, did.
    """
    if not job.month.is_quarter_end:
        return []
    span = {"first": job.month.plus(1 - MONTHS_BACK).first_day, "after": job.month.plus(1).first_day}
    frame = job.con.execute(sql("release/530_report_pair"), span).df()
    columns = {name: frame[name].to_numpy(dtype=float) for name in ("reported", "logged", "again", "second")}
    least = job.settings.privacy.health_floor_month
    found = [
        one
        for one in (
            calibration(columns["reported"], columns["logged"]),
            reliability_of_two(columns["again"], columns["second"]),
        )
        if one is not None and one.people >= least
    ]
    return [_row(job, one) for one in found or [assumed_reliability()]]


def _row(job: Job, found: Reliability) -> Row:
    low, high = _outward(found.low, floor), _outward(found.high, ceil)
    value = round(round(found.value / STEP) * STEP, 2)
    bias = None if np.isnan(found.bias) else BIAS_STEP * round(found.bias / BIAS_STEP)
    # An effect estimated from reports is flattened by the reliability; nothing is said where it may be none.
    factors = (round(1 / high, 2), round(1 / low, 2)) if low > 0 else (None, None)
    band = band_text(found.people) if found.people else None
    return (
        str(job.month), "organisation", "ORG", found.way, band, value, low, high, bias, *factors,
        sentence(found.way, band, value, low, high, bias, factors), "self_report.reliability",
    )  # fmt: skip


def _outward(value: float, way: Callable[[float], int]) -> float:
    return round(way(round(value / STEP, 6)) * STEP, 2)


def sentence(
    way: str, band: str | None, value: float, low: float, high: float, bias: float | None,
    factors: tuple[float | None, float | None],
) -> str:  # fmt: skip
    """Return a reliability in words.

    Parameters
    ----------
    way : str
        As in `models.self_report.Reliability`.
    band : str or None
        People it rests on.
    value, low, high : float
        Reliability with its limits.
    bias : float or None
        Reported less logged hours a week.
    factors : tuple
        How much stronger an effect per true hour would be, at least and at most.

    Returns
    -------
    str
        One to three sentences.
    """
    stronger = (
        f"n effect estimated from reports would be {factors[0]:g} to {factors[1]:g} times as strong for a "
        f"true hour."
        if factors[0] is not None and factors[1] is not None
        else "nything estimated from reports could be noise: the reliability may be none at all."
    )
    share = f"{100 * value:.0f} % ({100 * low:.0f} to {100 * high:.0f})"
    if way == "assumed":
        return (
            "Too few people have reports beside a log, or two reports. If "
            f"{100 * low:.0f} to {100 * high:.0f} % of the spread of reported hours were true, a{stronger}"
        )
    if way == "two reports":
        return (
            f"{band} people reported the same months twice: {share} of the spread of one report is steady; a "
            f"habit of reporting too much does not show here. A{stronger}"
        )
    told = "about as many hours as are logged"
    if bias:
        told = f"about {abs(bias):g} h a week {'more' if bias > 0 else 'less'} than is logged"
    return (
        f"{band} people have reports beside their log. Of 1 h more in a report {value:g} h ({low:g} to "
        f"{high:g}) stands in the log; people report {told}. A{stronger}"
    )
