"""What goes with discomfort: one declared main question and exploratory regions, once a year at most."""

from collections.abc import Callable, Sequence

from etl.case_rules import series_start
from etl.release_calendar import Month, parse_month
from etl.release_driver_checks import checked
from etl.release_driver_diagram import diagram_rows
from etl.release_driver_effects import onset, prevalence, sensitivity, within
from etl.release_driver_frame import (
    THUMB_FORCE,
    DriverFrame,
    RegionData,
    driver_frame,
    first_answered,
    region_data,
)
from etl.release_driver_gate import region_gate
from etl.release_driver_pictures import pictures, without_numbers
from etl.release_driver_prediction import prediction_rows
from etl.release_driver_stated import CANNOT, Stated, standing_out, withheld
from etl.release_driver_trust import reports_of, trust_rows
from etl.release_register import apart
from etl.release_rows import Job, Row, Rows, nobody
from models.disclosure import band_text
from models.driver_records import EXPLORATORY, MAIN, Refusal, attempt
from models.guides import weekly_hours

EARLIER = "stated earlier"
"""Word of a quarter without a statement of its own, as its people carry no further one yet."""

ADJUSTED = "age, thumb force, trend and season"


def driver_rows(
    job: Job, progress: Callable[[str, int, int], None] = nobody, reliability: Sequence[Row] = ()
) -> Rows:
    """State what goes with discomfort, at the close of a quarter.

    Parameters
    ----------
    job : Job
        Edition in the making, in its transaction, tokens given.
    progress : callable
        Told what is being done, how many steps are done, and of how many.
    reliability : sequence of tuple
        Rows of table ``reliability`` of the same edition.

    Returns
    -------
    Rows
        Rows of the ``driver_`` tables; one line that says why where people or year allow no further statement
        on the main question, so that numbers of two statements are never mixed; none within a
        quarter or before there are twelve months of answers.
    """
    rows = Rows()
    first = _due(job)
    if first is None:
        return rows
    frame = driver_frame(job, first)
    main = job.settings.drivers.region
    why = _not_again(job, frame, main)
    if why is not None:
        head = (job.month.quarter, frame.period, main, MAIN)
        rows.add(
            "driver_statement", [(*head, EARLIER, f"Not said again: {why}.", ADJUSTED, *[None] * 3, why)]
        )
        return rows
    others = sorted(set(frame.answers["region"]) - {main})
    steps = len(others) + 3
    progress(f"drivers: {main}", 0, steps)
    stated = {main: _main(job, rows, frame, main)}
    explored: dict[str, Stated] = {}
    for done, region in enumerate(others, start=1):
        progress(f"drivers: {region}", done, steps)
        found = attempt(lambda region=region: region_data(frame, region))
        if isinstance(found, Refusal):
            continue
        explored[region] = prevalence(found, "hours", region_gate(job, frame, found, region))
    fdr = standing_out(explored)
    quarter = job.month.quarter
    rows.add(
        "driver_effect",
        [(quarter, *one.row(region, EXPLORATORY, fdr.get(region))) for region, one in explored.items()],
    )
    stated |= {region: [one] for region, one in explored.items()}
    rows.add("driver_trust", _after(quarter, trust_rows(stated, reports_of(reliability))))
    nodes, arrows = diagram_rows()
    rows.add("driver_node", nodes)
    rows.add("driver_arrow", arrows)
    progress("drivers: done", steps, steps)
    return rows


def _due(job: Job) -> Month | None:
    if not job.month.is_quarter_end:
        return None
    first = first_answered(job)
    since = series_start(job.settings.symptoms, job.month)
    if first is None:
        return None
    # Another definition of discomfort begins another series; nothing is compared across.
    first = max(first, parse_month(since)) if since else first
    return first if apart(first, job.month) + 1 >= job.settings.drivers.least_months else None


def _not_again(job: Job, frame: DriverFrame, region: str) -> str | None:
    found = attempt(lambda: region_data(frame, region))
    return None if isinstance(found, Refusal) else region_gate(job, frame, found, region).again


def _main(job: Job, rows: Rows, frame: DriverFrame, region: str) -> list[Stated]:
    quarter = job.month.quarter
    found = attempt(lambda: region_data(frame, region))
    head = (quarter, frame.period, region, MAIN)
    if isinstance(found, Refusal):
        rows.add("driver_statement", [(*head, CANNOT, found.sentence, ADJUSTED, None, None, None, None)])
        return []
    gate = region_gate(job, frame, found, region)
    effects = [prevalence(found, exposure, gate) for exposure in ("hours", THUMB_FORCE, "force")]
    effects += [onset(found, gate), within(found, gate), *sensitivity(found, gate)]
    checks, why = checked(found)
    rows.add("driver_check", [(quarter, region, *check) for check in checks])
    if why is not None and effects[0].reason is None:
        effects[0] = withheld(effects[0], why)
    rows.add("driver_effect", [(quarter, *one.row(region, MAIN, None)) for one in effects])
    rules = job.settings.exposure
    guide = weekly_hours(rules.yearly_hours_guide, rules.working_weeks_per_year).value
    drawn = pictures(frame, found, region, round(guide, 1), job.settings.drivers.rise_points, gate)
    if why is not None:
        drawn = without_numbers(drawn, why)
    for table in ("curve", "lag", "budget", "share"):
        rows.add(f"driver_{table}", _after(quarter, getattr(drawn, table)))
    predicted, features = prediction_rows(frame, region, found.data.people, gate)
    rows.add("driver_prediction", _after(quarter, predicted))
    rows.add("driver_importance", _after(quarter, features))
    rows.add("driver_statement", [(*head, *_statement(effects[0], found))])
    return effects


def _after(quarter: str, rows: list[Row]) -> list[Row]:
    return [(quarter, *row) for row in rows]


def _statement(one: Stated, found: RegionData) -> Row:
    asked = len(found.data) + found.left_out
    left_out = round(100 * found.left_out / asked) if asked else None
    if one.reason is not None:
        return one.word, one.sentence, ADJUSTED, None, None, None, one.reason
    return one.word, one.sentence, ADJUSTED, band_text(one.people), one.teams, left_out, None
