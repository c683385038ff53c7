"""Two small studies of the North house: hours as people remember them, and what walk-throughs saw."""

import numpy as np

from demo_data.catalogue import Station
from demo_data.days import Calendar
from demo_data.dialect import dialect
from demo_data.institute import Plan
from demo_data.people import People
from demo_data.sheets import Sheet
from demo_data.symptoms import SURVEY_DAY
from demo_data.work import Dose

SITE = "NORTH"
MONTHS = 3
"""Last months of the history that people report on; of the first of them they report twice."""

# People remember a fifth too much, each with a habit of their own, and no report is like the last.
RECALL, HABIT, SLIP, KEEPING = 1.2, 0.25, 0.20, 0.95
_POSTURES = {
    "NECK_BENT": (45, 15), "ARM_RAISED": (25, 15), "ELBOW_UNSUPPORTED": (60, 15), "WRIST_BENT": (40, 15),
    "BACK_BENT": (20, 10), "EDGE_PRESSURE": (30, 20), "STANDING": (35, 30),
}  # fmt: skip


def diary_sheet(plan: Plan, cal: Calendar, staff: People, dose: Dose, rng: np.random.Generator) -> Sheet:
    """Write what people of the house say they pipette a week.

    Reported = true x 1.2 x exp(habit + slip), habit and slip normal with deviations .25 and .20, rounded to
    half hours; 19 of 20 people keep the diary.

    Parameters
    ----------
    plan, cal, staff, dose
        The institute, its days, its people and their true hours.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Sheet
        One row a person, month and report.
    """
    way = dialect(SITE)
    months = np.arange(plan.months - MONTHS, plan.months)
    home = np.array([team.site == SITE for team in plan.teams])
    team = staff.team_on[:, np.searchsorted(cal.month, months) + SURVEY_DAY - 1].astype(int)
    keeps = rng.random(staff.drive.size) < KEEPING
    habit = rng.normal(0, HABIT, size=staff.drive.size)
    person, month, report = [], [], []
    for who in np.flatnonzero(keeps):
        for place, number in enumerate(months):
            if team[who, place] >= 0 and home[team[who, place]]:
                for again in range(2 if place == 0 else 1):
                    person.append(who)
                    month.append(number)
                    report.append(again + 1)
    who, when = np.array(person, int), np.array(month, int)
    slip = rng.normal(0, SLIP, size=who.size)
    hours = np.round(2 * RECALL * dose.hours[who, when] * np.exp(habit[who] + slip)) / 2
    columns = {
        "person": staff.pseudonym[who].tolist(),
        "month": way.months(plan.month_list[when]),
        "report": [str(number) for number in report],
        "hours_per_week": way.quantity("diaries", "hours_per_week", np.minimum(hours, 60)),
    }
    return Sheet(SITE, "diaries", "diaries", "north_diaries.csv", way.headed("diaries", columns))


def observation_sheet(plan: Plan, benches: tuple[Station, ...], rng: np.random.Generator) -> Sheet:
    """Write what was seen at each bench of the house on the day it was measured.

    Parameters
    ----------
    plan, benches
        The institute and all benches.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Sheet
        One row a bench and posture.
    """
    way = dialect(SITE)
    here = [bench for bench in benches if plan.teams[plan.index(bench.team)].site == SITE]
    rows = [(bench, posture, *size) for bench in here for posture, size in _POSTURES.items()]
    share = np.clip([rng.normal(mean, sd) for _, _, mean, sd in rows], 0, 100)
    days = np.array([bench.observed_on for bench, *_ in rows], "datetime64[D]")
    columns = {
        "station": [bench.code for bench, *_ in rows],
        "observed_on": way.dates(days),
        "posture": [posture for _, posture, *_ in rows],
        "share_percent": way.number(5 * np.round(share / 5), 0),
        "watched": way.quantity("observations", "watched", np.full(len(rows), 0.5)),
    }
    return Sheet(
        SITE, "observations", "observations", "north_observations.csv", way.headed("observations", columns)
    )
