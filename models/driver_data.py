"""Answers of one region joined with exposure: the input of every driver model, checked once."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from models.driver_records import Refusal, Refused

EXPOSURES = {"hours": (5.0, "h/week"), "force": (5.0, "kN·s/week")}
"""Step and unit of each exposure, held here alone: 5 h/week as the literature reports it; that of force-time
is a convention, about two spreads."""


@dataclass(frozen=True)
class DriverData:
    """One row a person and month answered; all arrays of shape (answers,).

    Attributes
    ----------
    person, team : numpy.ndarray of int
        Codes without meaning.
    month : numpy.ndarray of int
        Running number of the month.
    hours : numpy.ndarray of float
        Pipetting, hours a week.
    force : numpy.ndarray of float
        Thumb force-time, kN·s a week.
    case : numpy.ndarray of int
        1 with discomfort in this region, else 0.
    covariates : Mapping of str to numpy.ndarray
        What may be adjusted for, by name. Whole numbers or booleans are categories, floats enter as a line.
    """

    person: np.ndarray
    team: np.ndarray
    month: np.ndarray
    hours: np.ndarray
    force: np.ndarray
    case: np.ndarray
    covariates: Mapping[str, np.ndarray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        columns = {name: _whole(name, getattr(self, name)) for name in ("person", "team", "month", "case")}
        columns |= {name: _finite(name, getattr(self, name)) for name in EXPOSURES}
        extra = {name: _covariate(name, values) for name, values in self.covariates.items()}
        n = len(columns["case"])
        short = [name for name, values in (columns | extra).items() if values.shape != (n,)]
        if short:
            raise _refused("arrays differ in length", f"{', '.join(short)} not of shape ({n},)")
        if not np.isin(columns["case"], (0, 1)).all():
            raise _refused("case holds values besides 0 and 1", "Code each answer of the region as 0 or 1")
        for name in EXPOSURES:
            if n and columns[name].min() < 0:
                raise _refused(f"{name} is negative", "Correct the exposure of the months concerned")
        order = np.lexsort((columns["month"], columns["person"]))
        who, when = columns["person"][order], columns["month"][order]
        if ((who[1:] == who[:-1]) & (when[1:] == when[:-1])).any():
            raise _refused("a person has two answers in one month", "Keep one answer a person and month")
        for name, values in columns.items():
            object.__setattr__(self, name, values)
        object.__setattr__(self, "covariates", MappingProxyType(extra))

    def __len__(self) -> int:
        return len(self.case)

    @property
    def people(self) -> int:
        """How many people answered."""
        return len(np.unique(self.person))

    @property
    def teams(self) -> int:
        """How many teams answered."""
        return len(np.unique(self.team))

    def column(self, name: str) -> np.ndarray:
        """Return an exposure or covariate by name.

        Parameters
        ----------
        name : str
            ``hours``, ``force`` or the name of a covariate.

        Returns
        -------
        numpy.ndarray
            Shape (answers,).

        Raises
        ------
        Refused
            If there is none of that name.
        """
        if name in EXPOSURES:
            return getattr(self, name)
        if name not in self.covariates:
            known = ", ".join(self.covariates) or "none"
            why = f"the covariate {name!r} is missing (there: {known})"
            raise _refused(why, f"Load {name} for everybody who answered, or declare a set without it")
        return self.covariates[name]

    def where(self, keep: npt.ArrayLike) -> "DriverData":
        """Return the rows where `keep` is true.

        Parameters
        ----------
        keep : array_like of bool or of int
            Which rows, by mask or by place.

        Returns
        -------
        DriverData
            Those rows.
        """
        at = np.asarray(keep)
        extra = {name: values[at] for name, values in self.covariates.items()}
        return DriverData(
            self.person[at], self.team[at], self.month[at],
            self.hours[at], self.force[at], self.case[at], extra,
        )  # fmt: skip

    def with_covariates(self, **columns: npt.ArrayLike) -> "DriverData":
        """Return the data with covariates added or replaced.

        Parameters
        ----------
        **columns : array_like, shape (answers,)
            Covariates by name.

        Returns
        -------
        DriverData
            The data with them.
        """
        return replace(self, covariates={**self.covariates, **{k: np.asarray(v) for k, v in columns.items()}})


def _refused(why: str, needed: str) -> Refused:
    return Refused(Refusal("The association", why, needed))


def _whole(name: str, values: npt.ArrayLike) -> np.ndarray:
    array = np.asarray(values)
    if array.dtype.kind not in "iub":
        raise _refused(f"{name} is of type {array.dtype}", f"Give {name} as whole numbers")
    return array.astype(np.int64)


def _finite(name: str, values: npt.ArrayLike) -> np.ndarray:
    array = np.asarray(values, dtype=np.float64)
    unknown = int((~np.isfinite(array)).sum())
    if unknown:
        why = f"{name} is unknown in {unknown} of {array.size} rows"
        raise _refused(why, f"Leave out rows without {name}, or measure it")
    return array


def _covariate(name: str, values: npt.ArrayLike) -> np.ndarray:
    array = np.asarray(values)
    return array.astype(np.int64) if array.dtype.kind in "iub" else _finite(name, array)
