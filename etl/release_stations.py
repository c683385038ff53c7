"""Whom each station fits: of benches, chairs and published body sizes; nobody's data is in it."""

from functools import lru_cache

from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.bench import Bench
from models.bench_changes import BenchFit, FitChange, bench_fit, fit_changes

NOT_SEEN = "not shown: bench height not measured"
LEAST_GAIN = 0.02
"""Gains below two points are no reason to change a bench."""


def station_rows(job: Job) -> list[Row]:
    """Return the rows of table ``station_fit``: every station as its newest walk-through found it.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows without the edition number; shares in whole percent, empty where a measure is missing.
    """
    found = job.con.execute(sql("release/520_station"), {"last_day": job.month.last_day}).fetchall()
    rows: list[Row] = []
    for station, team, observed_on, seen in found:
        head = (str(job.month), team, station, observed_on)
        if seen["height"] is None:
            rows.append((*head, *[None] * 10, NOT_SEEN))
            continue
        bench = Bench(
            height=seen["height"],
            edge_thickness=_known(seen["edge"]),
            chair_low=_known(seen["low"]),
            chair_high=_known(seen["high"]),
            foot_support=seen["foot"],
        )
        fit, best = _fit(bench, job.settings.dose.share_women)
        shares = (
            fit.standing_women, fit.standing_men, fit.seated_women, fit.seated_men, fit.either_low,
            fit.either_high,
        )  # fmt: skip
        words = (" and ".join(best.changes), best.posture, _percent(best.after)) if best else (None,) * 3
        rows.append((*head, bench.height, *map(_percent, shares), *words, None))
    return rows


@lru_cache(maxsize=4096)
def _fit(bench: Bench, share_women: float) -> tuple[BenchFit, FitChange | None]:
    """Return whom a bench fits and what would raise that most; many benches are alike, in every month."""
    fit = bench_fit(bench, share_women)
    gains = [change for change in fit_changes(bench, share_women) if change.gain >= LEAST_GAIN]
    if not gains:
        return fit, None
    # Of changes that do about as much as the best, the one that asks for least.
    near = [change for change in gains if change.gain >= gains[0].gain - LEAST_GAIN]
    return fit, min(near, key=lambda change: len(change.changes))


def _known(value: float | None) -> float:
    return float("nan") if value is None else value


def _percent(share: float) -> int | None:
    return None if share != share else round(100 * share)
