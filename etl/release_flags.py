"""Flags of an edition, made of published numbers only: discomfort of teams by quarter, exposure by month.

A flag on discomfort is computed from the rounded counts that readers have, so it tells nobody anything that
could not be worked out from the tables. Monthly and unrounded counts would flag sooner and are not used here.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from etl.release_calendar import Month, parse_month
from etl.release_ledger import QUARTER_KIND, HealthCell
from etl.release_published import Past, QuarterCount
from etl.release_rows import Row
from etl.settings import Settings
from models.disclosure import percent_of
from models.exposure_flags import RISEN, exposure_flag
from models.flag_paths import rounding_noise
from models.flag_rise import Wander
from models.flag_setup import DEFAULT, DEFAULT_WANDER, Limits
from models.flags import FLAGGED, IN_CONTROL, NOT_JUDGED, Flags, flag_series
from models.flags_together import flag_together
from models.prevalence import outward_percent, wilson_of_rounded

BASELINE_QUARTERS = 4
BASELINE_MONTHS = 12
FEW_QUARTERS = "not judged yet: a baseline needs four published quarters and one after them"
FEW_MONTHS = "not judged yet: a baseline needs six published months of the first twelve and one after them"

HOW_SURE = (
    "A rule as strict as this newly flags at most one of 40 teams a year by mistake, if answers hang "
    "together as assumed; how many worsened teams it finds stands under the methods."
)
ALL_REGIONS = "ALL"
"""Topic of a flag on all body regions of a team together."""

NEXT_HEALTH = (
    "Look at the team's hours, spells and thumb force since then, at what was changed, and at who answered; "
    "then walk through the work with the team."
)
NEXT_EXPOSURE = "Look at which task, instrument and weekday carry the hours, and what would even them out."


def health_flags(
    cells: Sequence[HealthCell],
    series: Mapping[tuple[str, str], Sequence[QuarterCount]],
    settings: Settings,
    hidden: str,
    limits: Limits | None = None,
    wander: Wander | None = None,
) -> list[Row]:
    """Judge each team against its own first four published quarters: each region, and all regions together.

    Parameters
    ----------
    cells : sequence of HealthCell
        Protected cells of the edition, after the audit.
    series : mapping
        See :func:`etl.release_published.published_quarters`.
    settings : Settings
        Recorded restarts of baselines.
    hidden : str
        Words for a team hidden this quarter, as in table ``health``.
    limits : Limits, optional
        Decision limits; see `etl.release_flag_setup`.
    wander : Wander, optional
        How averages stray when nothing changes, found with the limits.

    Returns
    -------
    list of tuple
        Rows of table ``flag`` without the edition number; none outside the end of a quarter. A team hidden
        this quarter is not judged, whatever its past.
    """
    now = [c for c in cells if c.kind == QUARTER_KIND]
    overall, rule = _overall(series), limits or DEFAULT
    rows: list[Row] = []
    teams: dict[tuple[str, str, str], list[tuple[HealthCell, list[QuarterCount]]]] = {}
    for cell in now:
        restart = settings.symptoms.baseline_restarts.get(cell.unit, "")
        past = [q for q in series.get((cell.region, cell.unit), ()) if q.quarter >= restart]
        head = (cell.period, "quarter", cell.level, cell.unit, "discomfort", cell.region)
        if cell.published is None or len(past) <= BASELINE_QUARTERS:
            rows.append((*head, *_unjudged(hidden if cell.published is None else FEW_QUARTERS)))
            continue
        teams.setdefault((cell.period, cell.level, cell.unit), []).append((cell, past))
        found = flag_series(
            [[q.published for q in past]],
            [[q.n for q in past]],
            limit=rule.region,
            baseline_periods=BASELINE_QUARTERS,
            window=BASELINE_QUARTERS,
            overall=overall[cell.region],
            count_noise=rounding_noise(cell.base),
        )
        rows.append((*head, *_health_words(cell, past, found, rule.region)))
    for (period, level, unit), own in teams.items():
        head = (period, "quarter", level, unit, "discomfort", ALL_REGIONS)
        rows.append((*head, *_together_words(own, overall, rule, wander or DEFAULT_WANDER)))
    return rows


def _unjudged(reason: str) -> Row:
    return NOT_JUDGED, None, None, None, None, None, reason, f"{reason.capitalize()}.", ""


def _together_words(
    own: Sequence[tuple[HealthCell, list[QuarterCount]]],
    overall: Mapping[str, float],
    limits: Limits,
    wander: Wander,
) -> Row:
    """Judge the average over a team's regions; a region hidden in a quarter is left out of it there."""
    quarters = sorted({q.quarter for _, past in own for q in past})
    if len(quarters) <= BASELINE_QUARTERS:
        return _unjudged(FEW_QUARTERS)
    shown = [{q.quarter: q for q in past} for _, past in own]
    counts = [np.array([[by[q].published if q in by else 0 for q in quarters]], float) for by in shown]
    people = [np.array([[by[q].n if q in by else 0 for q in quarters]], float) for by in shown]
    found = flag_together(
        counts,
        people,
        [overall[cell.region] for cell, _ in own],
        wander,
        baseline_periods=BASELINE_QUARTERS,
        count_noise=rounding_noise(own[0][0].base),
        when=[4 * int(q[:4]) + int(q[-1]) for q in quarters],
    )
    if not found.judged[0]:
        return _unjudged(FEW_QUARTERS)
    score, limit = float(found.score[0, -1]), limits.together(len(quarters) - 1 - BASELINE_QUARTERS)
    before = slice(0, BASELINE_QUARTERS)
    baseline = 5 * round(20 * float(np.mean([_share(x[:, before], n[:, before])
                                             for x, n in zip(counts, people, strict=True)])))  # fmt: skip
    now = round(float(np.mean([percent_of(past[-1].published, past[-1].n) for _, past in own])))
    told = f"About {now} % now on average over {len(own)} body regions, against about {baseline} % "
    if score < limit:
        sentence = f"{told}in the team's own first year: no flag."
        return IN_CONTROL, None, baseline, now, round(score, 1), limit, None, sentence, ""
    since = quarters[int(found.start[0, -1])]
    sentence = (
        f"{told}in the team's own first year: discomfort has risen, taking all regions together. The rise "
        f"most likely began in {since}. {HOW_SURE}"
    )
    return FLAGGED, since, baseline, now, round(score, 1), limit, None, sentence, NEXT_HEALTH


