"""What is true: one institute's people, work, exposure, health, changes and outcomes from one seed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from demo_data.catalogue import Station, stations
from demo_data.changes import Change, designed_changes, outcome_change
from demo_data.days import Calendar, calendar
from demo_data.institute import REGIONS, SITES, Plan, plan
from demo_data.outcomes import Outcomes, outcomes
from demo_data.people import People, people
from demo_data.registers import change_sheet, hours_sheet, team_sheet
from demo_data.sheets import Sheet, bout_sheets, instrument_sheet, people_sheet, station_sheet, stroke_sheet
from demo_data.strokes import log_month, logged, tell_strokes
from demo_data.studies import diary_sheet, observation_sheet
from demo_data.survey import by_side, long_sheets, wide_sheets
from demo_data.symptoms import CASE, SURVEY_DAY, Health, feel, respond
from demo_data.work import Bouts, Dose, draw_bouts

# One stream of chance a part: a change in one part leaves the others as they were.
_PARTS = (
    "people", "stations", "work", "symptoms", "chance", "response", "sides", "hindered", "outcomes", "dirt",
    "studies",
)  # fmt: skip


@dataclass(frozen=True)
class World:
    """Everything that is true of one institute, before anything is exported or spoilt."""

    plan: Plan
    cal: Calendar
    staff: People
    benches: tuple[Station, ...]
    bouts: Bouts
    dose: Dose
    health: Health
    changes: tuple[Change, ...]
    outcomes: Outcomes


def streams(seed: int) -> dict[str, np.random.Generator]:
    """Return one independent generator a part.

    Parameters
    ----------
    seed : int
        The demo's seed.

    Returns
    -------
    dict of str to numpy.random.Generator
        By name of the part.
    """
    return {
        part: np.random.default_rng(child)
        for part, child in zip(_PARTS, np.random.SeedSequence(seed).spawn(len(_PARTS)), strict=True)
    }


def world(scale: str, rng: dict[str, np.random.Generator]) -> World:
    """Draw the institute's true course.

    Parameters
    ----------
    scale : {'full', 'small'}
        Size.
    rng : dict of str to numpy.random.Generator
        From `streams`.

    Returns
    -------
    World
        People, work, exposure, health, changes and outcomes.
    """
    the_plan = plan(scale)
    cal = calendar(the_plan)
    staff = people(the_plan, cal, rng["people"])
    benches = stations(the_plan, rng["stations"])
    designed = designed_changes(the_plan)
    bouts, dose = draw_bouts(the_plan, cal, staff, benches, designed, rng["work"])
    survey_days = np.searchsorted(cal.month, np.arange(the_plan.months)) + SURVEY_DAY - 1
    team = staff.team_on[:, survey_days].astype(int)
    eta, score, rank = feel(the_plan, staff, dose, designed, team, rng["symptoms"], rng["chance"])
    answered, rate = respond(the_plan, team, score, rng["response"])
    health = Health(eta, score, team, answered, rate, rank)
    hand = score[..., REGIONS.index("WRIST_HAND")] >= CASE
    changes = (*designed, outcome_change(the_plan, hand, answered, team))
    team_hours = np.stack(
        [
            [dose.hours[team[:, m] == t, m].mean() for m in range(the_plan.months)]
            for t in range(len(the_plan.teams))
        ]
    )
    found = outcomes(the_plan, cal.month, staff, team_hours, rng["outcomes"])
    in_order = tuple(sorted(changes, key=lambda change: change.kind.code))
    return World(the_plan, cal, staff, benches, bouts, dose, health, in_order, found)


def clean_sheets(found: World, rng: dict[str, np.random.Generator]) -> Iterator[Sheet]:
    """Write down what every site and the institute export, before any dirt.

    Parameters
    ----------
    found : World
        What is true.
    rng : dict of str to numpy.random.Generator
        Streams ``sides``, ``hindered`` and ``studies`` are used.

    Yields
    ------
    Sheet
        One a file.
    """
    the_plan, staff = found.plan, found.staff
    yield team_sheet(the_plan)
    yield change_sheet(the_plan, found.changes)
    yield hours_sheet(the_plan, found.outcomes)
    told = logged(the_plan, found.bouts)
    kept = found.bouts.take(~told)
    sides = by_side(found.health.score, staff.left_handed, rng["sides"])
    for site in SITES:
        yield people_sheet(site, the_plan, found.cal, staff)
        yield instrument_sheet(site)
        yield station_sheet(site, the_plan, found.benches)
        yield from bout_sheets(site, the_plan, staff, found.benches, kept)
        if site == "NORTH":
            yield from long_sheets(site, the_plan, staff, found.health, sides, rng["hindered"])
        else:
            yield from wide_sheets(site, the_plan, staff, found.health, sides)
    log_site = the_plan.teams[the_plan.of_part("stroke_log")[0]].site
    month = the_plan.month_list[log_month(the_plan)]
    yield stroke_sheet(log_site, month, staff, tell_strokes(found.bouts.take(told)))
    yield observation_sheet(the_plan, found.benches, rng["studies"])
    yield diary_sheet(the_plan, found.cal, staff, found.dose, rng["studies"])
