"""Exposure and discomfort with a person's answers correlated: a description beside the team-clustered fit."""

import warnings
from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr
from statsmodels.genmod import cov_struct, families
from statsmodels.genmod.generalized_estimating_equations import GEE
from statsmodels.tools.sm_exceptions import ConvergenceWarning

from models.driver_data import DriverData
from models.driver_design import check_answers, design_of, step_of
from models.driver_effect import MEASURES
from models.driver_records import Effect, Refusal, Refused
from models.driver_solve import Link

SOURCE = "Liang and Zeger 1986, Biometrika 73:13"
_Z = 1.959963984540054


def described_effect(
    data: DriverData,
    exposure: str,
    adjust: Sequence[str] = (),
    *,
    step: float | None = None,
    link: Link = "log",
) -> Effect:
    """Return the association with workers as clusters and exchangeable answers.

    Answers of a person share one correlation, which weights people with many answers less than they would
    count one by one. Colleagues of a team count as independent, so the interval is too
    narrow where exposure goes with the team: a description, never the headline. With exposure that changes
    in time it also needs that discomfort does not change the next months' exposure.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    adjust : sequence of str
        Covariates of the declared set.
    step : float, optional
        Step.
    link : Link
        ``log`` for prevalence ratios, ``logit`` for odds ratios.

    Returns
    -------
    Effect
        The association, with the normal distribution.

    Raises
    ------
    Refused
        If the data cannot answer or the fit does not converge.
    """
    check_answers(data, exposure)
    size, unit = step_of(exposure, step)
    design = design_of(data, (exposure,), adjust, steps=(size,))
    family = families.Poisson() if link == "log" else families.Binomial()
    model = GEE(data.case, design.x, groups=data.person, family=family, cov_struct=cov_struct.Exchangeable())
    with warnings.catch_warnings():
        # Non-convergence is read from the result below and refused in words.
        warnings.simplefilter("ignore", ConvergenceWarning)
        result = model.fit(maxiter=100)
    error = np.inf if result is None or not result.converged else float(np.asarray(result.bse)[1])
    if result is None or not np.isfinite(error):
        why = "the fit with correlated answers of a person did not converge"
        raise Refused(Refusal(f"The association with {exposure}", why, "More answers, or fewer terms"))
    value = float(np.asarray(result.params)[1])
    together = float(np.asarray(model.cov_struct.dep_params))
    words = (
        f"{'log' if link == 'log' else 'logit'} link, workers as clusters with exchangeable answers"
        f" (correlation {together:.2f}), robust errors, normal distribution; teams not allowed for"
    )
    return Effect(
        "prevalence, described", exposure, size, unit,
        float(np.exp(value)), float(np.exp(value - _Z * error)), float(np.exp(value + _Z * error)),
        None, None, None, float(2 * ndtr(-abs(value) / error)), float("inf"),
        len(data), data.people, data.teams, MEASURES[link], words, SOURCE,
    )  # fmt: skip
