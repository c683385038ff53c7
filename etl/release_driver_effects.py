"""Associations of one region with hours and force: prevalence, new onset, workers against themselves."""

from dataclasses import replace

import numpy as np

from etl.release_driver_frame import AGE, THUMB_FORCE, RegionData
from etl.release_driver_stated import HELD, STEPS, Gate, Stated, refused, stated
from models.driver_described import described_effect
from models.driver_design import design_of
from models.driver_effect import Fitted, fit_model, onset_effect, standardised
from models.driver_nested import nested_effect
from models.driver_records import Effect, Refusal, attempt
from models.driver_standard import person_worth, standardised_ratio
from models.driver_within import within_effect


def fitted_for(found: RegionData, exposure: str) -> Fitted:
    """Fit one exposure with the declared adjustment.

    Parameters
    ----------
    found : RegionData
        Answers.
    exposure : str
        Key of `STEPS`.

    Returns
    -------
    Fitted
        Logistic fit, teams as clusters.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    beside = HELD[exposure]
    steps = [STEPS[name][0] for name in (exposure, *beside)]
    return fit_model(found.data, (exposure, *beside), (AGE,), steps=steps, link="logit")


def prevalence(found: RegionData, exposure: str, gate: Gate) -> Stated:
    """State the association of an exposure with prevalence.

    Parameters
    ----------
    found : RegionData
        Answers.
    exposure : str
        Key of `STEPS`.
    gate : callable
        Lets a result through.

    Returns
    -------
    Stated
        Ratio and difference, both standardised over those who answered.
    """
    fitted = attempt(lambda: fitted_for(found, exposure))
    if isinstance(fitted, Refusal):
        return refused(found, "prevalence", exposure, fitted)
    moved = fitted.design.moved(exposure)
    ratio = standardised_ratio(fitted.fit, fitted.design.x, moved)
    points = standardised(fitted.fit, fitted.design.x, moved)
    step, unit = STEPS[exposure]
    data = found.data
    effect = Effect(
        "prevalence", exposure, step, unit, ratio.value, ratio.low, ratio.high,
        100 * points.value, 100 * points.low, 100 * points.high, points.p, points.df,
        len(data), data.people, data.teams, "prevalence ratio",
        "logistic estimating equation with teams as clusters, Mancl-DeRouen errors, t with "
        f"{fitted.fit.groups - 1} degrees of freedom; ratio and difference averaged over those who answered; "
        f"adjusted for age, {', '.join(_NAMES[name] for name in (*HELD[exposure], 'calendar'))}",
        "Liang KY, Zeger SL 1986, Biometrika 73:13; Mancl LA, DeRouen TA 2001, Biometrics 57:126",
    )  # fmt: skip
    rest = np.delete(fitted.design.x, fitted.design.names.index(exposure), axis=1)
    worth = person_worth(data.column(exposure), rest, data.person, step)
    return stated(effect, gate, fitted.design.x.shape[1], worth)


_NAMES = {THUMB_FORCE: "thumb force", "hours": "hours", "calendar": "trend and season"}


def onset(found: RegionData, gate: Gate) -> Stated:
    """State the association of hours with new discomfort among those free of it at the answer before.

    Parameters
    ----------
    found : RegionData
        Answers.
    gate : callable
        Lets a result through.

    Returns
    -------
    Stated
        A risk ratio, and the difference.
    """
    steps = [STEPS[name][0] for name in ("hours", THUMB_FORCE)]
    effect = attempt(lambda: onset_effect(found.data, "hours", (AGE, THUMB_FORCE), step=steps[0]))
    if isinstance(effect, Refusal):
        return refused(found, "new onset", "hours", effect)
    columns = design_of(found.data, (), (AGE, THUMB_FORCE)).x
    worth = person_worth(found.data.hours, columns, found.data.person, STEPS["hours"][0])
    return _of_all(found, stated(effect, gate, columns.shape[1] + 2, worth))


def within(found: RegionData, gate: Gate) -> Stated:
    """State the association of hours with discomfort, each worker against themselves.

    Parameters
    ----------
    found : RegionData
        Answers.
    gate : callable
        Lets a result through.

    Returns
    -------
    Stated
        A prevalence ratio; no difference can be told.
    """
    effect = attempt(lambda: within_effect(found.data, "hours"))
    if isinstance(effect, Refusal):
        return refused(found, "within-worker", "hours", effect)
    mean = np.bincount(found.data.person, found.data.hours) / np.bincount(found.data.person)
    worth = person_worth(
        found.data.hours - mean[found.data.person], np.ones((len(found.data), 1)), found.data.person,
        STEPS["hours"][0],
    )  # fmt: skip
    # People who never or always have it say nothing here: those who do are the ones compared.
    return _of_all(found, stated(effect, gate, len(np.unique(found.data.month)) + 1, worth))


CORRELATED, INTERCEPTS = "correlated answers", "random intercepts"
_GIVEN_LEVEL = 1.5
"""An odds ratio given a worker's own level lies further from 1 than one over all: log-odds grow by
``sqrt(1 + 0.346 sd^2)``, 1.5 for a spread of 1.9 (Zeger, Liang and Albert 1988, Biometrics 44:1049)."""


def sensitivity(found: RegionData, gate: Gate) -> list[Stated]:
    """State the association of hours with a worker's answers correlated, and given a worker's own level.

    Parameters
    ----------
    found : RegionData
        Answers.
    gate : callable
        Lets a result through.

    Returns
    -------
    list of Stated
        Two odds ratios; neither allows for teams as the main one does.
    """
    held, data = (AGE, THUMB_FORCE), found.data
    step = STEPS["hours"][0]
    columns = design_of(data, (), held).x
    worth = person_worth(data.hours, columns, data.person, step)
    asked = (
        (CORRELATED, 1.0, lambda: described_effect(data, "hours", held, step=step, link="logit")),
        (INTERCEPTS, _GIVEN_LEVEL, lambda: nested_effect(data, "hours", held, step=step)),
    )
    said = []
    for question, wider, estimate in asked:
        effect = attempt(estimate)
        if isinstance(effect, Refusal):
            said.append(refused(found, question, "hours", effect))
            continue
        # Correlation and spreads that the models' own words hold are further numbers of the answers.
        effect = replace(effect, question=question, method=_SENSITIVE[question])
        said.append(stated(effect, gate, columns.shape[1] + 3, wider * worth))
    return said


_SENSITIVE = {
    CORRELATED: "logistic estimating equation, workers as clusters with exchangeable answers, robust errors; "
    "teams not allowed for",
    INTERCEPTS: "logistic model with normal intercepts of workers within teams (Laplace); an odds ratio "
    "given a worker's own level",
}


def _of_all(found: RegionData, one: Stated) -> Stated:
    """Tell of all who answered: how many of them had discomfort, or were free of it, is told nowhere."""
    if isinstance(one.effect, Refusal):
        return one
    method = one.effect.method.partition(";")[0] if one.question == "within-worker" else one.effect.method
    return replace(one, effect=replace(one.effect, method=method), people=found.data.people)
