"""Exposure figures of an edition: means over people, with floor, dominance and hidden remainder."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from etl.release_calendar import iso_week
from etl.release_measures import MEASURES, NOT_MEASURED, Measure
from etl.release_rows import Job, Row, name_of, parent_of
from etl.settings import Settings
from etl.sqlfiles import sql
from models.disclosure import band_text
from models.groupmean import ratio_over_people
from models.guides import standing
from models.suppression import Cell, Rule, cell_of, suppress

Lattice = Mapping[tuple[str, str], str | None]
"""(level, unit) to the code of the unit above."""


@dataclass(frozen=True)
class Figure:
    """A protected exposure figure.

    Attributes
    ----------
    value, low, high : float or None
        Figure and interval, None where hidden.
    n_band : str or None
        Band of the people it rests on.
    reason : str or None
        Words in place of a hidden figure.
    """

    value: float | None
    low: float | None
    high: float | None
    n_band: str | None
    reason: str | None


def exposure_rule(settings: Settings) -> Rule:
    """Return the rule of exposure figures.

    Parameters
    ----------
    settings : Settings
        The institute's settings.

    Returns
    -------
    Rule
        Floor and dominance limits.
    """
    privacy = settings.privacy
    return Rule(privacy.exposure_floor, True, privacy.largest_share, privacy.two_largest_share)


def lattice(job: Job) -> dict[tuple[str, str], str | None]:
    """Return the nested units of the organisation.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.

    Returns
    -------
    dict
        (level, unit) to the code of the unit above.
    """
    rows = job.con.execute(
        "select distinct level, unit, parent from release_place "
        "order by array_position(['organisation', 'cluster', 'team'], level), unit"
    ).fetchall()
    return {(level, unit): parent for level, unit, parent in rows}


def people_sums(job: Job, first: date, after: date) -> pd.DataFrame:
    """Sum up each person's work by unit of the temporary table ``release_group``.

    Parameters
    ----------
    job : Job
        Edition in the making.
    first, after : date
        First day of the span, and the day after its last.

    Returns
    -------
    pandas.DataFrame
        One row a unit and person; columns as in ``release/080_exposure``.
    """
    guides = job.settings.exposure
    return job.con.execute(
        sql("release/080_exposure"),
        {
            "from": first,
            "to": after,
            "long_spell_us": round(guides.long_spell_minutes * 60e6),
            "force_guide_mn": int(guides.thumb_force_guide_n * 1000),
        },
    ).df()


def protected_figures(
    people: pd.DataFrame, units: Lattice, measure: Measure, rule: Rule
) -> dict[tuple[str, str], Figure]:
    """Return one measure for every unit.

    People count in a unit's cell if they have anything the measure refers to; the spread of their
    pipetting hours decides on dominance. Somebody who changed team within the span counts in both.

    Parameters
    ----------
    people : pandas.DataFrame
        One row a unit and person.
    units : mapping
        (level, unit) to the unit above.
    measure : Measure
        What to compute.
    rule : Rule
        Floor and dominance limits.

    Returns
    -------
    dict
        (level, unit) to its figure.
    """
    above, below = (
        np.asarray(column(people), dtype=float) for column in (measure.numerator, measure.denominator)
    )
    hours = people["pipetting_us"].to_numpy()
    indices: Any = people.groupby(["level", "unit"], sort=False).indices
    none = np.array([], dtype=np.int64)
    places = {key: own[below[own] > 0] for key in units for own in (indices.get(key, none),)}
    cells = [
        cell_of(name_of(*key), parent_of(key[0], parent), hours[places[key]].tolist())
        for key, parent in units.items()
    ]
    hidden = suppress(cells, rule)
    measured = bool((below > 0).any()) or not measure.needs_force
    return {
        key: _figure(above[own], below[own], measure, hidden[name_of(*key)] if measured else NOT_MEASURED)
        for key, own in places.items()
    }


def _figure(above: np.ndarray, below: np.ndarray, measure: Measure, reason: str | None) -> Figure:
    if reason is not None or not len(below):
        return Figure(None, None, None, None, reason)
    found = ratio_over_people(above, below, most=measure.most)
    assert found is not None, "the floor lets no group below five people through"
    value, low, high = (float(np.round(x, measure.digits)) for x in (found.value, found.low, found.high))
    return Figure(value, low, high, band_text(found.people), None)


def exposure_rows(job: Job) -> list[Row]:
    """Return the rows of table ``exposure``: the month, and each ISO week that ends in it.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    job.con.execute(
        "create or replace temp table release_group as select team, level, unit from release_place"
    )
    units = lattice(job)
    rows = _span(
        job, units, str(job.month), "month", job.month.first_day, job.month.plus(1).first_day, MEASURES
    )
    weekly = [m for m in MEASURES if m.weekly]
    for monday in job.month.weeks_ending():
        rows += _span(job, units, iso_week(monday), "week", monday, monday + timedelta(weeks=1), weekly)
    return rows


def _span(
    job: Job, units: Lattice, period: str, kind: str, first: date, after: date, measures: Sequence[Measure]
) -> list[Row]:
    people = people_sums(job, first, after)
    rule = exposure_rule(job.settings)
    rows: list[Row] = []
    for measure in measures:
        guide = measure.guide(job.settings)
        for (level, unit), figure in protected_figures(people, units, measure, rule).items():
            word = standing(figure.value, guide, job.settings.exposure.near_guide_fraction) if guide else None
            rows.append((
                period, kind, level, unit, measure.key, figure.value, figure.low, figure.high, measure.unit,
                figure.n_band, guide.value if guide else None, word, measure.method, figure.reason,
            ))  # fmt: skip
    return rows


def coverage_rows(job: Job) -> list[Row]:
    """Return the rows of table ``coverage``: how much of the work the log knows.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    found = job.con.execute(sql("release/100_coverage"), {"month": job.month.first_day}).fetchall()
    cells = [
        Cell(name_of(level, unit), parent_of(level, parent), people)
        for level, unit, parent, people, *_ in found
    ]
    hidden = suppress(cells, Rule(job.settings.privacy.exposure_floor))
    rows: list[Row] = []
    for level, unit, _, people, logged, us, known_us in found:
        head = (str(job.month), level, unit)
        words = hidden[name_of(level, unit)]
        if words is not None:
            rows.append((*head, None, None, None, words))
        else:
            known = round(100 * known_us / us) if us else None
            rows.append((*head, band_text(people), 5 * round(20 * logged / people), known, None))
    return rows
