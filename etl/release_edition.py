"""All rows of one edition: gates first, then the numbers, then the checks on them."""

from collections.abc import Sequence
from dataclasses import replace

from etl.case_rules import series_start
from etl.release_audit_case import audit_case
from etl.release_audit_plan import AuditPlan
from etl.release_calendar import Month
from etl.release_changes import change_rows, reach_rows
from etl.release_checks import (
    CheckRow,
    check_cells,
    check_exposure,
    check_flags,
    check_identifiers,
)
from etl.release_comparison import funnel_rows, weighted_rows
from etl.release_dose import dose_rows
from etl.release_dose_work import class_parts, dose_of_people
from etl.release_drivers import driver_rows
from etl.release_effect import effect_tables
from etl.release_exposure import coverage_rows, exposure_rows, lattice, people_sums
from etl.release_flag_setup import flag_setup, limits_in_force
from etl.release_flags import exposure_flags, health_flags
from etl.release_gate import refuse_empty, refuse_mixed, refuse_units
from etl.release_health import (
    average_rows,
    health_cells,
    health_rows,
    response_rows,
)
from etl.release_history import KnownRegister, adherence_rows, history_rows
from etl.release_item import item_rows
from etl.release_ladder import Judged, climb
from etl.release_ledger import (
    MONTH_KIND,
    HealthCell,
    LedgerWriter,
    check_key,
    give_tokens,
    published_counts,
    refuse_dropped_people,
)
from etl.release_method_case import case_rule_row
from etl.release_parts import part_rows
from etl.release_plan import add_plans
from etl.release_publish import edition_text
from etl.release_published import Past, published_quarters, with_this_month
from etl.release_reports import report_rows
from etl.release_rows import Job, Rows
from etl.release_smooth import smooth_rows
from etl.release_stations import station_rows
from etl.release_tables import case_rows, method_rows, quality_rows, unit_rows
from etl.release_trend import trend_rows
from etl.release_year import year_rows
from etl.sqlfiles import sql


def edition_rows(
    job: Job,
    reach: frozenset[tuple[str, bool]],
    effects: frozenset[str],
    past: Past,
    register: KnownRegister,
    audits: Sequence[CheckRow],
    plan: AuditPlan,
) -> tuple[Rows, list[HealthCell], CheckRow]:
    """Make every row of an edition, with its ledger written in the open transaction.

    Parameters
    ----------
    job : Job
        Edition in the making.
    reach : frozenset
        Changes that earlier editions stated; see `etl.release_changes.published_reach`.
    effects : frozenset
        Changes that earlier editions judged; see `etl.release_effect.published_effects`.
    past : mapping
        Exposure that earlier editions published; see `etl.release_published.published_exposure`.
    register : KnownRegister
        What earlier editions published of the register and of plans.
    audits : sequence of CheckRow
        What the audits of the store found.
    plan : AuditPlan
        Who judges the ledger, this edition included, if anybody.

    Returns
    -------
    tuple
        The rows, the judged health cells, and what the auditor said.

    Raises
    ------
    ReleaseRefused
        If the edition would break a rule.
    """
    con, month, privacy = job.con, job.month, job.settings.privacy
    check_key(con, job.key, job.edition)
    refuse_empty(con, month)
    refuse_mixed(con, month, job.settings.symptoms)
    con.execute(sql("release/010_place"))
    give_tokens(con)
    refuse_units(con, month, privacy)
    rosters = _rosters(job, month)
    earlier = {
        str(m): {t for _, _, group in _rosters(job, m) for t in group} for m in month.quarter_months()[:-1]
    }
    refuse_dropped_people(con, month, earlier)

    rows = Rows()
    judged = _judged_cells(job, rosters, plan)
    cells, audit, words = list(judged.cells), judged.check, judged.team_words
    units = lattice(job)
    rows.add("unit", unit_rows(job))
    rows.add("case_rule", [case_rule_row(month, job.settings.symptoms)])
    rows.add("health", health_rows(cells))
    rows.add("health_average", average_rows(rows.of("health")))
    rows.add("smooth", smooth_rows(job))
    before = published_counts(con, MONTH_KIND, str(month.plus(-12)))
    rows.add("trend", trend_rows(cells, month, before, series_start(job.settings.symptoms, month)))
    rows.add("response", response_rows(job))
    rows.add("item_response", item_rows(job))
    rows.add("exposure", exposure_rows(job))
    quarters = published_quarters(job)
    setup = flag_setup(job, quarters)
    if month.is_quarter_end:
        limits = limits_in_force(job, setup)
        wander = setup.wander if setup else None
        rows.add("flag", health_flags(cells, quarters, job.settings, words, limits, wander))
    rows.add("flag", exposure_flags(month, with_this_month(past, rows.of("exposure"))))
    rows.add("funnel", funnel_rows(month, quarters))
    rows.add("weighted", weighted_rows(job, cells))
    people = people_sums(job, month.first_day, month.plus(1).first_day)
    doses = dose_of_people(job, month.first_day, month.plus(1).first_day)
    rows.add("dose", dose_rows(job, units, people, doses))
    weeks: dict[tuple[str, str], float] = {}
    for level, unit, days in zip(people["level"], people["unit"], people["week_days"], strict=True):
        weeks[level, unit] = weeks.get((level, unit), 0) + days / 7
    rows.add("exposure_part", part_rows(job, units, weeks, class_parts(doses)))
    rows.add("station_fit", station_rows(job))
    rows.add("reliability", report_rows(job))
    rows.add("coverage", coverage_rows(job))
    rows.add("change", change_rows(job))
    rows.add("change_reach", reach_rows(job, reach))
    if not judged.silent:
        rows.add("year_figure", year_rows(job))
        said = effect_tables(job, effects)
        rows.add("change_effect", said.effect)
        rows.add("change_event", said.event)
        rows.add("change_check", said.check)
        add_plans(job, rows, register.plans)
        for table, stated in driver_rows(job, job.tell, rows.of("reliability")).by_table.items():
            rows.add(table, stated)
    rows.add("change_history", history_rows(job, register))
    rows.add("change_adherence", adherence_rows(job, register))
    rows.add("case_rate", case_rows(job))
    quality, reasons = quality_rows(job)
    rows.add("data_quality", quality)
    rows.add("set_aside_reason", reasons)
    rows.add("method", method_rows(job, setup))

    checks = check_cells(cells, units, privacy)
    checks.append(check_exposure([*rows.of("exposure"), *rows.of("dose")], privacy))
    checks.append(check_flags(rows.of("flag"), cells))
    checks.append(check_identifiers(con, edition_text(rows.by_table), job.key.secret))
    rows.add("audit_report", [check.row() for check in (audit, *checks, *audits)])
    return rows, cells, audit


def _rosters(job: Job, month: Month) -> list[tuple[str, str, list[str]]]:
    return job.con.execute(sql("release/030_roster"), {"month": month.first_day}).fetchall()


def _judged_cells(job: Job, rosters: list[tuple[str, str, list[str]]], plan: AuditPlan) -> Judged:
    """Protect the counts, and let the auditor judge the ledger with them."""
    months = job.month.quarter_months() if job.month.is_quarter_end else (job.month,)
    answered = job.con.execute(
        sql("release/035_answered"), {"first": months[0].first_day, "month": job.month.first_day}
    ).fetchall()
    writer = LedgerWriter(job.con, job.edition)
    return climb(
        health_cells(job),
        plan,
        lambda cells: writer.write(cells, rosters, answered, str(job.month)),
        lambda auditor, known: auditor(
            replace(audit_case(job, plan.since, plan.last), known=known or frozenset(), all=known is None)
        ),
    )
