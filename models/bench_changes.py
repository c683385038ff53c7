"""Whom a bench fits in a group of women and men, and which change would raise that share most."""

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from models.anthropometry import MEN, WOMEN, Body
from models.bench import FIT_RULE, SEAT_BOUNDS, Bench, FitRule
from models.bench_fit import seated_share, standing_share
from models.sourced import measured


@dataclass(frozen=True)
class BenchFit:
    """Shares whom a bench fits.

    Attributes
    ----------
    standing_women, standing_men, standing : float
        Share that can stand with elbows at a workable height; the last for the group's mix.
    seated_women, seated_men, seated : float
        Share that can sit with elbows at a workable height and room for thighs.
    either_low, either_high : float
        Bounds of the group's share that can sit or stand. How standing and seated dimensions go together is
        not known well enough for one number, so these are the bounds that no correlation can break.
    """

    standing_women: float
    standing_men: float
    standing: float
    seated_women: float
    seated_men: float
    seated: float
    either_low: float
    either_high: float


@dataclass(frozen=True)
class Remedies:
    """Changes to try at a bench. Sizes are for the asking: configuration, no source.

    Attributes
    ----------
    edge_thickness : float
        Thickness above the thighs that a thinner edge or a cut-out would give, mm.
    chair_wider : float
        How much lower and higher a chair with a wider range goes, mm.
    platforms : tuple of float
        Heights of platforms to stand on, mm.
    """

    edge_thickness: float = 20.0
    chair_wider: float = 50.0
    platforms: tuple[float, ...] = (50.0, 100.0, 150.0)


REMEDIES = Remedies()


@dataclass(frozen=True)
class FitChange:
    """What a change, or several together, would do to the group's share.

    Attributes
    ----------
    changes : tuple of str
        What is changed, in words.
    posture : str
        ``seated`` or ``standing``.
    before, after, gain : float
        Share as it is, with the change, and the difference.
    """

    changes: tuple[str, ...]
    posture: str
    before: float
    after: float
    gain: float


def bench_fit(
    bench: Bench,
    share_women: float,
    *,
    rule: FitRule = FIT_RULE,
    women: Body = WOMEN,
    men: Body = MEN,
) -> BenchFit:
    """Return the shares whom a bench fits, by sex and for a group's mix.

    Joint normal model on ANSUR II (Gordon et al. 2014, NATICK/TR-15/007), published data. Sit or stand lies
    between the larger of the two shares and their sum (at most 1), sex by sex. Status: own construct.

    Parameters
    ----------
    bench : Bench
        Bench and chair.
    share_women : float
        Share of women in the group, in [0, 1]; NaN where unknown.
    rule : FitRule
        When a bench fits.
    women, men : Body
        Body dimensions.

    Returns
    -------
    BenchFit
        NaN where a measure needed is unknown.

    Raises
    ------
    ValueError
        If the share of women lies outside [0, 1].
    """
    w = _share(share_women)
    stand = [
        float(standing_share(bench.height, body, rule, platform=bench.platform)) for body in (women, men)
    ]
    sit = [seated_share(bench, body, rule) for body in (women, men)]
    low, high = np.maximum(stand, sit), np.minimum(np.add(stand, sit), 1.0)
    return BenchFit(
        standing_women=stand[0],
        standing_men=stand[1],
        standing=_mix(stand, w),
        seated_women=sit[0],
        seated_men=sit[1],
        seated=_mix(sit, w),
        either_low=_mix(low.tolist(), w),
        either_high=_mix(high.tolist(), w),
    )


def fit_changes(
    bench: Bench,
    share_women: float,
    *,
    remedies: Remedies = REMEDIES,
    rule: FitRule = FIT_RULE,
    women: Body = WOMEN,
    men: Body = MEN,
) -> tuple[FitChange, ...]:
    """Return what changes at a bench would do to the group's share, the largest gain first.

    Seated: a thinner edge, foot support and a chair of wider range, each and together, because a higher seat
    without foot support may help nobody. Standing: platforms of given heights. Same model and status as
    `bench_fit`.

    Parameters
    ----------
    bench : Bench
        Bench and chair as they are.
    share_women : float
        Share of women in the group, in [0, 1].
    remedies : Remedies
        Sizes of the changes.
    rule : FitRule
        When a bench fits.
    women, men : Body
        Body dimensions.

    Returns
    -------
    tuple of FitChange
        Largest gain first, of equal gains the one with fewer changes; changes that cannot be judged, because
        the bench or the mix is unknown, are left out.

    Raises
    ------
    ValueError
        If the share of women lies outside [0, 1].
    """
    w = _share(share_women)

    def share(changed: Bench, posture: str) -> float:
        of_one = seated_share if posture == "seated" else _standing
        return _mix([of_one(changed, body, rule) for body in (women, men)], w)

    single = _seated_changes(bench, remedies)
    candidates = [
        (names, "seated", {key: value for name in names for key, value in single[name].items()})
        for size in range(1, len(single) + 1)
        for names in combinations(single, size)
    ]
    candidates += [
        ((f"platform of {height:g} mm",), "standing", {"platform": height})
        for height in remedies.platforms
        if height != bench.platform
    ]
    before = {posture: share(bench, posture) for posture in ("seated", "standing")}
    found = []
    for names, posture, fields in candidates:
        after = share(replace(bench, **fields), posture)
        gain = after - before[posture]
        if not np.isnan(gain):
            found.append(FitChange(names, posture, before[posture], after, gain))
    return tuple(sorted(found, key=lambda change: (-round(change.gain, 9), len(change.changes))))


def _seated_changes(bench: Bench, remedies: Remedies) -> dict[str, dict[str, float | bool | None]]:
    changes: dict[str, dict[str, float | bool | None]] = {}
    if bench.thickness > remedies.edge_thickness:
        name = f"edge of {remedies.edge_thickness:g} mm"
        changes[name] = {"edge_thickness": remedies.edge_thickness, "cut_out_thickness": None}
    if not bench.foot_support:
        changes["foot support"] = {"foot_support": True}
    name = f"chair {remedies.chair_wider:g} mm lower and higher"
    changes[name] = {
        "chair_low": max(bench.chair_low - remedies.chair_wider, SEAT_BOUNDS[0]),
        "chair_high": min(bench.chair_high + remedies.chair_wider, SEAT_BOUNDS[1]),
    }
    return changes


def _standing(bench: Bench, body: Body, rule: FitRule) -> float:
    return float(standing_share(bench.height, body, rule, platform=bench.platform))


def _mix(shares: list[float], share_women: float) -> float:
    return share_women * shares[0] + (1 - share_women) * shares[1]


def _share(share_women: float) -> float:
    remedy = "Give the group's share as a fraction; divide a percentage by 100."
    return float(measured("share of women", share_women, low=0.0, high=1.0, remedy=remedy))
