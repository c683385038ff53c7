"""The one gate that every model result passes before it enters a release.

Use: ``said = gate_result(question, estimate, ground, earlier)`` gives `Gated`, the numbers to publish, or
`Withheld`, with the words to print in their place. A caller hands in the unrounded estimate once, prints only
what is in `Gated`, lets words follow from `Gated` too (see `Gated.judged`), and keeps ``Said(question,
ground.ways)`` of each `Gated` result for the next call. Pure functions; nothing is remembered here.

What is asked of a result, in this order: an estimate exists; at least `LEAST_PEOPLE` people in each group
compared; at least `LEAST_RESIDUAL_DF` residual degrees of freedom; question and period not answered before;
no earlier answer about the same outcome from nearly the same records (all but 1 to 19 people entering it in
the same way); an estimate that does not say the same of nearly everybody; then rounding, limits outward.
All but the last two depend on headcounts, dates and exposures alone.

**Why the rounding is no finer.** One person moves the mean of n people by at most ``d = 100 / n`` points, so
an effect, which is a sum of such means with signs, by at most d as well for each of a person's two sides.
The step s is the smallest of 1, 2 and 5 points with ``s >= d``: 5 from 20 people in the smallest group, 2
from 50, 1 from 100. Take any world that gives the published number and turn one person's answer round. The
effect may leave the published interval, of width s. Now turn answers of other people round, one after
another, each pulling it back: each moves it by at most d <= s, so it cannot jump over the interval and comes
to lie in it. So for every person both answers remain possible, as long as others are left to pull: that is
what the limit of `MOST_POINTS` keeps, also where three members in ten tell what they answered. People who
weigh more than the mean (few answers on a side, a small team) are turned round in the same way and pulled
back by those of at most mean weight.

**Why it is no coarser.** With a step below d the pull can jump over the interval: where all weigh the same,
the number is then the exact count. A coarser step than d adds nothing to the argument, which needs ``s >= d``
only. From 100 people on an effect is readable to 1 point.

**Which attack it does not stop alone, and what does.** Rounding does not survive a second statement: the
effect of the same people, one of them in and out, differs by up to one step, and a step seen says what that
person answered. Hence one statement per question and period, and none from nearly the same records. The
tests carry out both attacks, and both succeed once the rounding or the rule is taken away.

Ratios get the step of the points divided by ten: that is what one person moves where one in ten of the people
compared has discomfort. A ratio is not published where 0 or no limit is the estimate itself, which would
certify that nobody has it. The argument is about one statement; that published counts and one statement
together leave every answer open is shown by search in the tests for invented teams, not proved.
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from models.disclosure import HEALTH_FLOOR_MONTH, TOO_SMALL

LEAST_PEOPLE = HEALTH_FLOOR_MONTH
"""Fewest people in each group compared."""

LEAST_RESIDUAL_DF = 10
"""Fewest residual degrees of freedom: with fewer, the numbers all but list what was fitted."""

POINT_STEPS = (1, 2, 5)
"""Steps in points of prevalence, of which the smallest safe one is used."""

MOST_POINTS = 50
"""An effect beyond this many points either way says nearly the same of everybody in a group."""

MOST_RATIO = 10
"""The same for a ratio, and for one divided by it."""

POINTS, RATIO = "points", "ratio"

NO_ESTIMATE = "not shown: nothing could be estimated"
FEW_DEGREES = "not shown: too few people for what is estimated at once"
SAID_BEFORE = "not shown: stated already; a question is answered once for a period"
NEARLY_SAID = "not shown: nearly the same answers were used in an earlier statement"
ONE_SIDED = "not shown: it would say the same of nearly everybody"
LEANS = "not shown: it leans on a few people"


@dataclass(frozen=True)
class Question:
    """What is asked, and of which time.

    Attributes
    ----------
    outcome : str
        What is explained, for example ``discomfort/WRIST_HAND``.
    asked : str
        What about it, for example ``change LIGHT`` or ``driver hours``.
    period : str
        Months judged, for example ``2025-01 to 2026-02``.
    """

    outcome: str
    asked: str
    period: str


@dataclass(frozen=True)
class Estimate:
    """A result before rounding.

    Attributes
    ----------
    value, low, high : float
        Estimate and interval, in points of prevalence or as a ratio. Limits may be infinite.
    kind : str
        `POINTS` or `RATIO`.
    """

    value: float
    low: float
    high: float
    kind: str = POINTS


@dataclass(frozen=True)
class Ground:
    """What a result rests on.

    Attributes
    ----------
    groups : tuple of int
        People in each group compared; one group where nothing is compared.
    residual_df : float
        Residual degrees of freedom: independent people or clusters less parameters fitted.
    ways : mapping of str to str
        Opaque label of each contributor to how that person enters the result, for example ``changed
        2025-01,2025-02``; equal texts mean equal use. Empty where no other statement can be near.
    influence : float, optional
        Largest share of a whole step, in the unit of the estimate, that one person's answers can be worth by
        design (leverage), worked out from exposures and headcounts, never from answers. By default
        100 / people of the smallest group.
    """

    groups: tuple[int, ...]
    residual_df: float
    ways: Mapping[str, str]
    influence: float | None = None


@dataclass(frozen=True)
class Said:
    """A statement made earlier, with how each contributor entered it."""

    question: Question
    ways: Mapping[str, str]


@dataclass(frozen=True)
class Gated:
    """A result as it may be published.

    Attributes
    ----------
    question : Question
        What it answers.
    value, low, high : float
        Estimate to the nearest step, limits outward; infinite limits are none.
    step : float
        Step of all three.
    kind : str
        `POINTS` or `RATIO`.
    no_effect_left_out : bool
        Whether the interval leaves "no effect" out, also where a limit is rounded onto it.
    """

    question: Question
    value: float
    low: float
    high: float
    step: float
    kind: str
    no_effect_left_out: bool

    def judged(self) -> tuple[float, float, float]:
        """Return estimate and limits for a verdict in words.

        Returns
        -------
        tuple of float
            The published numbers; a limit rounded onto "no effect" stands a hair beside it where the
            interval leaves that out, so that a verdict tells nothing that the numbers do not.
        """
        none = 0.0 if self.kind == POINTS else 1.0
        hair = self.step / 1000
        low = none + hair if self.no_effect_left_out and self.low == none else self.low
        high = none - hair if self.no_effect_left_out and self.high == none else self.high
        return min(max(self.value, low), high), low, high


@dataclass(frozen=True)
class Withheld:
    """A result that is not published, and the words in its place."""

    question: Question
    reason: str


def gate_result(
    question: Question,
    estimate: Estimate,
    ground: Ground,
    earlier: Collection[Said] = (),
    *,
    floor: int = LEAST_PEOPLE,
) -> Gated | Withheld:
    """Let a result through, rounded, or say why not.

    Parameters
    ----------
    question : Question
        What it answers.
    estimate : Estimate
        The result before rounding.
    ground : Ground
        What it rests on.
    earlier : collection of Said
        All statements made so far, of this edition and of earlier ones.
    floor : int
        Fewest people in a group; raised by the settings, never below `LEAST_PEOPLE`.

    Returns
    -------
    Gated or Withheld
        What to print.

    Raises
    ------
    ValueError
        If there is no group, the interval does not hold the estimate, or the kind is unknown.
    """
    e = estimate
    if not ground.groups or e.kind not in (POINTS, RATIO):
        raise ValueError(f"{len(ground.groups)} groups, kind {e.kind}")
    least = max(floor, LEAST_PEOPLE)
    if min(ground.groups) < least:
        return Withheld(question, TOO_SMALL)
    if ground.residual_df < LEAST_RESIDUAL_DF:
        return Withheld(question, FEW_DEGREES)
    step = result_step(min(ground.groups), e.kind, ground.influence)
    if step is None:
        return Withheld(question, LEANS)
    if any(said.question == question for said in earlier):
        return Withheld(question, SAID_BEFORE)
    near = (said.ways for said in earlier if said.question.outcome == question.outcome)
    if any(0 < people_apart(ground.ways, ways) < least for ways in near):
        return Withheld(question, NEARLY_SAID)
    if not math.isfinite(e.value):
        return Withheld(question, NO_ESTIMATE)
    if not e.low <= e.value <= e.high:
        raise ValueError(f"interval {e.low} to {e.high} of {e.value}")
    if _one_sided(e):
        return Withheld(question, ONE_SIDED)
    none = 0.0 if e.kind == POINTS else 1.0
    rounded = round_outward(e.value, e.low, e.high, step)
    return Gated(question, *rounded, step, e.kind, e.low > none or e.high < none)


def result_step(people: int, kind: str = POINTS, influence: float | None = None) -> float | None:
    """Return the step to which a result is rounded.

    Parameters
    ----------
    people : int
        People in the smallest group.
    kind : str
        `POINTS` or `RATIO`.
    influence : float, optional
        What one person can be worth, see `Ground`.

    Returns
    -------
    float or None
        The smallest of 1, 2 and 5 points, or of a tenth of these for a ratio, that is no less than one
        person's worth; None where none is.
    """
    scale = 1.0 if kind == POINTS else 0.1
    worth = 100 / people * scale if influence is None else influence
    # Leverage comes out of floating point; a step is not missed by a hair.
    return next((step * scale for step in POINT_STEPS if worth <= step * scale * (1 + 1e-9)), None)


def round_outward(value: float, low: float, high: float, step: float) -> tuple[float, float, float]:
    """Round an estimate to the nearest step and its limits outward.

    Parameters
    ----------
    value, low, high : float
        Estimate and limits; limits may be infinite.
    step : float
        Step.

    Returns
    -------
    tuple of float
        Estimate and limits, the estimate never outside.
    """

    def at(steps: float) -> float:
        return round(steps * step, 9)

    middle = at(math.floor(round(value / step, 6) + 0.5))
    # A hair is taken off first, so that a limit on a step is not pushed a whole step outward.
    least = at(math.floor(round(low / step, 6))) if math.isfinite(low) else low
    most = at(math.ceil(round(high / step, 6))) if math.isfinite(high) else high
    return middle, min(least, middle), max(most, middle)


def people_apart(one: Mapping[str, str], other: Mapping[str, str]) -> int:
    """Count the people who enter two statements in different ways, or only one of them.

    Parameters
    ----------
    one, other : mapping of str to str
        Contributor to way of entering.

    Returns
    -------
    int
        People; 0 for the same records used in the same way.
    """
    return sum(one.get(person) != other.get(person) for person in one.keys() | other.keys())


def _one_sided(estimate: Estimate) -> bool:
    if estimate.kind == POINTS:
        return abs(estimate.value) > MOST_POINTS
    return not 1 / MOST_RATIO <= estimate.value <= MOST_RATIO
