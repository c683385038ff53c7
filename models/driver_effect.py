"""Exposure and discomfort: prevalence ratio and difference per step, and new onset."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.driver_data import DriverData
from models.driver_design import Design, check_answers, design_of, step_of
from models.driver_fit import Estimate, GroupFit, fit_groups, t_estimate
from models.driver_records import Effect
from models.driver_solve import Link, mean_of, variance_of
from models.driver_windows import next_onset

MEASURES: dict[Link, str] = {"log": "prevalence ratio", "logit": "odds ratio", "identity": "difference"}
SOURCE = "Zou 2004, Am J Epidemiol 159:702; Mancl and DeRouen 2001, Biometrics 57:126"
_WORDS = {
    "log": "log link with Poisson variance (modified Poisson)",
    "logit": "logistic estimating equation",
    "identity": "least squares",
}


@dataclass(frozen=True)
class Fitted:
    """A fitted driver model, kept for curves and diagnostics.

    Attributes
    ----------
    data : DriverData
        The answers it was fitted to.
    design : Design
        Its columns.
    fit : GroupFit
        The fit, clustered by team.
    """

    data: DriverData
    design: Design
    fit: GroupFit


def fit_model(
    data: DriverData,
    exposures: Sequence[str],
    adjust: Sequence[str] = (),
    *,
    steps: Sequence[float | None] | None = None,
    link: Link = "log",
    calendar: bool = True,
) -> Fitted:
    """Fit discomfort on exposures and the declared adjustment, clustered by team.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposures : sequence of str
        Exposures; the first is the one asked about.
    adjust : sequence of str
        Covariates of the declared set.
    steps : sequence of float, optional
        Steps of the exposures.
    link : Link
        ``log`` gives prevalence ratios, ``logit`` odds ratios.
    calendar : bool
        Adjust for trend and season.

    Returns
    -------
    Fitted
        The fit.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    for exposure in exposures:
        check_answers(data, exposure)
    design = design_of(data, exposures, adjust, steps=steps, calendar=calendar)
    return Fitted(data, design, fit_groups(data.case, design.x, data.team, link=link))


def standardised(fit: GroupFit, low: np.ndarray, high: np.ndarray) -> Estimate:
    """Return the difference of expected shares when everybody has one design or the other.

    ``mean(m(high b)) - mean(m(low b))`` with the delta method's error; the mean is over those who answered
    (the g-formula with their covariates held fixed; Robins 1986, Math Modelling 7:1393).

    Parameters
    ----------
    fit : GroupFit
        A fit.
    low, high : numpy.ndarray, shape (answers, p)
        The two designs.

    Returns
    -------
    Estimate
        Difference as a share.
    """
    sides = []
    for x in (low, high):
        mean = mean_of(fit.link, x @ fit.coefficient)
        sides.append((mean.mean(), x.T @ variance_of(fit.link, mean) / len(x)))
    (below, slope_low), (above, slope_high) = sides
    return t_estimate(float(above - below), fit.error(slope_high - slope_low), fit.groups - 1.0)


def effect_of(
    fitted: Fitted,
    exposure: str,
    *,
    question: str = "prevalence",
    step: float | None = None,
    method: str = "",
) -> Effect:
    """Return one exposure's association as a record.

    Parameters
    ----------
    fitted : Fitted
        A fitted model that holds the exposure.
    exposure : str
        Which.
    question : str
        What was asked.
    step : float, optional
        The step it was fitted with, if not the usual one.
    method : str
        Words to put before those of the method.

    Returns
    -------
    Effect
        The association per step.
    """
    data, design, fit = fitted.data, fitted.design, fitted.fit
    found = fit.estimate(design.unit(exposure))
    points = standardised(fit, design.x, design.moved(exposure))
    size, unit = step_of(exposure, step)
    words = (
        f"{method}{_WORDS[fit.link]}, teams as clusters with an independence working structure, Mancl-DeRouen"
        f" errors, t with {fit.groups - 1} degrees of freedom; adjusted for {_adjusted(design, exposure)}"
    )
    return Effect(
        question, exposure, size, unit,
        float(np.exp(found.value)), float(np.exp(found.low)), float(np.exp(found.high)),
        100 * points.value, 100 * points.low, 100 * points.high,
        found.p, found.df, len(data), data.people, data.teams, MEASURES[fit.link], words, SOURCE,
    )  # fmt: skip


def prevalence_effect(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    step: float | None = None,
    link: Link = "log",
) -> Effect:
    """Return the prevalence ratio and difference per step of an exposure.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        ``hours``, ``force`` or a covariate.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held fixed.
    step : float, optional
        Step, by default that of `EXPOSURES`.
    link : Link
        ``log`` for prevalence ratios, ``logit`` for odds ratios.

    Returns
    -------
    Effect
        The association per step.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    steps = [step_of(exposure, step)[0], *(step_of(other)[0] for other in beside)]
    fitted = fit_model(data, (exposure, *beside), adjust, steps=steps, link=link)
    return effect_of(fitted, exposure, step=step)


def onset_effect(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    beside: Sequence[str] = (),
    step: float | None = None,
) -> Effect:
    """Return the risk ratio of new discomfort per step of exposure at the previous answer.

    People in pain pipette less, which hides an association in prevalences. Here everybody was free of
    discomfort when the exposure was had. The months between the two answers are adjusted for.

    Parameters
    ----------
    data : DriverData
        All answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    beside : sequence of str
        Other exposures held fixed.
    step : float, optional
        Step.

    Returns
    -------
    Effect
        The association per step, as a risk ratio.

    Raises
    ------
    Refused
        If the data cannot answer.
    """
    risk = next_onset(data)
    steps = [step_of(exposure, step)[0], *(step_of(other)[0] for other in beside)]
    fitted = fit_model(risk, (exposure, *beside), (*adjust, "gap"), steps=steps)
    found = effect_of(fitted, exposure, question="new onset", step=step, method="answers at risk; ")
    return Effect(**{**vars(found), "measure": "risk ratio"})


def _adjusted(design: Design, exposure: str) -> str:
    seen = dict.fromkeys(name.split(" ")[0] for name in design.names if name not in ("constant", exposure))
    calendar = [name for name in ("trend", "sine", "cosine") if seen.pop(name, 0) is None]
    words = [*seen, *(["calendar"] if calendar else [])]
    return ", ".join(words) or "nothing"