def _share(counts: np.ndarray, people: np.ndarray) -> float:
    return float(counts.sum() / max(people.sum(), 1))


def _overall(series: Mapping[tuple[str, str], Sequence[QuarterCount]]) -> dict[str, float]:
    """Return each region's share over all teams in its first four published quarters, which never changes."""
    by_region: dict[str, dict[str, list[QuarterCount]]] = {}
    for (region, _), quarters in series.items():
        for q in quarters:
            by_region.setdefault(region, {}).setdefault(q.quarter, []).append(q)
    shares = {}
    for region, quarters in by_region.items():
        counts = [q for quarter in sorted(quarters)[:BASELINE_QUARTERS] for q in quarters[quarter]]
        shares[region] = sum(q.published for q in counts) / sum(q.n for q in counts)
    return shares


def _health_words(
    cell: HealthCell, past: Sequence[QuarterCount], found: Flags, limit: float
) -> tuple[object, ...]:
    score = float(found.score[0, -1])
    percent = percent_of(past[-1].published, past[-1].n)
    baseline = 5 * round(20 * float(found.baseline[0]))
    low, high = outward_percent(wilson_of_rounded(past[-1].published, past[-1].n, cell.base), 5)
    if score < limit:
        sentence = f"About {percent} % now, against about {baseline} % in the team's own first year: no flag."
        return IN_CONTROL, None, baseline, percent, round(score), limit, None, sentence, ""
    since = past[int(found.start[0, -1])].quarter
    sentence = (
        f"Discomfort has risen against the team's own first year: about {baseline} % then, {percent} % now "
        f"(95 % interval {low} to {high} %). The rise most likely began in {since}. {HOW_SURE}"
    )
    return FLAGGED, since, baseline, percent, round(score), limit, None, sentence, NEXT_HEALTH


def exposure_flags(month: Month, series: Past) -> list[Row]:
    """Judge the month's exposure of each team and cluster against its own first twelve months.

    Parameters
    ----------
    month : Month
        Month released.
    series : mapping
        Published values up to this month; see :func:`etl.release_published.with_this_month`.

    Returns
    -------
    list of tuple
        Rows of table ``flag`` without the edition number.
    """
    rows: list[Row] = []
    for (level, unit, measure), values in sorted(series.items()):
        head = (str(month), "month", level, unit, "exposure", measure)
        first = parse_month(min(values)) if values else month
        months = [first]
        while months[-1] < month:
            months.append(months[-1].plus(1))
        line = [values.get(str(m), np.nan) for m in months]
        found = exposure_flag(line, BASELINE_MONTHS)
        if str(month) not in values or found.baseline is None or found.line is None:
            rows.append((*head, *_unjudged(FEW_MONTHS)))
            continue
        numbers = (
            round(found.baseline, 1),
            values[str(month)],
            round(found.line, 1),
            round(found.limit or 0.0, 1),
        )
        if found.word != RISEN or found.since is None:
            sentence = f"{numbers[1]:g} this month, {numbers[0]:g} on average in its own first year: no flag."
            rows.append((*head, IN_CONTROL, None, *numbers, None, sentence, ""))
            continue
        since = str(months[found.since])
        sentence = (
            f"Risen against its own first year: {numbers[0]:g} on average then, {numbers[1]:g} this month. "
            f"The smooth line has stood above that average since {since}. "
            "A rule like this flags at most one of 40 teams a year by mistake."
        )
        rows.append((*head, FLAGGED, since, *numbers, None, sentence, NEXT_EXPOSURE))
    return rows
