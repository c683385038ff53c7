"""Did it help? The verdict in words, with what would settle it where it cannot be told."""

from dataclasses import dataclass
from math import ceil, comb, isfinite

from scipy.special import stdtrit

HELPED, NO_CLEAR_CHANGE, WORSE, CANNOT_TELL = "helped", "no clear change", "worse", "cannot tell"
MEANINGFUL_POINTS = 5.0
"""Smallest change of prevalence that matters, points, unless the register says otherwise. Own convention."""


@dataclass(frozen=True)
class Verdict:
    """Verdict on one change.

    Attributes
    ----------
    word : str
        ``helped``, ``no clear change``, ``worse`` or ``cannot tell``.
    sentence : str
        The verdict in one sentence.
    points, low, high : float or None
        Change of prevalence against the comparison in points, and its interval; None where none is estimated.
    meaningful : float
        Smallest change that matters, in points.
    settle : str
        What would settle it; empty where it is settled.
    """

    word: str
    sentence: str
    points: float | None
    low: float | None
    high: float | None
    meaningful: float
    settle: str


def judge(
    points: float,
    low: float,
    high: float,
    *,
    meaningful: float = MEANINGFUL_POINTS,
    out_of_reach: str = "",
    settle: str = "",
    shown: tuple[float, float, float] | None = None,
) -> Verdict:
    """Put an estimate into one of four words.

    Below 0 is less discomfort. With the smallest change that matters m: *helped* if the interval lies below 0
    and the estimate at -m or below; *worse* the other way round; *no clear change* if the interval lies
    within -m and m, or excludes 0 with an estimate smaller than m; *cannot tell* for the rest, because both
    nothing and something that matters are left open.

    Parameters
    ----------
    points, low, high : float
        Estimate and interval, points of prevalence.
    meaningful : float
        Smallest change that matters, more than 0.
    out_of_reach : str
        Why the design can show nothing, if so; then the verdict is *cannot tell* whatever the numbers say.
    settle : str
        What would settle it.
    shown : tuple of float, optional
        Estimate and limits to print in their place, rounded; the word rests on those before rounding.

    Returns
    -------
    Verdict
        The verdict, with the printed numbers; `settle` is kept only where it cannot be told.

    Raises
    ------
    ValueError
        If the interval does not hold the estimate, or nothing matters.
    """
    if not low <= points <= high or meaningful <= 0:
        raise ValueError(f"interval {low} to {high} of {points}, smallest change {meaningful}")
    printed = shown or (points, low, high)
    told = _told(printed, (low, high))
    if out_of_reach:
        sentence = f"Cannot tell. {told}, but {out_of_reach}."
        return Verdict(CANNOT_TELL, sentence, *printed, meaningful, settle)
    if high < 0 and points <= -meaningful:
        word, rest = HELPED, "; nothing at all is hard to square with that"
    elif low > 0 and points >= meaningful:
        word, rest = WORSE, "; nothing at all is hard to square with that"
    elif -meaningful <= low and high <= meaningful:
        word, rest = NO_CLEAR_CHANGE, f"; a change of {meaningful:g} points or more is ruled out"
    elif high < 0 or low > 0:
        word, rest = NO_CLEAR_CHANGE, f"; that is less than the {meaningful:g} points that matter"
    else:
        word = CANNOT_TELL
        rest = f"; both no change and one of {meaningful:g} points or more are left open"
    kept = settle if word == CANNOT_TELL else ""
    return Verdict(word, f"{word.capitalize()}. {told}{rest}.", *printed, meaningful, kept)


def refused(reasons: tuple[str, ...], *, meaningful: float = MEANINGFUL_POINTS, settle: str = "") -> Verdict:
    """Return the verdict where the design lets nothing be estimated.

    Parameters
    ----------
    reasons : tuple of str
        Why, in words.
    meaningful : float
        Smallest change that matters.
    settle : str
        What would settle it.

    Returns
    -------
    Verdict
        *Cannot tell*, without numbers.
    """
    return Verdict(CANNOT_TELL, f"Cannot tell: {'; '.join(reasons)}.", None, None, None, meaningful, settle)


def more_teams(error_points: float, df: int, changed: int, meaningful: float = MEANINGFUL_POINTS) -> str:
    """Say how many changed teams would settle it, spread as now.

    ``n' = n ((t(.975) + t(.80)) SE / m)**2``: the smallest change that matters found in four of five cases.

    Parameters
    ----------
    error_points : float
        Standard error in points.
    df : int
        Degrees of freedom.
    changed : int
        Teams changed.
    meaningful : float
        Smallest change that matters, points.

    Returns
    -------
    str
        A sentence.
    """
    reach = float(stdtrit(df, 0.975) + stdtrit(df, 0.80)) * error_points
    needed = max(ceil(changed * (reach / meaningful) ** 2), changed + 1)
    return (
        f"This design finds {reach:.0f} points in four of five cases; to find {meaningful:g} it takes about "
        f"{needed} changed teams with as many months and as many others each, or more months"
    )


def more_choices(teams: int, changed: int, significant: float = 0.05) -> str:
    """Say how many teams must be changed for chance to be told apart.

    Parameters
    ----------
    teams : int
        Teams in all.
    changed : int
        Teams changed.
    significant : float
        Level.

    Returns
    -------
    str
        A sentence.
    """
    for number in range(changed + 1, teams):
        if (2 if 2 * number == teams else 1) / comb(teams, number) <= significant:
            return f"The same change at {number} of these {teams} teams, chosen by lot, could settle it"
    least = next(n for n in range(4, 100) if (2 if n % 2 == 0 else 1) / comb(n, n // 2) <= significant)
    return f"At least {least} teams, half of them changed by lot, are needed to settle it"


def _told(printed: tuple[float, float, float], limits: tuple[float, float]) -> str:
    points, low, high = printed
    way = "fell by" if points < 0 else "rose by"
    moved = f"{way} {abs(points):.0f} points" if abs(points) >= 0.5 else "moved by about 0 points"
    # A limit rounded to 0 would hide on which side of it the interval ends.
    left = "just over 0" if limits[0] > 0 >= low else _limit(low, "lower")
    right = "just under 0" if limits[1] < 0 <= high else _limit(high, "upper")
    return f"Discomfort {moved} against the comparison (95 % interval {left} to {right})"


def _limit(value: float, side: str) -> str:
    return f"{value:.0f}" if isfinite(value) else f"no {side} limit"
