"""Who counted as having discomfort when: each stretch of a series says its own definition."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from dashboards.data import ReleaseFrames
from dashboards.labels import month_label


def case_words(frames: ReleaseFrames, period: str) -> str:
    """Return who counted as having discomfort in a month, in words.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    period : str
        Month.

    Returns
    -------
    str
        The newest edition's words where the release does not say it by month.
    """
    rule = frames.frame("case_rule", period=period)
    if len(rule):
        return str(rule["words"].iloc[0])
    rows = frames.frame("method", key="health.case.short")
    return str(rows["text"].iloc[0]) if len(rows) else "discomfort"


@dataclass(frozen=True)
class Stretch:
    """Periods in a row that were counted in one way.

    Attributes
    ----------
    first, last : str
        Periods.
    words : str
        Who counted.
    comparable_from : str
        Month before which nothing may be compared; empty if everything may.
    """

    first: str
    last: str
    words: str
    comparable_from: str


def stretches(frames: ReleaseFrames, periods: Iterable[str]) -> list[Stretch]:
    """Return how the periods of a series were counted.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    periods : iterable of str
        Months or quarters, in order.

    Returns
    -------
    list of Stretch
        Periods of which the release does not say it are in none.
    """
    rules = frames.frame("case_rule")
    known = dict(
        zip(rules["period"], zip(rules["words"], rules["comparable_from"], strict=True), strict=True)
    )
    found: list[Stretch] = []
    for period in periods:
        # A rule begins with a quarter, so any month of it that was published speaks for it.
        said = next((known[m] for m in _months(period) if m in known), None)
        if said is None:
            continue
        if found and (found[-1].words, found[-1].comparable_from) == said:
            found[-1] = replace(found[-1], last=period)
        else:
            found.append(Stretch(period, period, *map(str, said)))
    return found


def _months(period: str) -> list[str]:
    if "-Q" not in period:
        return [period]
    year, quarter = period.split("-Q")
    return [f"{year}-{3 * int(quarter) - k:02d}" for k in (2, 1, 0)]


def counted_words(frames: ReleaseFrames, periods: Iterable[str]) -> str:
    """Return which stretch of a series was counted how; empty where all was counted in one way.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    periods : iterable of str
        Months or quarters, in order.

    Returns
    -------
    str
        Sentences.
    """
    found = stretches(frames, periods)
    if len(found) < 2:
        return ""
    told = [f"Counted to {month_label(found[0].last)}: {found[0].words}."]
    for before, now in pairwise(found):
        bridged = now.comparable_from == before.comparable_from
        joined = (
            "bridged by people who answered both ways" if bridged else "another series, no line joins them"
        )
        told.append(f"From {month_label(now.first)}: {now.words}; {joined}.")
    return " ".join(told)
