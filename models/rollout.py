"""Where to start and in which order, by lot with a recorded seed; and what a change costs for its good."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Schedule:
    """A roll-out drawn by lot.

    Attributes
    ----------
    seed : int
        Seed of the draw; the same seed and teams give the same schedule.
    steps : tuple of tuple of str
        Teams that start together, in order; teams not started are not listed.
    starts : tuple of int
        Month of each step, counted from the first month of the plan.
    """

    seed: int
    steps: tuple[tuple[str, ...], ...]
    starts: tuple[int, ...]


@dataclass(frozen=True)
class CaseMonthCost:
    """Cost of one person-month of discomfort avoided.

    Attributes
    ----------
    cost, low, high : float or None
        Cost and its limits; None where no good was found, or none is ruled out.
    avoided : float
        Person-months of discomfort avoided, by the estimate.
    sentence : str
        The same in words.
    """

    cost: float | None
    low: float | None
    high: float | None
    avoided: float
    sentence: str


def draw_schedule(
    teams: Sequence[str], steps: int, seed: int, *, first: int = 6, apart: int = 3, each: int | None = None
) -> Schedule:
    """Draw which teams start when.

    One step with fewer teams than all is a choice of the changed teams by lot; several steps are a stepped
    roll-out that reaches everybody.

    Parameters
    ----------
    teams : sequence of str
        Teams that may be changed, in any order.
    steps : int
        Number of starts.
    seed : int
        Seed, kept with the schedule.
    first, apart : int
        Month of the first start, and months between starts.
    each : int, optional
        Teams started at each step; by default all, shared out evenly.

    Returns
    -------
    Schedule
        The schedule.

    Raises
    ------
    ValueError
        If teams repeat or do not suffice, or baseline or spacing is under three months.
    """
    names = sorted(teams)
    if len(set(names)) != len(names) or not 1 <= steps <= len(names):
        raise ValueError(f"{steps} steps for {len(set(names))} different teams")
    if first < 3 or apart < 3:
        raise ValueError("a start needs three whole months before it, and steps three months between them")
    order = [names[k] for k in np.random.default_rng(seed).permutation(len(names))]
    if each is not None:
        if steps * each > len(order):
            raise ValueError(f"{steps} steps of {each} teams need more than {len(order)} teams")
        order = order[: steps * each]
    parts = np.array_split(np.array(order, object), steps)
    drawn = tuple(tuple(sorted(part)) for part in parts)
    return Schedule(seed, drawn, tuple(first + apart * k for k in range(steps)))


def case_month_cost(
    cost: float, effect: float, low: float, high: float, people: float, months: float
) -> CaseMonthCost:
    """Return the cost of a person-month of discomfort avoided, with the limits the effect's interval gives.

    ``cost / (-effect * people * months)``; a limit at which nothing is avoided has no cost (Fieller's
    interval of a ratio with a known numerator).

    Parameters
    ----------
    cost : float
        What the change cost, 0 or more.
    effect, low, high : float
        Change of the share with discomfort and its interval; below 0 is good.
    people, months : float
        People reached, and months they had the change.

    Returns
    -------
    CaseMonthCost
        The cost.

    Raises
    ------
    ValueError
        If cost is negative, or nobody was reached.
    """
    if cost < 0 or people <= 0 or months <= 0:
        raise ValueError(f"cost {cost} for {people} people and {months} months")

    def of(share: float) -> float | None:
        return cost / (-share * people * months) if share < 0 else None

    avoided = -effect * people * months
    middle, cheap, dear = of(effect), of(low), of(high)
    if middle is None:
        words = "No month of discomfort was avoided by the estimate, so there is no cost for one."
    else:
        top = f"{dear:,.0f}" if dear is not None else "no upper limit"
        words = f"One month of discomfort avoided cost {middle:,.0f} ({cheap or 0:,.0f} to {top})."
    return CaseMonthCost(middle, cheap, dear, avoided, words)
