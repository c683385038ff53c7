"""Each worker compared with themselves: months of more exposure against months of less."""

from collections.abc import Sequence

import numpy as np

from models.driver_data import DriverData
from models.driver_design import LEAST_CASES, check_answers, step_of
from models.driver_fit import STEPS, GroupFit, check_rank, mancl_derouen
from models.driver_records import Effect, Refusal, Refused

SOURCE = "Hausman, Hall and Griliches 1984, Econometrica 52:909; Wooldridge 1999, J Econometrics 90:77"
_NEAR = 1e-9


def within_effect(
    data: DriverData, exposure: str, *, beside: Sequence[str] = (), step: float | None = None
) -> Effect:
    """Return the prevalence ratio per step within workers, with month effects.

    Poisson regression with an intercept for every person and month. Whatever stays with a person (age, build,
    habits, home) cannot disturb it; what moves in time with exposure still can, and so can discomfort that
    changes exposure.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure.
    beside : sequence of str
        Other exposures held fixed.
    step : float, optional
        Step.

    Returns
    -------
    Effect
        The association; `n_answers` and `n_people` count those whose answers inform it. No difference in
        points, as the intercepts are conditioned out.

    Raises
    ------
    Refused
        If nobody's exposure changes, or the data cannot answer.
    """
    check_answers(data, exposure)
    size, unit = step_of(exposure, step)
    steps = [size, *(step_of(other)[0] for other in beside)]
    columns = [data.column(name) / one for name, one in zip((exposure, *beside), steps, strict=True)]
    fit, used = within_fit(data, np.column_stack(columns))
    found = fit.estimate(np.eye(len(steps))[0])
    words = (
        "Poisson regression with an intercept for each worker and month, teams as clusters, Mancl-DeRouen"
        f" errors, t with {fit.groups - 1} degrees of freedom; {used.people} workers who answered both ways"
    )
    return Effect(
        "within-worker", exposure, size, unit,
        float(np.exp(found.value)), float(np.exp(found.low)), float(np.exp(found.high)),
        None, None, None, found.p, found.df,
        len(used), used.people, used.teams, "prevalence ratio", words, SOURCE,
    )  # fmt: skip


def within_fit(data: DriverData, x: np.ndarray) -> tuple[GroupFit, DriverData]:
    """Fit exposures with intercepts for people and months concentrated out.

    With ``m_it = Y_i exp(x b + a_t) / sum_t exp(x b + a_t)`` the person's intercept is gone; month intercepts
    are estimated along and then taken out of exposures by weighted least squares, so that the correction of
    the covariance concerns the exposures alone.

    Parameters
    ----------
    data : DriverData
        Answers.
    x : numpy.ndarray, shape (answers, k)
        Exposures in steps.

    Returns
    -------
    fit : GroupFit
        The exposures' coefficients, clustered by team.
    used : DriverData
        Answers that inform it: of people with discomfort in some answers but not all, in months with any.

    Raises
    ------
    Refused
        If too few change, exposure never changes, or the fit does not converge.
    """
    keep = _informative(data)
    used = data.where(keep)
    if int(used.case.sum()) < LEAST_CASES or used.teams < 2:
        why = f"only {used.people} workers of {used.teams} teams had answers with and without discomfort"
        raise Refused(Refusal("The association within workers", why, "More surveys of the same people"))
    who, when = (np.unique(codes, return_inverse=True)[1] for codes in (used.person, used.month))
    k = x.shape[1]
    months = (when[:, None] == np.arange(1, when.max() + 1)).astype(float)
    full = np.hstack([x[keep], months])
    everyone = np.bincount(who, weights=used.case)
    count = np.bincount(who)
    still = full[:, :k] - _means(full[:, :k], who, count)
    if (np.abs(still).max(0) <= 1e-9 * np.maximum(np.abs(full[:, :k]).max(0), 1)).any():
        why = "exposure does not change within any worker who answered both ways"
        raise Refused(Refusal("The association within workers", why, "Months in which exposure differs"))
    check_rank(full - _means(full, who, count), np.ones(len(full)))
    beta, steps = _solve(full, used.case.astype(float), who, everyone)
    mean, centred = _centred(full, beta, who, everyone)
    alone = centred[:, :k]
    if months.shape[1]:
        other = centred[:, k:]
        weighted = other * mean[:, None]
        alone = alone - other @ np.linalg.solve(weighted.T @ other, weighted.T @ alone)
    team = np.unique(used.team, return_inverse=True)[1]
    rest = alone * (used.case - mean)[:, None]
    score = np.stack([np.bincount(team, weights=column) for column in rest.T], -1)
    groups = [team == code for code in range(team.max() + 1)]
    information = np.stack([alone[at].T @ (alone[at] * mean[at][:, None]) for at in groups])
    bread = np.linalg.inv(information.sum(0))
    covariance = mancl_derouen(bread, score, information)
    return GroupFit(beta[:k], covariance, bread, score, information, "log", steps), used


def _informative(data: DriverData) -> np.ndarray:
    keep = np.ones(len(data), bool)
    who, when = (np.unique(codes, return_inverse=True)[1] for codes in (data.person, data.month))
    while True:
        cases = np.bincount(who[keep], weights=data.case[keep], minlength=who.max() + 1)
        answers = np.bincount(who[keep], minlength=who.max() + 1)
        seen = np.bincount(when[keep], weights=data.case[keep], minlength=when.max() + 1)
        # People who never or always have it, and months in which nobody has it, are fitted exactly.
        left = keep & ((cases > 0) & (cases < answers))[who] & (seen > 0)[when]
        if left.sum() == keep.sum():
            return keep
        keep = left


def _means(x: np.ndarray, who: np.ndarray, weight: np.ndarray, part: np.ndarray | None = None) -> np.ndarray:
    sums = [np.bincount(who, weights=column if part is None else column * part) for column in x.T]
    return (np.stack(sums, -1) / weight[:, None])[who]


def _centred(
    x: np.ndarray, beta: np.ndarray, who: np.ndarray, everyone: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    eta = x @ beta
    raised = np.exp(eta - eta.max())
    mean = raised * (everyone / np.bincount(who, weights=raised))[who]
    return mean, x - _means(x, who, everyone, mean)


def _solve(x: np.ndarray, y: np.ndarray, who: np.ndarray, everyone: np.ndarray) -> tuple[np.ndarray, int]:
    beta = np.zeros(x.shape[1])
    for step in range(1, STEPS + 1):
        mean, centred = _centred(x, beta, who, everyone)
        cross = centred.T @ (centred * mean[:, None])
        move = np.linalg.lstsq(cross, centred.T @ (y - mean), rcond=None)[0]
        # Steps are held to what keeps expected values within reason; close to the solution nothing is held.
        beta = beta + move / max(1.0, float(np.abs(centred @ move).max()) / 3)
        if np.abs(move * np.sqrt(np.diag(cross))).max() < _NEAR * np.sqrt(y.sum()):
            return beta, step
    why = f"the fit within workers did not converge in {STEPS} steps"
    raise Refused(Refusal("The association within workers", why, "More surveys of the same people"))
