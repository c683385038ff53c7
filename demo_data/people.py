"""Who works when: seats, joiners, leavers, moves between teams, part-time and leave."""

import base64
from dataclasses import dataclass

import numpy as np

from demo_data.days import Calendar
from demo_data.institute import Plan

LEAVE_PER_MONTH = 0.015
MOVE_SHARE = 0.2
AGE_BANDS = ("UNDER_30", "30_39", "40_49", "50_59", "60_OVER")
_DROP_DAYS = ((), (4,), (2,), (2, 4), (0, 1))


@dataclass(frozen=True)
class Spell:
    """One person's time on one team; days are numbers into the calendar, ``last`` is None while it lasts."""

    person: int
    team: int
    first: int
    last: int | None


@dataclass(frozen=True)
class People:
    """Everybody who was ever there.

    Attributes
    ----------
    pseudonym : numpy.ndarray of str
        As the sending side would make them: key number, colon, base32.
    age : numpy.ndarray of int
        Index into ``AGE_BANDS``.
    drive : numpy.ndarray of float
        A person's own multiplier on bouts a day; 0 for those who do not pipette.
    left_handed : numpy.ndarray of bool
        Working hand.
    spells : tuple of Spell
        Ordered by person and time.
    team_on : numpy.ndarray of int8, (people, days)
        Team number, -1 when not employed.
    at_work : numpy.ndarray of bool, (people, days)
        Whether the person worked on that day.
    """

    pseudonym: np.ndarray
    age: np.ndarray
    drive: np.ndarray
    left_handed: np.ndarray
    spells: tuple[Spell, ...]
    team_on: np.ndarray
    at_work: np.ndarray


def _occupy(plan: Plan, cal: Calendar, rng: np.random.Generator) -> list[Spell]:
    """Fill every seat through time; a vacancy is filled from outside or by a move within the site."""
    starts = np.flatnonzero(np.diff(cal.month, prepend=-1))
    ends = np.append(starts[1:], cal.days.size) - 1
    closed: list[Spell] = []
    seated: list[tuple[int, int, int]] = []
    vacant: list[tuple[int, int]] = []
    people = 0
    for number, team in enumerate(plan.teams):
        for _ in range(team.seats):
            seated.append((people, number, 0))
            people += 1
    for month in range(1, plan.months):
        waiting = []
        for due, team in vacant:
            if due > month:
                waiting.append((due, team))
                continue
            first = int(starts[month]) + int(rng.integers(0, 10))
            site = plan.teams[team].site
            movers = [
                seat for seat in seated
                if plan.teams[seat[1]].site == site and seat[1] != team and seat[2] < first - 90
                and sum(other[1] == seat[1] for other in seated) > 0.9 * plan.teams[seat[1]].seats
            ]  # fmt: skip
            if movers and rng.random() < MOVE_SHARE:
                person, old, since = movers[int(rng.integers(len(movers)))]
                seated.remove((person, old, since))
                closed.append(Spell(person, old, since, first - 1))
                seated.append((person, team, first))
                waiting.append((month + 1, old))
            else:
                seated.append((people, team, first))
                people += 1
        vacant = waiting
        for seat in [seat for seat in seated if rng.random() < LEAVE_PER_MONTH]:
            person, team, since = seat
            last = int(rng.integers(starts[month] + 12, ends[month] + 1))
            if since < last and last < cal.days.size - 1:
                seated.remove(seat)
                closed.append(Spell(person, team, since, last))
                vacant.append((month + 1 + int(rng.integers(0, 2)), team))
    closed.extend(Spell(person, team, since, None) for person, team, since in seated)
    return sorted(closed, key=lambda spell: (spell.person, spell.first))


def _leave(count: int, cal: Calendar, rng: np.random.Generator) -> np.ndarray:
    """Mark a summer fortnight, odd weeks off and single days of absence."""
    away = rng.random((count, cal.days.size)) < 0.045
    years = range(int(str(cal.days[0])[:4]), int(str(cal.days[-1])[:4]) + 1)
    position = np.arange(cal.days.size)
    blocks = [(np.datetime64(f"{year}-07-01"), 50, 14) for year in years]
    blocks += [(np.datetime64(f"{year}-{month}-01"), 70, 7) for year in years for month in ("01", "04", "10")]
    for base, spread, length in blocks:
        first = (base - cal.days[0]).astype(int) + rng.integers(0, spread, count)
        away |= (position >= first[:, None]) & (position < first[:, None] + length)
    return away


def people(plan: Plan, cal: Calendar, rng: np.random.Generator) -> People:
    """Draw everybody's spells, habits and days at work.

    Parameters
    ----------
    plan : Plan
        The institute.
    cal : Calendar
        Its days.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    People
        Spells and day-by-day presence.
    """
    spells = _occupy(plan, cal, rng)
    count = 1 + max(spell.person for spell in spells)
    team_on = np.full((count, cal.days.size), -1, np.int8)
    last_day = np.zeros_like(team_on, bool)
    for spell in spells:
        end = cal.days.size if spell.last is None else spell.last + 1
        team_on[spell.person, spell.first : end] = spell.team
        last_day[spell.person, end - 1] = True
    pattern = rng.choice(len(_DROP_DAYS), count, p=[0.8, 0.07, 0.05, 0.04, 0.04])
    works = np.ones((count, 7), bool)
    for person, choice in enumerate(pattern):
        works[person, list(_DROP_DAYS[choice])] = False
    at_work = (team_on >= 0) & cal.open & works[:, cal.weekday] & ~_leave(count, cal, rng)
    # A night shift runs into the next day, so nobody starts one on the last day of a spell.
    at_work &= ~(last_day & np.isin(team_on, plan.of_part("night")))
    names = ["k1:" + base64.b32encode(rng.bytes(10)).decode("ascii") for _ in range(count)]
    drive = np.exp(rng.normal(-0.045, 0.3, count)) * (rng.random(count) >= 0.04)
    age = rng.choice(len(AGE_BANDS), count, p=[0.24, 0.31, 0.23, 0.17, 0.05])
    return People(np.array(names), age, drive, rng.random(count) < 0.12, tuple(spells), team_on, at_work)
