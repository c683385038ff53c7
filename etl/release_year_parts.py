"""What each yearly statement rests on: estimate, people, and how each of them enters it."""

from calendar import month_name
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from etl.release_calendar import parse_month
from models.incidence import incidence, onsets
from models.result_gate import Estimate
from models.season import partial_months, season
from models.severity import CAUTION, SMALLEST_PERCENT, SMALLEST_POINTS, mean_change
from models.standardise import share_gap

# What the annotations of pandas call a column depends on its operands; here it is always one value a row.
Table = Any

ONSET, CHANGE, AGE, LEFT, SEASON = "new onset", "mean change", "age", "leavers", "season"
ALL = "ALL"
LEAST_PEOPLE = 100
"""People below which nothing is stated on the organisation's year. Own convention."""

LEAST_MONTHS_EACH = 2.0
"""Mean person-months at risk a person below which an onset rate would lean on single people."""

ONSET_INFLUENCE = 120.0
"""Onset per 100 person-months times people: one person adds one onset and up to a year's time at risk."""

WIDE_BANDS = {"UNDER_30": 0, "30_39": 1, "40_49": 2, "50_59": 3, "60_OVER": 3}
LEAST_BAND, LEAST_KNOWN = 20, 0.8
FEW_TIME = "not shown: too little time at risk"
NO_BAND = "not shown: age bands are known for too few people"
NO_RATING = "not shown: no ratings of two years to compare"
NO_LEAVER = "not shown: fewer than 20 people who left, or stayed, have answered"


@dataclass(frozen=True)
class Part:
    """One statement before the gate.

    Attributes
    ----------
    estimate : Estimate
        Value and interval, in points of whatever has 100 points.
    groups : tuple of int
        People in each group compared.
    residual_df : float
        Residual degrees of freedom.
    used : mapping of str to str
        Person to how that person entered.
    unit : str
        Unit printed.
    scale : float
        Factor from points to that unit.
    influence : float or None
        What one person can be worth, in points.
    remark, caution : str
        What else a reader has to know; no health number is in it.
    """

    estimate: Estimate
    groups: tuple[int, ...]
    residual_df: float
    used: Mapping[str, str]
    unit: str
    scale: float = 1.0
    influence: float | None = None
    remark: str = ""
    caution: str = ""

    @property
    def people(self) -> int:
        """People it rests on."""
        return sum(self.groups)


def _entering(kind: str, rows: Table) -> dict[str, str]:
    months = rows.groupby("person")["month_number"].agg(lambda m: ",".join(map(str, sorted(m))))
    return {str(person): f"{kind} {said}" for person, said in months.items()}


def onset_part(rows: Table) -> Part | str:
    """Return each person's first onset of the year over the time at risk, the December before included.

    Parameters
    ----------
    rows : pandas.DataFrame
        Answers of one region, in the columns of ``release/600_year_answer``.

    Returns
    -------
    Part or str
        Or why there is none.
    """
    codes, names = pd.factorize(rows["person"], sort=True)
    found = onsets(codes, rows["month_number"].to_numpy(), rows["is_case"].to_numpy(), first_only=True)
    rate, people = incidence(found), len(found.person)
    if rate.rate is None or rate.low is None or rate.high is None:
        return FEW_TIME
    if rate.months < LEAST_MONTHS_EACH * people:
        return FEW_TIME
    at_risk = set(names[found.person])
    used = {p: way for p, way in _entering(ONSET, rows).items() if p in at_risk}
    return Part(
        Estimate(rate.rate, rate.low, rate.high), (people,), people - 1, used, "per 100 person-months",
        influence=ONSET_INFLUENCE / people,
        remark="A person counts once a year; a gap of over three months between answers counts neither time "
        "nor onset.",
    )  # fmt: skip


def _both_years(before: Table, now: Table) -> Table:
    named = (("then", before), ("now", now))
    means = [rows.groupby("person")["score"].mean().rename(name) for name, rows in named]
    return pd.concat(means, axis=1, join="inner").dropna()


def change_part(before: Table, now: Table) -> Part | str:
    """Return the mean change of people's mean ratings between two years.

    Parameters
    ----------
    before, now : pandas.DataFrame
        Answers of one region in each year.

    Returns
    -------
    Part or str
        In percent of the scale (ten times the scale points), or why there is none.
    """
    both = _both_years(before, now)
    if len(both) < 2:
        return NO_RATING
    found = mean_change(both["then"], both["now"])
    if found.change is None or found.low is None or found.high is None:
        return NO_RATING
    rows = pd.concat([before, now])
    used = {p: w for p, w in _entering(CHANGE, rows).items() if p in both.index}
    caution = CAUTION.split(" People at work")[0].format(points=SMALLEST_POINTS, percent=SMALLEST_PERCENT)
    return Part(
        Estimate(10 * found.change, 10 * found.low, 10 * found.high), (len(both),), len(both) - 1, used,
        "scale points", 0.1, 200 / len(both),
        caution=f"{caution} People at work start lower: read the change beside where it began.",
    )  # fmt: skip


