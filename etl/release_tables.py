"""The plain tables of an edition: units, recorded cases, what became of the rows, and methods."""

from etl.reasons import REASONS
from etl.release_flag_setup import limits_in_force
from etl.release_method import METHODS
from etl.release_method_case import case_methods
from etl.release_method_change import CHANGE_METHODS
from etl.release_method_dose import DOSE_METHODS
from etl.release_method_driver import DRIVER_METHODS
from etl.release_method_flags import FLAG_METHODS, health_flag_methods
from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.disclosure import TOO_SMALL, band_text, compatible_counts, round_count, rounding_draw
from models.flag_setup import Setup
from models.rates import rate

CASE_KIND = "recorded cases/year"


def unit_rows(job: Job) -> list[Row]:
    """Return the units with their headcount of the month as a band.

    Parameters
    ----------
    job : Job
        Edition in the making, its table of places made.

    Returns
    -------
    list of tuple
        Rows of table ``unit`` without the edition number.
    """
    rows = job.con.execute(
        sql("release/020_unit"), {"month": job.month.first_day, "institute": job.settings.institute}
    ).fetchall()
    return [(*row[:5], band_text(row[5])) for row in rows]


def case_rows(job: Job) -> list[Row]:
    """Return the recorded cases of the organisation, once a calendar year is complete.

    The count is rounded with a draw keyed by everybody on the December roster; the interval spans the
    exact Poisson limits of every true count compatible with it.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows of table ``case_rate`` without the edition number; none outside December or without hours.
    """
    if job.month.month != 12:
        return []
    months, hours, recordable, lost = job.con.execute(
        sql("release/120_hours"), {"year": job.month.year}
    ).fetchall()[0]
    if not months:
        return []
    tokens = [
        token
        for (token,) in job.con.execute(
            sql("release/170_key_roster"), {"month": job.month.first_day}
        ).fetchall()
    ]
    rows: list[Row] = []
    for kind, count in (("recordable", recordable), ("lost_time", lost)):
        head = (job.month.year, "organisation", "ORG", kind)
        if months < 12:
            words = f"not shown: hours of {months} of 12 months"
            rows.append((*head, None, None, None, None, None, words))
        elif len(tokens) < job.settings.privacy.health_floor_month or hours <= 0:
            rows.append((*head, None, None, None, None, None, TOO_SMALL))
        else:
            rows.append((*head, *_case_numbers(job, kind, count, hours, tokens), None))
    return rows


def _case_numbers(job: Job, kind: str, count: int, hours: float, tokens: list[str]) -> tuple[object, ...]:
    base = job.settings.privacy.rounding_base
    # One person can be a case more than once, so nothing caps the count but itself.
    ceiling = count + base
    draw = rounding_draw(job.key.secret, tokens, kind, CASE_KIND)
    published = round_count(count, ceiling, draw, base)
    least, most = compatible_counts(published, published + base, base)
    found = rate(published, hours, least=least, most=most)
    assert found is not None, "hours were checked by the caller"
    return round(hours, -2), published, round(found.value, 2), round(found.low, 2), round(found.high, 2)


def quality_rows(job: Job) -> tuple[list[Row], list[Row]]:
    """Return what became of the rows of all loaded files.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    tuple of list
        Rows of ``data_quality`` and of ``set_aside_reason``, without the edition number.
    """
    quality = job.con.execute(sql("release/130_quality")).fetchall()
    reasons = job.con.execute(sql("release/140_reason")).fetchall()
    return [*map(tuple, quality)], [
        (contract, code, count, REASONS[code].meaning, REASONS[code].remedy)
        for contract, code, count in reasons
    ]


def method_rows(job: Job, setup: Setup | None = None) -> list[Row]:
    """Return every formula, limit and threshold the edition rests on.

    Parameters
    ----------
    job : Job
        Edition in the making.
    setup : Setup or None
        Limits of the flags, once there are any.

    Returns
    -------
    list of tuple
        Rows of table ``method`` without the edition number; numbers are those in force.
    """
    flags = (*health_flag_methods(setup, limits_in_force(job, setup)), *FLAG_METHODS)
    cases = case_methods(job.con, job.month, job.settings.symptoms)
    methods = (*METHODS, *DOSE_METHODS, *cases, *flags, *CHANGE_METHODS, *DRIVER_METHODS)
    return [method.row(job.settings) for method in methods]
