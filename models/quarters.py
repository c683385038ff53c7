"""What a team's quarter looks like once it is published: cohort, any-month rule, floor and random rounding.

Turns invented monthly answers (`models.answering`) into the counts a release would show, so that flags
on published counts are calibrated on what they will meet.
"""

from dataclasses import dataclass

import numpy as np

from models.answering import Answers
from models.disclosure import HEALTH_FLOOR_TEAM, ROUNDING_BASE

MONTHS = 3


@dataclass(frozen=True)
class QuarterCounts:
    """Published counts of teams by quarter, arrays of shape (teams, quarters).

    Attributes
    ----------
    published : numpy.ndarray of int
        Rounded count; 0 where hidden.
    n : numpy.ndarray of int
        People counted; 0 where hidden.
    """

    published: np.ndarray
    n: np.ndarray


def quarter_counts(
    answers: Answers,
    rng: np.random.Generator,
    *,
    region: int = 0,
    floor: int = HEALTH_FLOOR_TEAM,
    base: int = ROUNDING_BASE,
) -> QuarterCounts:
    """Return what would be published of each team and quarter.

    The cohort is everybody who stayed all quarter and answered at least once; a person counts once, with
    discomfort in any answered month. The rounding draw is kept while the cohort stays the same people, as the
    release keys it by the people counted.

    Parameters
    ----------
    answers : Answers
        Monthly answers; months beyond whole quarters are dropped.
    rng : numpy.random.Generator
        Source of the rounding draws.
    region : int
        Region counted.
    floor : int
        Fewest people behind a published count.
    base : int
        Rounding base.

    Returns
    -------
    QuarterCounts
        Counts and people, 0 where the cohort is below the floor.
    """
    quarters = len(answers.case) // MONTHS
    teams = answers.case.shape[1]
    published, people = np.zeros((teams, quarters), int), np.zeros((teams, quarters), int)
    draw, before = rng.random(teams), None
    for quarter in range(quarters):
        months = slice(quarter * MONTHS, (quarter + 1) * MONTHS)
        said = answers.answered[months]
        # The first month's newcomers stayed the whole quarter: they joined at its beginning.
        whole = answers.stays[months][1:].all(0)
        cohort = said.any(0) & whole
        hit = (answers.case[months, ..., region] & said).any(0) & cohort
        if before is not None:
            same = (cohort == before).all(1) & answers.stays[months][0].all(1)
            draw = np.where(same, draw, rng.random(teams))
        before = cohort
        n, count = cohort.sum(1), hit.sum(1)
        value = count // base * base
        value = np.where((draw * base < count % base) & (value + base <= n), value + base, value)
        shown = n >= floor
        published[:, quarter], people[:, quarter] = np.where(shown, value, 0), np.where(shown, n, 0)
    return QuarterCounts(published, people)
