"""Random institutes and the ledgers a release schedule would publish about them, for tests of the auditor.

The rounding here is written out again on purpose (a random number per contributor set instead of a keyed
hash), so that these tests do not lean on the code that makes releases.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from models.audit_periods import months_of
from models.audit_records import HiddenGroup, Key, Ledger, PublishedCell

PREVALENCES = (0.0, 0.02, 0.25, 0.5, 0.8, 1.0)
REGIONS = (
    "NECK",
    "SHOULDER",
    "UPPER_BACK",
    "ELBOW",
    "WRIST_HAND",
    "LOW_BACK",
    "HIP_THIGH",
    "KNEE",
    "ANKLE_FOOT",
)


@dataclass(frozen=True)
class Institute:
    """An invented institute: who was where, who answered, what they said.

    Parameters
    ----------
    months : tuple of str
        Months, whole quarters.
    team_of : dict
        month -> token -> team on all days of that month.
    cluster_of : dict
        team -> cluster.
    answered : dict
        token -> months with an answer.
    truth : dict
        region -> (token, month) -> 0 or 1.
    """

    months: tuple[str, ...]
    team_of: dict[str, dict[str, str]]
    cluster_of: dict[str, str]
    answered: dict[str, tuple[str, ...]]
    truth: dict[str, dict[Key, int]]


def institute(
    rng: np.random.Generator,
    *,
    teams: int = 12,
    quarters: int = 8,
    regions: int = 9,
    prevalence: float | None = None,
    response: float | None = None,
    churn: float | None = None,
    change: float = 0.0,
) -> Institute:
    """Invent an institute.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    teams, quarters, regions : int
        Size.
    prevalence, response, churn : float, optional
        Share with discomfort, share answering in a month, share of people replaced or moved in a month;
        drawn from `PREVALENCES`, 0.6 to 1 and 0 to 0.05 when left out.
    change : float
        Probability that an answer is drawn anew each month; 0 keeps everybody's answers for good.

    Returns
    -------
    Institute
        The institute.
    """
    months = tuple(m for q in range(quarters) for m in months_of(f"{2025 + q // 4}-Q{q % 4 + 1}"))
    p = float(rng.choice(PREVALENCES)) if prevalence is None else prevalence
    reply = float(rng.uniform(0.6, 1.0)) if response is None else response
    turnover = float(rng.uniform(0.0, 0.05)) if churn is None else churn
    sizes = rng.integers(8, 29, size=teams)
    names = [f"T{t:02d}" for t in range(teams)]
    place = {f"P{t:02d}{i:03d}": names[t] for t in range(teams) for i in range(sizes[t])}
    team_of: dict[str, dict[str, str]] = {}
    newcomers = 0
    for month in months:
        for token in list(place):
            if rng.random() < turnover:
                team = place.pop(token)
                if rng.random() < 0.3:
                    place[token] = names[rng.integers(teams)]
                else:
                    newcomers += 1
                    place[f"N{newcomers:04d}"] = team
        team_of[month] = dict(place)
    answered: dict[str, list[str]] = defaultdict(list)
    for month in months:
        for token in team_of[month]:
            if rng.random() < reply:
                answered[token].append(month)
    truth = {r: _answers(rng, answered, p, change) for r in REGIONS[:regions]}
    return Institute(
        months, team_of, _clusters(names, sizes), {t: tuple(m) for t, m in answered.items()}, truth
    )


def _clusters(names: list[str], sizes: np.ndarray) -> dict[str, str]:
    """Neighbouring teams together until there are enough people, from headcounts only."""
    cluster_of, number, people = {}, 0, 0
    for i, name in enumerate(names):
        cluster_of[name] = f"C{number}"
        people += int(sizes[i])
        if people >= 45 and sizes[i + 1 :].sum() >= 45:
            number, people = number + 1, 0
    return cluster_of


def _answers(
    rng: np.random.Generator, answered: dict[str, list[str]], p: float, change: float
) -> dict[Key, int]:
    truth: dict[Key, int] = {}
    for token, months in answered.items():
        state = int(rng.random() < p)
        for month in months:
            if rng.random() < change:
                state = int(rng.random() < p)
            truth[token, month] = state
    return truth


class Publisher:
    """Rounds counts the way the release does, with one secret draw for each contributor set and region.

    Parameters
    ----------
    rng : numpy.random.Generator
        Takes the place of the secret key.
    base : int
        Rounding base.
    """

    def __init__(self, rng: np.random.Generator, base: int = 5) -> None:
        self.rng, self.base = rng, base
        self._draws: dict[object, float] = {}

    def cell(
        self,
        period: str,
        unit: str,
        region: str,
        people: list[str],
        world: Institute | tuple[dict[str, tuple[str, ...]], dict[Key, int]],
        *,
        base: int | None = None,
        table: str = "health",
    ) -> PublishedCell:
        """Publish one count.

        Parameters
        ----------
        period, unit, region : str
            What it is about.
        people : list of str
            Contributors.
        world : Institute or tuple
            Answers; a tuple gives (answered months, answers of the region).
        base : int, optional
            Another rounding base.
        table : str
            Part of the draw's identity.

        Returns
        -------
        PublishedCell
            The rounded count.
        """
        if isinstance(world, Institute):
            answered, truth = world.answered, world.truth[region]
        else:
            answered, truth = world
        b = base or self.base
        months = set(months_of(period))
        count = sum(any(truth[t, m] for m in answered[t] if m in months) for t in people)
        contributors = tuple(sorted(people))
        kind = "month" if len(months) == 1 else "quarter"
        u = self._draws.setdefault((contributors, region, kind, table, b), self.rng.random())
        value = count - count % b
        if u < (count % b) / b and value + b <= len(people):
            value += b
        return PublishedCell(period, unit, region, contributors, value, b, table)


def ledger_of(
    world: Institute, rng: np.random.Generator, *, team_floor: int = 10, month_floor: int = 20, base: int = 5
) -> Ledger:
    """Publish the project's schedule: months for organisation and clusters, quarters for teams.

    Parameters
    ----------
    world : Institute
        The institute.
    rng : numpy.random.Generator
        Secret draws.
    team_floor, month_floor : int
        Fewest contributors of a quarter and of a month.
    base : int
        Rounding base.

    Returns
    -------
    Ledger
        Published cells and withheld groups of every region.
    """
    publisher = Publisher(rng, base)
    cells, hidden = [], []
    for region in world.truth:
        for period, unit, people, shown in _schedule(world, team_floor, month_floor):
            if shown:
                cells.append(publisher.cell(period, unit, region, people, world))
            elif people:
                hidden.append(HiddenGroup(period, unit, region, tuple(sorted(people))))
    return Ledger(tuple(cells), dict.fromkeys(world.truth, world.answered), tuple(hidden))


def _schedule(world: Institute, team_floor: int, month_floor: int) -> list[tuple[str, str, list[str], bool]]:
    rows: list[tuple[str, str, list[str], bool]] = []
    replied = {t: set(m) for t, m in world.answered.items()}
    for month in world.months:
        groups: dict[str, list[str]] = defaultdict(list)
        for token, team in world.team_of[month].items():
            if month in replied.get(token, ()):
                groups[world.cluster_of[team]].append(token)
        everybody = sorted(t for g in groups.values() for t in g)
        shown = shown_children(groups, month_floor)
        rows.append((month, "ORG", everybody, len(everybody) >= month_floor))
        rows += [(month, c, g, c in shown) for c, g in sorted(groups.items())]
    for i in range(0, len(world.months), 3):
        quarter = world.months[i : i + 3]
        period = f"{quarter[0][:4]}-Q{(int(quarter[0][5:]) - 1) // 3 + 1}"
        groups = defaultdict(list)
        for token, team in world.team_of[quarter[0]].items():
            stayed = all(world.team_of[m].get(token) == team for m in quarter)
            if stayed and not replied.get(token, set()).isdisjoint(quarter):
                groups[team].append(token)
        for cluster in sorted(set(world.cluster_of.values())):
            inside = {t: g for t, g in groups.items() if world.cluster_of[t] == cluster}
            shown = shown_children(inside, team_floor)
            rows += [(period, t, g, t in shown) for t, g in sorted(inside.items())]
    return rows


def shown_children(groups: dict[str, list[str]], floor: int) -> set[str]:
    """Children shown: large enough, and the rest of the parent hidden together empty or large enough.

    Parameters
    ----------
    groups : dict
        Child -> people.
    floor : int
        Fewest people.

    Returns
    -------
    set of str
        Children shown; depends on headcounts only.
    """
    sizes = {g: len(p) for g, p in groups.items()}
    shown = {g for g, n in sizes.items() if n >= floor}
    while shown and 0 < sum(n for g, n in sizes.items() if g not in shown) < floor:
        shown.remove(min(shown, key=lambda g: (sizes[g], g)))
    return shown
