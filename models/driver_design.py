"""Design matrix of a driver model: exposures by the step, the declared adjustment, the calendar."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.driver_data import EXPOSURES, DriverData
from models.driver_records import Refusal, Refused
from models.driver_windows import calendar_terms

LEAST_CASES = 10
"""Answers with and without discomfort below which nothing is fitted. Own convention."""

_MOST_LEVELS = 12
_SMALL_LEVEL = 0.05


@dataclass(frozen=True)
class Design:
    """Columns of a model.

    Attributes
    ----------
    x : numpy.ndarray, shape (answers, p)
        Column 0 is the constant; exposures follow, in steps.
    names : tuple of str
        Name of each column.
    """

    x: np.ndarray
    names: tuple[str, ...]

    def unit(self, name: str) -> np.ndarray:
        """Return the contrast that picks one column.

        Parameters
        ----------
        name : str
            Name of the column.

        Returns
        -------
        numpy.ndarray, shape (p,)
            1 at the column, 0 elsewhere.
        """
        return np.array([float(own == name) for own in self.names])

    def moved(self, name: str, by: float = 1.0) -> np.ndarray:
        """Return the columns with one of them shifted for everybody.

        Parameters
        ----------
        name : str
            Name of the column.
        by : float
            Shift.

        Returns
        -------
        numpy.ndarray, shape (answers, p)
            A copy.
        """
        return self.x + by * self.unit(name)


def step_of(exposure: str, step: float | None = None) -> tuple[float, str]:
    """Return step and unit of an exposure.

    Parameters
    ----------
    exposure : str
        ``hours``, ``force`` or the name of a covariate.
    step : float, optional
        A step instead of the usual one.

    Returns
    -------
    step : float
        The step; 1 for a covariate.
    unit : str
        Its unit; empty for a covariate.
    """
    usual, unit = EXPOSURES.get(exposure, (1.0, ""))
    return (usual if step is None else step), unit


def check_answers(data: DriverData, exposure: str) -> None:
    """Refuse data that no model could answer from.

    Parameters
    ----------
    data : DriverData
        Answers of one region.
    exposure : str
        The exposure asked about.

    Raises
    ------
    Refused
        With one team, few cases or non-cases, a constant or a missing exposure.
    """
    what = f"The association with {exposure}"
    if data.teams < 2:
        needed = "Answers from a second team; with one team its own course says nothing about exposure"
        raise Refused(Refusal(what, f"all {len(data)} answers come from {data.teams} team", needed))
    cases = int(data.case.sum())
    for count, word in ((cases, "with"), (len(data) - cases, "without")):
        if count < LEAST_CASES:
            why = f"only {count} of {len(data)} answers are {word} discomfort in this region"
            raise Refused(Refusal(what, why, f"At least {LEAST_CASES} answers {word} it, or a wider region"))
    values = data.column(exposure)
    if np.ptp(values) == 0:
        why = f"{exposure} is {values[0]:g} in every answer"
        raise Refused(Refusal(what, why, f"People or months that differ in {exposure}"))


def design_of(
    data: DriverData,
    exposures: Sequence[str],
    adjust: Sequence[str] = (),
    *,
    steps: Sequence[float | None] | None = None,
    calendar: bool = True,
) -> Design:
    """Return the design matrix.

    Categories become indicators against the commonest; a level with less than 5 % of the answers, all of one
    team or all alike, stays with the commonest instead of refusing the whole region. Floats are centred and
    put in standard deviations, which changes no exposure's coefficient and keeps the fit well conditioned.

    Parameters
    ----------
    data : DriverData
        Answers.
    exposures : sequence of str
        Exposures in the model, each a line in steps, not centred.
    adjust : sequence of str
        Covariates of the declared set.
    steps : sequence of float, optional
        Steps of the exposures.
    calendar : bool
        Add trend and yearly wave.

    Returns
    -------
    Design
        The columns.

    Raises
    ------
    Refused
        If a covariate is missing or a category has too many levels.
    """
    sizes = [None] * len(exposures) if steps is None else steps
    columns, names = [np.ones(len(data))], ["constant"]
    for exposure, size in zip(exposures, sizes, strict=True):
        columns.append(data.column(exposure) / step_of(exposure, size)[0])
        names.append(exposure)
    for name in adjust:
        for label, values in _terms(name, data.column(name), data):
            columns.append(values)
            names.append(label)
    if calendar:
        terms = calendar_terms(data.month)
        columns.extend(terms.T)
        names.extend(("trend", "sine", "cosine")[: terms.shape[1]])
    return Design(np.column_stack(columns), tuple(names))


def _terms(name: str, values: np.ndarray, data: DriverData) -> list[tuple[str, np.ndarray]]:
    if values.dtype.kind == "f":
        spread = values.std()
        # A covariate without spread says nothing and would repeat the constant.
        return [(name, (values - values.mean()) / spread)] if spread > 0 else []
    levels, count = np.unique(values, return_counts=True)
    if len(levels) > _MOST_LEVELS:
        why = f"the category {name} has {len(levels)} levels"
        raise Refused(Refusal("The association", why, f"At most {_MOST_LEVELS}, or {name} as a float"))
    usual = levels[np.argmax(count)]
    terms = [(level, values == level) for level in levels.tolist() if level != usual]
    return [(f"{name} {level}", own.astype(float)) for level, own in terms if not _is_lone(own, data)]


def _is_lone(own: np.ndarray, data: DriverData) -> bool:
    """Return whether a small level stays with the commonest, as a term of its own could not be estimated."""
    one_kind = np.ptp(data.case[own]) == 0
    one_team = np.ptp(data.team[own]) == 0
    return bool((one_kind or one_team) and own.mean() < _SMALL_LEVEL)
