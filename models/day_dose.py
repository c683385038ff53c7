"""What days of pipetting come to, all at once: hand activity, strain, acceptable effort, fatigue damage."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.effort import maximum_acceptable_effort
from models.efforts import Efforts, Work, days_known, efforts_of, sum_by_day
from models.fatigue import TENDON, StressLifeLine, cycles_to_failure
from models.hand_activity import EDITIONS, HandActivityEdition, hand_activity_level, hand_activity_limits
from models.strain_index import Order, composite_strain_index, cumulative_strain_index

FORCE_CLASSES = (0.0, 5.0, 10.0, 20.0, 30.0, 50.0, 70.0, 100.0)
"""Lower edges of the classes of force, %MVC; the last is open. Time without exertion comes before them."""

CLASS_EDGES = (0.0, 1e-9, *FORCE_CLASSES[1:], 200.0)
"""Edges of all classes for a distribution of load; time without exertion is as good as a point at 0."""

_PEAK_SHARE = 0.9


@dataclass(frozen=True)
class DoseRule:
    """What the figures of a day depend on besides the work.

    Attributes
    ----------
    strength_n : float
        Maximum strength that forces are held against, N.
    edition : HandActivityEdition
        Edition of the threshold limit value.
    least_hours : float
        Hours of hand work a day from which that limit holds.
    wrist_angle : float
        Wrist angle taken for all work, degrees, flexion positive; nobody measures it.
    strain_limit : float
        Strain index above which a day counts as over.
    strain_order : {"free", "index"}
        How parts of a strain index are ranked.
    shift_hours : float
        Length of a working day, over which the duty cycle of acceptable effort runs.
    line : StressLifeLine
        Cycles to failure by stress.
    reference_percent : float
        Force in whose presses damage is expressed, %MVC.
    """

    strength_n: float
    edition: HandActivityEdition = EDITIONS["2018"]
    least_hours: float = 4.0
    wrist_angle: float = 0.0
    strain_limit: float = 10.0
    strain_order: Order = "free"
    shift_hours: float = 8.0
    line: StressLifeLine = TENDON
    reference_percent: float = 30.0


@dataclass(frozen=True)
class DayDoses:
    """Figures of person-days; arrays of shape (days,), NaN where a day is not known throughout.

    Attributes
    ----------
    seconds, known_seconds : ndarray
        Pipetting time, and the part of it whose exertions are known.
    known : ndarray of bool
        Whether the whole day is known.
    hand_activity : ndarray
        Hand activity level, 0-10.
    peak_force : ndarray
        Normalised peak force, 0-10: 90th percentile of the counted exertions.
    over_threshold : ndarray
        1 where the day has enough hours and its peak force is over the threshold limit value, else 0.
    strain : ndarray
        Cumulative Strain Index.
    effort_of_acceptable : ndarray
        Mean effort as a percentage of the maximum acceptable effort.
    damage : ndarray
        Relative fatigue damage, as the number of presses at the reference force that add up to the same.
    load : ndarray
        Force-time, %MVC s, over the known part of the time.
    classes : ndarray, shape (days, 1 + len(FORCE_CLASSES))
        Known seconds without an exertion, then in each class of force.
    too_many : ndarray
        Bouts whose exertions do not fit into their time.
    """

    seconds: NDArray[np.float64]
    known_seconds: NDArray[np.float64]
    known: NDArray[np.bool_]
    hand_activity: NDArray[np.float64]
    peak_force: NDArray[np.float64]
    over_threshold: NDArray[np.float64]
    strain: NDArray[np.float64]
    effort_of_acceptable: NDArray[np.float64]
    damage: NDArray[np.float64]
    load: NDArray[np.float64]
    classes: NDArray[np.float64]
    too_many: NDArray[np.float64]


def day_doses(work: Work, rule: DoseRule) -> DayDoses:
    """Return the figures of every person-day.

    Each bout is a task of the Strain Index (its kinds of exertion are the subtasks), so a day's index grows
    with every bout added and does not change when a bout is cut in two. Hand activity counts exertions
    against pipetting time; acceptable effort takes time in exertion against the shift. Sources and status:
    those of the formulas in `models.strain_index`, `models.hand_activity`, `models.effort` and
    `models.fatigue`; putting them together is this project's own construct.

    Parameters
    ----------
    work : Work
        Bouts with the measurements of their instruments.
    rule : DoseRule
        Strength, edition and limits.

    Returns
    -------
    DayDoses
        NaN where a day is not known throughout.

    Raises
    ------
    ValueError
        If a value is out of bounds.
    """
    found = efforts_of(work, rule.strength_n)
    known = days_known(work, found)
    seconds = sum_by_day(work, work.seconds)
    activity, peak = _activity(work, found, rule.edition, seconds)
    limit = hand_activity_limits(activity, rule.edition).threshold
    over = (seconds >= rule.least_hours * 3600) & (peak > limit)
    columns = {
        "hand_activity": activity,
        "peak_force": peak,
        "over_threshold": over.astype(np.float64),
        "strain": _strain(work, found, known, rule),
        "effort_of_acceptable": _of_acceptable(work, found, rule.shift_hours),
        "damage": _damage(work, found, rule.line, rule.reference_percent),
    }
    return DayDoses(
        seconds=seconds,
        known_seconds=sum_by_day(work, np.where(found.known, work.seconds, 0.0)),
        known=known,
        load=sum_by_day(work, (found.time * np.nan_to_num(found.percent)).sum(axis=1)),
        classes=_classes(work, found),
        too_many=sum_by_day(work, found.too_many),
        **{name: np.where(known, values, np.nan) for name, values in columns.items()},
    )


def _activity(
    work: Work, found: Efforts, edition: HandActivityEdition, seconds: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Hand activity level and peak force of the exertions that the edition counts."""
    least = edition.counted_above_percent_mvc or 0.0
    counted = np.where(found.known[:, None] & (found.percent > least), found.count, 0.0)
    often, long = (sum_by_day(work, x.sum(axis=1)) for x in (counted, counted * np.nan_to_num(found.seconds)))
    time = np.where(seconds > 0, seconds, np.inf)
    level = hand_activity_level(np.minimum(often / time, 10.0), 100 * np.minimum(long / time, 1.0))
    force = np.minimum(np.nan_to_num(found.percent), 100.0) / 10.0
    return level, _percentile_by_day(work, force, counted, _PEAK_SHARE)


