"""What a survey form asks and how each site exports the answers: long rows or one wide line a person."""

from collections.abc import Iterator

import numpy as np
import pyarrow as pa

from demo_data.dialect import dialect
from demo_data.institute import REGIONS, SIDED, Plan
from demo_data.people import People
from demo_data.sheets import Sheet
from demo_data.symptoms import CASE, Health

# One question a region, or one a side where the region has sides.
QUESTIONS = tuple(
    (number, side)
    for number, region in enumerate(REGIONS)
    for side in (("LEFT", "RIGHT") if region in SIDED else ("NONE",))
)
_SIDES = ("LEFT", "RIGHT", "NONE")
WORKING_HAND_WORSE = 0.7
# Chance that discomfort of the month was also there in its last 7 days, at score 0 and for each point more.
WEEK_SHARE, WEEK_SLOPE = 0.2, 0.07


def by_side(score: np.ndarray, left_handed: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Split a region's score over the sides: the worse side has it, the other a part of it.

    Parameters
    ----------
    score : numpy.ndarray, (people, months, regions)
        Scores of regions.
    left_handed : numpy.ndarray of bool, (people,)
        Working hand.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    numpy.ndarray of int8, (people, months, questions)
        One score a question.
    """
    own_side = rng.random((score.shape[0], 1, score.shape[2])) < WORKING_HAND_WORSE
    left_worse = np.where(own_side, left_handed[:, None, None], ~left_handed[:, None, None])
    other = np.floor(score * rng.random(score.shape)).astype(np.int8)
    out = np.empty((*score.shape[:2], len(QUESTIONS)), np.int8)
    for number, (region, side) in enumerate(QUESTIONS):
        worse = True if side == "NONE" else left_worse[..., region] == (side == "LEFT")
        out[..., number] = np.where(worse, score[..., region], other[..., region])
    return out


def _years(plan: Plan) -> Iterator[tuple[int, np.ndarray]]:
    years = 1970 + plan.month_list.astype(int) // 12
    for year in np.unique(years):
        yield int(year), np.flatnonzero(years == year)


def _asked(plan: Plan, health: Health, site: str, months: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    at_site = np.array([team.site == site for team in plan.teams] + [False])
    month, person = np.nonzero(at_site[health.team[:, months]].T)
    return person, months[month]


def long_sheets(
    site: str, plan: Plan, staff: People, health: Health, sides: np.ndarray, rng: np.random.Generator
) -> Iterator[Sheet]:
    """Write one row a question; an empty score means asked, not answered.

    Parameters
    ----------
    site, plan, staff, health, sides
        The site, the institute, its people, their health and their scores by question.
    rng : numpy.random.Generator
        Source of chance for "hindered" and, spawned, "last 7 days".

    Yields
    ------
    Sheet
        One a calendar year.
    """
    way = dialect(site)
    week = rng.spawn(1)[0]
    regions = np.array([question[0] for question in QUESTIONS])
    side = np.array([_SIDES.index(question[1]) for question in QUESTIONS])
    for year, months in _years(plan):
        person, month = _asked(plan, health, site, months)
        score = sides[person, month].ravel()
        answered = np.repeat(health.answered[person, month], len(QUESTIONS))
        hindered = (score >= CASE) & (rng.random(score.size) < 0.1 + 0.12 * (score - CASE))
        rows = np.repeat(np.arange(person.size), len(QUESTIONS))
        # A stream of its own: asking one thing more must not change anything else that is drawn.
        recent = (score > 0) & (week.random(score.size) < WEEK_SHARE + WEEK_SLOPE * score)
        yes_no = way.coded("survey", "hindered", ("false", "true"))
        columns = {
            "person": pa.array(staff.pseudonym.tolist()).take(pa.array(person[rows])),
            "month": way.months(plan.month_list[month[rows]]),
            "region": way.code("survey", "region", REGIONS, np.tile(regions, person.size)),
            "side": way.code("survey", "side", _SIDES, np.tile(side, person.size)),
            "score": pa.array(score, mask=~answered).cast(pa.string()),
            "hindered": pa.array(yes_no).take(pa.array(hindered.astype(int), mask=~answered)),
            "trouble_7d": pa.array(yes_no).take(pa.array(recent.astype(int), mask=~answered)),
        }
        name = f"{site.lower()}_survey_{year}.csv"
        yield Sheet(site, "surveys", "survey", name, way.headed("survey", columns))


def wide_sheets(site: str, plan: Plan, staff: People, health: Health, sides: np.ndarray) -> Iterator[Sheet]:
    """Write one line a person and month with one column a question.

    Parameters
    ----------
    site, plan, staff, health, sides
        As in `long_sheets`.

    Yields
    ------
    Sheet
        One a calendar year.
    """
    way = dialect(site)
    wide = way.toml["sources"]["survey"]["wide"]
    header = {(REGIONS.index(one["region"]), one.get("side", "NONE")): name for name, one in wide.items()}
    for year, months in _years(plan):
        person, month = _asked(plan, health, site, months)
        silent = ~health.answered[person, month]
        table = way.headed(
            "survey",
            {
                "person": staff.pseudonym[person].tolist(),
                "month": way.months(plan.month_list[month]),
            },
        )
        for number, question in enumerate(QUESTIONS):
            cells = pa.array(sides[person, month, number], mask=silent).cast(pa.string())
            table = table.append_column(header[question], pa.chunked_array([cells]))
        name = f"{site.lower()}_survey_{year}.xlsx"
        yield Sheet(site, "surveys", "survey", name, table, answers=len(QUESTIONS))
