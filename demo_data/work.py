"""What people did: task bouts on every day at work, and what the changes took away or put in their place."""

from dataclasses import dataclass

import numpy as np

from demo_data.catalogue import (
    LOW_FORCE_SLOT,
    PEAK_N,
    SLOTS,
    TASK_USE,
    Station,
    first_slot,
)  # fmt: skip
from demo_data.changes import BOUTS_AVOIDED, GAPS_WIDENED, SWAP_ADHERENCE, Change, in_force
from demo_data.days import Calendar
from demo_data.institute import STROKES_PER_MINUTE, TASKS, Plan
from demo_data.people import People

_DAY = 86_400
_SHIFT = 27_000
_LUNCH = 1_800
_LATEST = _SHIFT + 2_400
SHORTEST, LONGEST = 120, 2_700


@dataclass(frozen=True)
class Bouts:
    """Bouts in order of person and start; times are seconds of the local wall clock since 1970-01-01."""

    person: np.ndarray
    team: np.ndarray
    month: np.ndarray
    start: np.ndarray
    end: np.ndarray
    task: np.ndarray
    instrument: np.ndarray
    station: np.ndarray
    strokes: np.ndarray
    tips: np.ndarray
    volume_changes: np.ndarray
    left: np.ndarray

    def take(self, mask: np.ndarray) -> "Bouts":
        """Return the bouts chosen by a mask or by row numbers."""
        return Bouts(*(getattr(self, name)[mask] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Dose:
    """What each person did in each month, (people, months): hours a week, and time-weighted peak thumb force.

    ``hours_without`` and ``force_without`` are the same had no change been made.
    """

    hours: np.ndarray
    force: np.ndarray
    hours_without: np.ndarray
    force_without: np.ndarray


def _counts(plan: Plan, cal: Calendar, staff: People, rng: np.random.Generator) -> tuple[np.ndarray, ...]:
    person, day = np.nonzero(staff.at_work)
    team = staff.team_on[person, day].astype(int)
    load = np.array([entry.load for entry in plan.teams])
    wobble = np.exp(rng.normal(0.0, 0.18, (staff.drive.size, plan.months)))
    # The overloaded team shares its pressure: everybody there has a heavy day, not a few.
    heavy = np.isin(team, plan.of_part("overloaded"))
    drive = np.where(heavy & (staff.drive[person] > 0), 0.6 + 0.4 * staff.drive[person], staff.drive[person])
    mean = plan.bouts_per_day * load[team] * drive * cal.season[cal.month[day]]
    number = rng.poisson(mean * wobble[person, cal.month[day]])
    keep = number > 0
    return person[keep], day[keep], team[keep], number[keep]


def _gaps(kind: np.ndarray, dur: np.ndarray, block: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Lay gaps before each bout: kind 0 short, 1 micro-rest, 2 a share of the day's free time."""
    u = rng.random(kind.size)
    gap = np.select([kind == 0, kind == 1], [20 + 130 * u, 186 + 110 * u], 330.0)
    free = np.maximum(_SHIFT - np.bincount(block, dur + gap), 0)
    weight = np.where(kind == 2, -np.log1p(-u), 0.0)
    tail = rng.exponential(1.0, free.size)
    return gap + weight * (free / (np.bincount(block, weight) + tail))[block]


def draw_bouts(
    plan: Plan, cal: Calendar, staff: People, benches: tuple[Station, ...], changes: tuple[Change, ...],
    rng: np.random.Generator,
) -> tuple[Bouts, Dose]:  # fmt: skip
    """Draw every bout of the period.

    Parameters
    ----------
    plan, cal, staff, benches, changes
        The institute, its days, people, stations and changes.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Bouts
        Never overlapping within a person, each within one spell on a team, 2 to 45 minutes long.
    Dose
        Exposure of each person and month, with and without the changes.
    """
    pd_person, pd_day, pd_team, number = _counts(plan, cal, staff, rng)
    block = np.repeat(np.arange(number.size), number)
    total, team = block.size, pd_team[block]
    month = cal.month[pd_day][block]
    first = np.diff(block, prepend=-1) > 0
    heavy = np.isin(team, plan.of_part("overloaded"))

    u = rng.random(total)
    kind = np.where(heavy, np.digitize(u, [0.68, 0.76]), np.digitize(u, [0.42, 0.58]))
    breaks = in_force(changes, "CH-05", plan.months, len(plan.teams))[team, month]
    kind[breaks & (kind == 0) & (rng.random(total) < GAPS_WIDENED)] = 1
    kind[first] = 2
    length = np.exp(rng.normal(np.log(plan.bout_median_s), 0.55, total)) * np.where(heavy, 1.55, 1.0)
    length = np.clip(length, SHORTEST, LONGEST).astype(np.int64)
    gap = _gaps(kind, length.astype(float), block, rng).astype(np.int64)
    end = np.cumsum(gap + length)
    end -= (end - gap - length)[first][block]
    start = end - length
    lunch = rng.integers(12_600, 15_300, number.size)[block]
    shift = np.where(start >= lunch, _LUNCH, 0)
    habit = rng.integers(7 * 3600, int(9.25 * 3600), staff.drive.size)
    begins = np.where(np.isin(pd_team, plan.of_part("night")), 21 * 3600 + 1800, habit[pd_person])
    begins = begins + rng.integers(0, 900, number.size)
    midnight = cal.days.astype("datetime64[s]").astype(np.int64)[pd_day]
    base = (midnight + begins)[block] + shift

    # A run of bouts with short gaps between them is one piece of work: same task, instrument and bench.
    run = np.maximum.accumulate(np.where(kind == 0, 0, np.arange(total)))
    mix = np.cumsum(rng.dirichlet(np.full(len(TASKS), 2.0), len(plan.teams)), axis=1)
    task = np.minimum((rng.random(total)[:, None] > mix[team]).sum(1), len(TASKS) - 1)[run]
    slot = np.minimum((rng.random(total)[:, None] > np.cumsum(TASK_USE, 1)[task]).sum(1), SLOTS - 1)[run]
    owned = np.array([bench.team for bench in benches])
    first_bench = np.array([np.flatnonzero(owned == entry.code)[0] for entry in plan.teams])
    benches_of = np.array([(owned == entry.code).sum() for entry in plan.teams])
    station = (first_bench[team] + (rng.random(total) * benches_of[team]).astype(int))[run]

    swap = in_force(changes, "CH-01", plan.months, len(plan.teams))[team, month]
    swap &= (slot < LOW_FORCE_SLOT) & (rng.random(total) < SWAP_ADHERENCE)
    site = first_slot(plan)[team]
    before = site + slot
    instrument = np.where(swap, site + LOW_FORCE_SLOT, before)
    avoided = in_force(changes, "CH-02", plan.months, len(plan.teams))[team, month]
    avoided &= rng.random(total) < BOUTS_AVOIDED

    minutes = length / 60
    strokes = np.maximum(np.rint(STROKES_PER_MINUTE[task] * minutes * np.exp(rng.normal(0, 0.2, total))), 1)
    tips = np.maximum(np.rint(strokes * rng.uniform(0.2, 0.6, total)), 1)
    person = pd_person[block]
    # Clocks at the first site are kept in whole minutes; rounding down keeps the order of starts and ends.
    grain = np.where(site == 0, 60, 1)
    bouts = Bouts(
        person, team, month, (base + start) // grain * grain, (base + end) // grain * grain, task, instrument,
        station, strokes.astype(np.int64), tips.astype(np.int64), rng.poisson(0.12 * minutes),
        staff.left_handed[person],
    )  # fmt: skip
    fits = end <= _LATEST
    dose = _dose(bouts, before, fits, avoided, staff, cal)
    return bouts.take(fits & ~avoided), dose


def _dose(
    bouts: Bouts, before: np.ndarray, fits: np.ndarray, avoided: np.ndarray, staff: People, cal: Calendar
) -> Dose:
    shape = (staff.drive.size, cal.season.size)
    cell = bouts.person * shape[1] + bouts.month
    seconds = (bouts.end - bouts.start).astype(float)
    employed = np.stack([np.bincount(cal.month, row >= 0, shape[1]) for row in staff.team_on])

    def both(mask: np.ndarray, instrument: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        size = shape[0] * shape[1]
        worked = np.bincount(cell[mask], seconds[mask], size).reshape(shape)
        pushed = np.bincount(cell[mask], (seconds * PEAK_N[instrument])[mask], size).reshape(shape)
        hours = np.divide(worked / 3600, employed / 7, out=np.zeros(shape), where=employed > 0)
        return hours, np.divide(pushed, worked, out=np.full(shape, np.nan), where=worked > 0)

    return Dose(*both(fits & ~avoided, bouts.instrument), *both(fits, before))
