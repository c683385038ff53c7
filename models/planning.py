"""How many teams, how many months: power and smallest effect of a plan, from the site's own variance."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtri, nctdtr, ndtr, stdtrit

from models.binary_agreement import leaning_correlation, phi_of
from models.change_world import GROUND, Ground, draw_world
from models.meta_regression import LEAST_FACTOR
from models.team_changes import change_fit

WORLDS = 400
_CHUNK = 100
_BOUNDS = (0.005, 0.6)
_SURE = 20.0
_QUANTILES = 400


@dataclass(frozen=True)
class Plan:
    """A change planned with one common start.

    Attributes
    ----------
    sizes : tuple of int
        People on each team, changed teams first.
    changed : int
        Teams changed.
    before, after : int
        Months on either side.
    ground : Ground
        How the site's answers hang together.
    """

    sizes: tuple[int, ...]
    changed: int
    before: int
    after: int
    ground: Ground = GROUND


@dataclass(frozen=True)
class Power:
    """Power of a plan.

    Attributes
    ----------
    power, error : float
        Share of drawn worlds in which the effect is found at 5 %, and its Monte-Carlo standard error.
    worlds : int
        Worlds drawn.
    """

    power: float
    error: float
    worlds: int


def simulated_power(plan: Plan, effect: float, rng: np.random.Generator, worlds: int = WORLDS) -> Power:
    """Return the power by drawing worlds and evaluating them as a change would be.

    Parameters
    ----------
    plan : Plan
        The plan.
    effect : float
        Added to the share with discomfort in changed teams after the start, such as -0.1.
    rng : numpy.random.Generator
        Source of chance.
    worlds : int
        Worlds drawn.

    Returns
    -------
    Power
        Share found.
    """
    teams, months = len(plan.sizes), plan.before + plan.after
    dose = np.arange(teams) < plan.changed
    added = np.zeros((teams, months))
    added[: plan.changed, plan.before :] = effect
    found = done = 0
    while done < worlds:
        number = min(_CHUNK, worlds - done)
        world = draw_world(rng, plan.sizes, months, plan.ground, effect=added, worlds=number)
        low, high = change_fit(world.sums(plan.before), dose).interval(1)
        found += int(((low > 0) | (high < 0)).sum())
        done += number
    share = found / done
    return Power(share, float(np.sqrt(max(share * (1 - share), 1 / done) / done)), done)


@dataclass(frozen=True)
class PlanError:
    """Standard errors of the effect of a plan, as shares.

    Attributes
    ----------
    whole : float
        From people and from teams' shocks.
    people : float
        From people alone; the evaluation never goes below a share of it.
    """

    whole: float
    people: float


def error_of(plan: Plan) -> PlanError:
    """Return the standard error of the effect, in closed form.

    A team's change has ``v / n + tau2``: v the variance of one person's after less before, from the agreement
    of yes-or-no answers over the months answered, n the people who answer on both sides; tau2 the variance of
    the mean of autocorrelated shocks after less before. Weighted least squares over teams.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    PlanError
        Standard errors.
    """
    ground, p = plan.ground, plan.ground.prevalence
    stay = 1 - ground.turnover
    before = stay ** np.arange(1, plan.before + 1)[::-1]
    after = stay ** np.arange(plan.after)
    answer = ground.answering * np.concatenate([before, after])
    side = np.concatenate([-np.ones(plan.before), np.ones(plan.after)])
    expected = np.where(side < 0, answer[: plan.before].sum(), answer[plan.before :].sum())
    weight = side * answer / expected
    lags = np.abs(np.subtract.outer(np.arange(len(side)), np.arange(len(side))))
    leaning = leaning_correlation(lags, ground.steady, ground.persistence)
    agree = np.where(lags == 0, 1.0, phi_of(leaning, p))
    # On the diagonal an answer is there or not: its expected square is larger than that of its expectation.
    extra = (weight**2 * (1 / answer - 1)).sum()
    person = p * (1 - p) * (weight @ agree @ weight + extra)
    both = (1 - np.prod(1 - answer[: plan.before])) * (1 - np.prod(1 - answer[plan.before :]))
    level = np.where(side < 0, -1 / plan.before, 1 / plan.after)
    shock = (ground.shock_sd * p * (1 - p)) ** 2 * (level @ ground.shock_persistence**lags @ level)
    own = person / (np.asarray(plan.sizes, float) * both)
    whole, people = (_contrast(part, plan.changed) for part in (own + shock, own))
    return PlanError(whole, people)


def _contrast(variance: np.ndarray, changed: int) -> float:
    inverse = 1 / variance
    return float(np.sqrt(1 / inverse[:changed].sum() + 1 / inverse[changed:].sum()))


def closed_power(plan: Plan, effect: float) -> float:
    """Return the power in closed form, as a cross-check.

    The evaluation divides by ``sqrt(max(c people**2, whole**2 chi2 / df))``, c the least factor of the
    meta-regression on people's own error; the power is averaged over chi-square with ``teams - 2`` df.

    Parameters
    ----------
    plan : Plan
        The plan.
    effect : float
        Effect as a share.

    Returns
    -------
    float
        Power at 5 %, two-sided.
    """
    error, df = error_of(plan), len(plan.sizes) - 2
    chi = chdtri(df, (np.arange(_QUANTILES) + 0.5) / _QUANTILES)
    edge = float(stdtrit(df, 0.975)) * np.sqrt(
        np.maximum(LEAST_FACTOR * (error.people / error.whole) ** 2, chi / df)
    )
    centre = abs(effect) / error.whole
    return float((ndtr(centre - edge) + ndtr(-centre - edge)).mean())


def t_power(effect: float, error: float, df: int) -> float:
    """Return the power of a two-sided 5 % t test.

    Parameters
    ----------
    effect, error : float
        Effect and its standard error.
    df : int
        Degrees of freedom.

    Returns
    -------
    float
        Power.
    """
    centre, edge = abs(effect) / error, float(stdtrit(df, 0.975))
    if centre > _SURE:
        return 1.0
    # Far down the near side the library's value underflows to a missing number; it is 0 there.
    other = float(nctdtr(df, centre, -edge))
    return float(1 - nctdtr(df, centre, edge)) + (other if other == other else 0.0)


def smallest_effect(plan: Plan, power: float = 0.8) -> float:
    """Return the effect that the plan finds with a given power, in closed form.

    Parameters
    ----------
    plan : Plan
        The plan.
    power : float
        Power wanted.

    Returns
    -------
    float
        Size as a share; infinite where even 60 points would not be found.
    """
    if closed_power(plan, _BOUNDS[1]) < power:
        return float("inf")
    root: Any = brentq(lambda effect: closed_power(plan, effect) - power, *_BOUNDS)
    return float(root)


def teams_needed(plan: Plan, effect: float, power: float = 0.8, most: int = 60) -> int | None:
    """Return how many teams in all, half of them changed, find an effect.

    Parameters
    ----------
    plan : Plan
        Months and ground; team sizes are repeated in turn.
    effect : float
        Effect as a share.
    power : float
        Power wanted.
    most : int
        Most teams tried.

    Returns
    -------
    int or None
        Smallest even number; None if `most` do not suffice.
    """
    for teams in range(4, most + 1, 2):
        sizes = tuple(plan.sizes[k // 2 % len(plan.sizes)] for k in range(teams))
        tried = replace(plan, sizes=(*sizes[::2], *sizes[1::2]), changed=teams // 2)
        if closed_power(tried, effect) >= power:
            return teams
    return None