def level_part(before: Table, now: Table) -> Part | str:
    """Return the mean rating that the change of :func:`change_part` began at, of the same people.

    Parameters
    ----------
    before, now : pandas.DataFrame
        Answers of one region in each year.

    Returns
    -------
    Part or str
        In percent of the scale, or why there is none.
    """
    both = _both_years(before, now)
    if len(both) < 2:
        return NO_RATING
    then = 10 * both["then"]
    half = 1.96 * float(then.std()) / np.sqrt(len(then))
    mean = float(then.mean())
    used = {p: w for p, w in _entering(CHANGE, pd.concat([before, now])).items() if p in both.index}
    return Part(
        Estimate(mean, mean - half, mean + half), (len(both),), len(both) - 1, used, "scale points", 0.1,
        100 / len(both),
    )  # fmt: skip


def age_part(year: Table, people: Table, earlier: Table) -> Part | str:
    """Return by how much the share moves with people weighted to the ages of the December before.

    Parameters
    ----------
    year : pandas.DataFrame
        Answers of one region and year.
    people, earlier : pandas.DataFrame
        People of the year, and of the December before, with age bands.

    Returns
    -------
    Part or str
        In percentage points, or why there is none.
    """
    share = year.groupby("person")["is_case"].mean()
    band = people.set_index("person")["age_band"].map(WIDE_BANDS).reindex(share.index)
    standard = earlier["age_band"].map(WIDE_BANDS)
    if not len(share) or not len(standard) or min(band.notna().mean(), standard.notna().mean()) < LEAST_KNOWN:
        return NO_BAND
    share, band = share[band.notna()], band.dropna().astype(int)
    counts = np.bincount(band, minlength=4)
    merged = _merged(counts)
    own = merged[band.to_numpy()]
    if own.max() == 0:
        return NO_BAND
    weights = np.bincount(merged[standard.dropna().astype(int).to_numpy()], minlength=own.max() + 1)
    gap = share_gap(share.to_numpy(), own, weights)
    used = {str(p): f"{w} band {b}" for (p, w), b in zip(
        _entering(AGE, year[year["person"].isin(share.index)]).items(), own, strict=True)}  # fmt: skip
    return Part(
        Estimate(100 * gap.value, 100 * gap.low, 100 * gap.high), (gap.people,), gap.people - own.max() - 1,
        used, "points", influence=max(100 * gap.influence, 100 / gap.people),
        remark="Near 0 means that a change against the year before is not for a change of ages.",
    )  # fmt: skip


def _merged(counts: np.ndarray) -> np.ndarray:
    """Join neighbouring bands, youngest first, until each has twenty people."""
    to, filled, band = np.zeros(len(counts), int), 0, 0
    for number, count in enumerate(counts):
        to[number] = band
        filled += count
        if filled >= LEAST_BAND and counts[number + 1 :].sum() >= LEAST_BAND:
            band, filled = band + 1, 0
    return to


def leavers_part(year: Table, people: Table) -> Part | str:
    """Return how much more discomfort those who left the teams had than those who stayed.

    Parameters
    ----------
    year : pandas.DataFrame
        Answers of the year, all regions.
    people : pandas.DataFrame
        People of the year, and whether they stayed.

    Returns
    -------
    Part or str
        In percentage points of the regions answered at the last answer, or why there is none.
    """
    newest = year.groupby("person")["month_number"].max()
    last = year[year["month_number"] == year["person"].map(newest)].groupby("person")["is_case"].mean()
    stayed = people.set_index("person")["stayed"].reindex(last.index)
    sides = [last[stayed == side].to_numpy() for side in (False, True)]
    groups = tuple(map(len, sides))
    if min(groups) < LEAST_BAND:
        return NO_LEAVER
    value = 100 * float(sides[0].mean() - sides[1].mean())
    half = 196 * float(np.sqrt(sum(side.var(ddof=1) / len(side) for side in sides)))
    used = {str(p): f"{LEFT} {stayed[p]} {newest[p]}" for p in last.index}
    return Part(Estimate(value, value - half, value + half), groups, sum(groups) - 2, used, "points")


def season_words(rows: Sequence[tuple[str, int, int]]) -> tuple[str, str, str | None]:
    """Describe the yearly wave and the months cut short, from published monthly counts.

    Parameters
    ----------
    rows : sequence of tuple
        Month, published count and answers, over all regions, oldest first.

    Returns
    -------
    tuple
        Word, sentence, and the reason where no season is told.
    """
    if not rows:
        return "", "", "not shown: no month is published"
    first = parse_month(rows[0][0])
    span = [str(first.plus(k)) for k in range(_apart(rows[0][0], rows[-1][0]) + 1)]
    known = {period: (cases, answers) for period, cases, answers in rows}
    cases, answers = np.array([known.get(month, (0, 0)) for month in span], float).T
    short = [month for month, cut in zip(span, partial_months(answers), strict=True) if cut]
    tail = f" Months with fewer than half the usual answers: {', '.join(short)}." if short else ""
    found = season(cases, answers, first.month)
    if found.amplitude is None or found.p_value is None or found.peak_month is None:
        return "", f"No season can be told: {found.reason}.{tail}", None
    if found.p_value >= 0.05:
        return "no clear season", f"No yearly wave stands out from {len(rows)} months.{tail}", None
    odds = np.exp(2 * found.amplitude)
    return (
        "season",
        f"A yearly wave with its peak in {month_name[found.peak_month]}: odds there about {odds:.1f} times "
        "those of the lowest month. Compare the same month of two years; weather, holidays or the work's "
        f"own year may be behind it.{tail}",
        None,
    )


def _apart(first: str, last: str) -> int:
    one, other = parse_month(first), parse_month(last)
    return 12 * (other.year - one.year) + other.month - one.month