def _percentile_by_day(
    work: Work, values: NDArray[np.float64], counts: NDArray[np.float64], share: float
) -> NDArray[np.float64]:
    """Smallest value at or below which at least the share of the counts of a day lies; 0 without counts."""
    day = np.repeat(work.day, values.shape[1])
    value, count = values.ravel(), counts.ravel()
    order = np.lexsort((value, day))
    day, value, count = day[order], value[order], count[order]
    total = np.bincount(day, weights=count, minlength=work.days)
    running = np.cumsum(count)
    before = np.concatenate(([0.0], np.cumsum(total)[:-1]))
    reached = (running - before[day] >= share * total[day] - 1e-9) & (total[day] > 0)
    first = np.full(work.days, -1)
    places = np.flatnonzero(reached)
    # Written from the back, so that the first place of a day is what stays.
    first[day[places[::-1]]] = places[::-1]
    return np.where(first >= 0, value[np.maximum(first, 0)] if value.size else 0.0, 0.0)


def _strain(work: Work, found: Efforts, known: NDArray[np.bool_], rule: DoseRule) -> NDArray[np.float64]:
    """Cumulative Strain Index of the known days, each bout a task."""
    rows = np.flatnonzero(known[work.day] & (work.seconds > 0))
    if not rows.size:
        return np.zeros(work.days)
    rows = rows[np.argsort(work.day[rows], kind="stable")]
    day, hours, count = work.day[rows], work.seconds[rows] / 3600, found.count[rows]
    composite = composite_strain_index(
        np.minimum(found.percent[rows], 100.0) / 100,
        count / (hours[:, None] * 60),
        np.minimum(found.seconds[rows], 3600.0),
        rule.wrist_angle,
        hours,
        present=count > 0,
        order=rule.strain_order,
    ).value
    # One line a day, its bouts side by side.
    place = np.arange(rows.size) - np.searchsorted(day, day)
    shape = (work.days, int(place.max()) + 1)
    index, spent = np.zeros(shape), np.ones(shape)
    there = np.zeros(shape, dtype=bool)
    index[day, place], spent[day, place], there[day, place] = composite, hours, True
    return cumulative_strain_index(index, spent, present=there, order=rule.strain_order).value


def _of_acceptable(work: Work, found: Efforts, shift_hours: float) -> NDArray[np.float64]:
    time = sum_by_day(work, found.time.sum(axis=1))
    load = sum_by_day(work, (found.time * np.nan_to_num(found.percent)).sum(axis=1))
    acceptable = maximum_acceptable_effort(np.minimum(time / (3600 * shift_hours), 1.0))
    return np.where(time > 0, load / np.where(time > 0, time, 1.0) / acceptable, 0.0)


def _damage(work: Work, found: Efforts, line: StressLifeLine, reference: float) -> NDArray[np.float64]:
    count = np.where(found.known[:, None], found.count, 0.0)
    stress = np.where(count > 0, np.minimum(found.percent, 100.0), 1.0)
    each = count * cycles_to_failure(reference, line) / cycles_to_failure(stress, line)
    return sum_by_day(work, each.sum(axis=1))


def _classes(work: Work, found: Efforts) -> NDArray[np.float64]:
    width = 1 + len(FORCE_CLASSES)
    place = np.searchsorted(FORCE_CLASSES, np.nan_to_num(found.percent), side="left").clip(1, None)
    key = work.day[:, None] * width + place
    pressed = np.bincount(key.ravel(), weights=found.time.ravel(), minlength=work.days * width)
    classes = pressed.astype(np.float64, copy=False).reshape(work.days, width)
    known = sum_by_day(work, np.where(found.known, work.seconds, 0.0))
    classes[:, 0] = np.maximum(known - classes.sum(axis=1), 0.0)
    return classes
