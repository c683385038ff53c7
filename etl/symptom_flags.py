"""Monthly flags on the person store, for the data custodian only; the release has its own."""

from dataclasses import dataclass

import numpy as np

from etl.symptom_answers import Review
from etl.symptom_review import LEAST_TEAM, YEAR
from models.answering import Habits
from models.flag_limit import calibrate, in_control_scores
from models.flags import Flags, flag_series
from models.habits import fit_habits


@dataclass(frozen=True)
class MonthlyFlags:
    """Monthly flags of one region.

    Attributes
    ----------
    teams : tuple of str
        Teams judged, in the order of `flags`.
    first_month : int
        Month of the first period, ``12 * year + month - 1``.
    limit : float
        Decision limit calibrated on this institute's own answers.
    habits : Habits
        What it was calibrated with.
    flags : Flags
        Scores and flags.
    """

    teams: tuple[str, ...]
    first_month: int
    limit: float
    habits: Habits
    flags: Flags


def monthly_flags(
    review: Review, region: str, rng: np.random.Generator, *, simulated: int = 4000
) -> MonthlyFlags | None:
    """Return monthly flags of the teams at a limit calibrated on this institute's own answers.

    Sooner than the release's quarterly flags, and not publishable: monthly and unrounded.

    Parameters
    ----------
    review : Review
        Answers and roster.
    region : str
        Body region.
    rng : numpy.random.Generator
        Source of chance of the calibration.
    simulated : int
        Teams simulated for it.

    Returns
    -------
    MonthlyFlags or None
        None with fewer than thirteen months, or without a team of ten people who answered.
    """
    own = review.answers.of_region(region)
    own = own.where(own.team != "")
    if not len(own.month) or review.month - (first := int(own.month.min())) < YEAR:
        return None
    names, team = np.unique(own.team, return_inverse=True)
    shape = (len(names), review.month - first + 1)
    at = team * shape[1] + own.month - first
    answers = np.bincount(at, minlength=shape[0] * shape[1]).reshape(shape)
    cases = np.bincount(at, weights=own.case, minlength=shape[0] * shape[1]).reshape(shape)
    big = answers.max(1) >= LEAST_TEAM
    if not big.any():
        return None
    people = int(own.person.max()) + 1
    hit, said = np.zeros((people, shape[1]), dtype=bool), np.zeros((people, shape[1]), dtype=bool)
    hit[own.person, own.month - first], said[own.person, own.month - first] = own.case, True
    habits = fit_habits(hit[said.any(1)], said[said.any(1)])
    sizes = (LEAST_TEAM, max(LEAST_TEAM, int(answers.max())))
    limit = calibrate(in_control_scores(rng, habits, teams=simulated, sizes=sizes))
    overall = cases[:, :YEAR].sum() / max(int(answers[:, :YEAR].sum()), 1)
    flags = flag_series(
        cases[big], answers[big], limit=limit, baseline_periods=YEAR, window=YEAR, overall=overall
    )
    return MonthlyFlags(tuple(map(str, names[big])), first, limit, habits, flags)
