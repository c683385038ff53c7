"""What stands beside the effect of a staggered change: event study, leave-one-out, a pretended date."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.adoption import NEVER, event_weights, imputation_weights
from models.paths import draw_paths
from models.staggered import StaggeredEffect, placed, spread, staggered_effect, team_variance


@dataclass(frozen=True)
class EventStudy:
    """Effects by periods since the start, the last period before it being 0.

    Attributes
    ----------
    event : tuple of int
        Periods since the start.
    effect, low, high : numpy.ndarray
        Effects and the spread of reassignments around them (95 %).
    trend_p : float or None
        Randomisation p of all periods before the reference together; None with none.
    trend_seen : float or None
        A drift per period before the start that this design would have found in four of five cases.
    """

    event: tuple[int, ...]
    effect: np.ndarray
    low: np.ndarray
    high: np.ndarray
    trend_p: float | None
    trend_seen: float | None


def event_study(
    shares: npt.ArrayLike,
    starts: npt.ArrayLike,
    people: npt.ArrayLike,
    rng: np.random.Generator,
    *,
    before: int = 4,
    after: int = 4,
) -> EventStudy:
    """Return effects by periods since the start and a joint test of the periods before it.

    Parameters
    ----------
    shares, starts, people
        As for `staggered_effect`.
    rng : numpy.random.Generator
        Source of reassignments.
    before, after : int
        Periods shown before and after the start.

    Returns
    -------
    EventStudy
        Absence of a trend before is no proof of parallel trends: `trend_seen` says what could have been seen.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    ways, variance = draw_paths(start, rng), team_variance(shares, starts, people)
    kept: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    for event in range(-before, after + 1):
        weights = event_weights(start, y.shape[1], event)
        if event != -1 and weights is not None:
            kept[event] = (placed(weights, y, ways), spread(weights, variance, ways))
    effect = np.array([a[0] for a, _ in kept.values()])
    half = np.array([np.quantile(np.abs(a / s), 0.95) * s[0] for a, s in kept.values()])
    early = [event for event in kept if event < -1]
    trend_p = seen = None
    if early:
        size = np.sum([(kept[event][0] / kept[event][1]) ** 2 for event in early], axis=0)
        trend_p = float((size >= size[0] * (1 - 1e-9)).mean())
        # 80 % power needs 1.43 times the distance of the 5 % limit: (1.96 + 0.84) / 1.96.
        place = early[0]
        seen = float(1.43 * half[[*kept].index(place)] / abs(place + 1))
    return EventStudy(tuple(kept), effect, effect - half, effect + half, trend_p, seen)


def leave_one_team_out(shares: npt.ArrayLike, starts: npt.ArrayLike) -> np.ndarray:
    """Return the imputation estimate without each team in turn.

    Parameters
    ----------
    shares, starts
        As for `staggered_effect`.

    Returns
    -------
    numpy.ndarray, shape (teams,)
        NaN where nothing could be imputed without that team.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    found = np.full(len(start), np.nan)
    for team in range(len(start)):
        kept = np.delete(start, team)
        try:
            weights = imputation_weights(kept, y.shape[1])
        except ValueError:
            continue
        found[team] = (weights * np.delete(y, team, 0)).sum()
    return found


def placebo_date(
    shares: npt.ArrayLike,
    starts: npt.ArrayLike,
    people: npt.ArrayLike,
    rng: np.random.Generator,
    earlier: int,
) -> StaggeredEffect | None:
    """Return the effect of pretended starts some periods too early, cells after the true starts left out.

    Parameters
    ----------
    shares, starts, people, rng
        As for `staggered_effect`.
    earlier : int
        Periods by which the starts are moved.

    Returns
    -------
    StaggeredEffect or None
        Nothing should be found; None where too few periods lie before the earliest start, or all start then.
    """
    y, start = np.asarray(shares, float), np.asarray(starts, int)
    first = int(start[start != NEVER].min())
    if first - earlier < 2 or (start == first).all():
        return None
    # Up to the earliest start nobody is treated, so these periods carry the pretence for all teams; where all
    # start in the end, those that start later are the ones to compare with.
    pretend = start != NEVER if (start == NEVER).any() else start == first
    pretended = np.where(pretend, first - earlier, NEVER)
    return staggered_effect(y[:, :first], pretended, people, rng)
