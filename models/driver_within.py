"""Each worker compared with themselves: months of more exposure against months of less."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.driver_data import DriverData
from models.driver_design import LEAST_CASES, check_answers, step_of
from models.driver_fit import GroupFit, mancl_derouen
from models.driver_records import Effect, Refusal, Refused
from models.driver_solve import SINGULAR, STEPS

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
    cells = _Cells(
        x[keep], used.case.astype(float), *(_codes(column) for column in (used.person, used.month))
    )
    plain = np.ones(len(used))
    still = cells.centred(cells.x, plain)
    if (np.abs(still).max(0) <= 1e-9 * np.maximum(np.abs(cells.x).max(0), 1)).any():
        why = "exposure does not change within any worker who answered both ways"
        raise Refused(Refusal("The association within workers", why, "Months in which exposure differs"))
    cross = cells.information(plain, still)
    length = np.sqrt(np.diag(cross))
    if np.linalg.eigvalsh(cross / np.outer(length, length))[0] < SINGULAR:
        why = "exposure moves with the month alone, or two exposures say the same (singular fit)"
        raise Refused(
            Refusal("The association within workers", why, "Workers whose exposure differs in a month")
        )
    beta, steps = _solve(cells)
    mean = cells.mean(beta)
    alone = cells.without_months(mean)
    team = _codes(used.team)
    rest = alone * (cells.y - mean)[:, None]
    score = np.stack([np.bincount(team, weights=column) for column in rest.T], -1)
    groups = [team == code for code in range(team.max() + 1)]
    information = np.stack([alone[at].T @ (alone[at] * mean[at][:, None]) for at in groups])
    bread = np.linalg.inv(information.sum(0))
    covariance = mancl_derouen(bread, score, information)
    return GroupFit(beta[: x.shape[1]], covariance, bread, score, information, "log", steps), used


def _codes(values: np.ndarray) -> np.ndarray:
    return np.unique(values, return_inverse=True)[1].ravel()


@dataclass(frozen=True)
class _Cells:
    """Answers by person and month: months enter through sums over cells, never as columns of answers."""

    x: np.ndarray
    y: np.ndarray
    who: np.ndarray
    when: np.ndarray

    def by_person(self, values: np.ndarray) -> np.ndarray:
        return np.bincount(self.who, weights=values)

    def by_month(self, values: np.ndarray) -> np.ndarray:
        """Return sums over months but the first, whose intercept the people's hold."""
        return np.bincount(self.when, weights=values)[1:]

    def mean(self, beta: np.ndarray) -> np.ndarray:
        k = self.x.shape[1]
        eta = self.x @ beta[:k] + np.r_[0.0, beta[k:]][self.when]
        raised = np.exp(eta - eta.max())
        return raised * (self.by_person(self.y) / self.by_person(raised))[self.who]

    def centred(self, values: np.ndarray, weight: np.ndarray) -> np.ndarray:
        sums = np.stack([self.by_person(column * weight) for column in values.T], -1)
        return values - (sums / self.by_person(weight)[:, None])[self.who]

    def months(self, weight: np.ndarray) -> np.ndarray:
        """Return the months' information once people are taken out."""
        shape = (self.who.max() + 1, self.when.max() + 1)
        grid = np.bincount(self.who * shape[1] + self.when, weights=weight, minlength=shape[0] * shape[1])
        grid = grid.reshape(shape)
        return (np.diag(grid.sum(0)) - grid.T @ (grid / grid.sum(1, keepdims=True)))[1:, 1:]

    def information(self, weight: np.ndarray, centred: np.ndarray) -> np.ndarray:
        """Return the information of exposures and months together."""
        with_months = np.stack([self.by_month(column * weight) for column in centred.T], -1)
        top = np.hstack([centred.T @ (centred * weight[:, None]), with_months.T])
        return np.vstack([top, np.hstack([with_months, self.months(weight)])])

    def without_months(self, weight: np.ndarray) -> np.ndarray:
        """Return exposures with people and months taken out by weighted least squares."""
        centred = self.centred(self.x, weight)
        if self.when.max() == 0:
            return centred
        with_months = np.stack([self.by_month(column * weight) for column in centred.T], -1)
        level = np.linalg.solve(self.months(weight), with_months)
        return centred - self.centred(np.vstack([np.zeros(level.shape[1]), level])[self.when], weight)


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


def _solve(cells: _Cells) -> tuple[np.ndarray, int]:
    k = cells.x.shape[1]
    beta = np.zeros(k + cells.when.max())
    for step in range(1, STEPS + 1):
        mean = cells.mean(beta)
        centred = cells.centred(cells.x, mean)
        cross = cells.information(mean, centred)
        rest = cells.y - mean
        move = np.linalg.solve(cross, np.r_[centred.T @ rest, cells.by_month(rest)])
        # Steps are held to what keeps expected values within reason; close to the solution nothing is held.
        reach = np.abs(centred @ move[:k]).max() + np.abs(move[k:]).max(initial=0.0)
        beta = beta + move / max(1.0, float(reach) / 3)
        if np.abs(move * np.sqrt(np.diag(cross))).max() < _NEAR * np.sqrt(cells.y.sum()):
            return beta, step
    why = f"the fit within workers did not converge in {STEPS} steps"
    raise Refused(Refusal("The association within workers", why, "More surveys of the same people"))
