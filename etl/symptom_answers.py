"""Answers of single people for the data custodian's review; no release and no screen reads them."""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np

from etl.sqlfiles import sql


@dataclass(frozen=True)
class Answers:
    """Answered questions, arrays of shape (answers,).

    Attributes
    ----------
    person : numpy.ndarray of int
        Code of the person, the same as in :class:`Asked`.
    region, team : numpy.ndarray of str
        Body region; team of most days of the month, empty if none.
    month : numpy.ndarray of int
        ``12 * year + month - 1``.
    score : numpy.ndarray of float
        Rating 0 to 10.
    case : numpy.ndarray of bool
        Whether it counts as discomfort.
    """

    person: np.ndarray
    region: np.ndarray
    team: np.ndarray
    month: np.ndarray
    score: np.ndarray
    case: np.ndarray

    def where(self, keep: np.ndarray) -> "Answers":
        """Return the answers at which `keep` is true."""
        return Answers(*(values[keep] for values in self.__dict__.values()))

    def of_region(self, region: str) -> "Answers":
        """Return the answers about one body region."""
        return self.where(self.region == region)

    def regions(self) -> tuple[str, ...]:
        """Return the regions that anybody answered for."""
        return tuple(str(region) for region in np.unique(self.region))


@dataclass(frozen=True)
class Asked:
    """People on the roster, arrays of shape (people and months,).

    Attributes
    ----------
    person : numpy.ndarray of int
        Code of the person.
    team : numpy.ndarray of str
        Team of most days of the month.
    month : numpy.ndarray of int
        ``12 * year + month - 1``.
    answered : numpy.ndarray of bool
        Whether any question was answered.
    score : numpy.ndarray of float
        Mean rating of the month; 0 where nothing was answered.
    """

    person: np.ndarray
    team: np.ndarray
    month: np.ndarray
    answered: np.ndarray
    score: np.ndarray


@dataclass(frozen=True)
class Review:
    """Everything the review reads.

    Attributes
    ----------
    answers : Answers
        Answers up to the month.
    asked : Asked
        Roster up to the month.
    month : int
        Newest month, ``12 * year + month - 1``.
    """

    answers: Answers
    asked: Asked
    month: int


def read_review(con: duckdb.DuckDBPyConnection, month: date) -> Review:
    """Read answers and roster up to a month.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts built.
    month : date
        First day of the newest month.

    Returns
    -------
    Review
        Arrays in the memory of this process; pseudonyms are replaced by running numbers.
    """
    said = con.execute(sql("review/010_answers"), {"month": month}).fetchnumpy()
    asked = con.execute(sql("review/020_asked"), {"month": month}).fetchnumpy()
    names = np.concatenate([said["person"].astype(str), asked["person"].astype(str)])
    code = np.unique(names, return_inverse=True)[1] if len(names) else np.zeros(0, int)
    split = len(said["person"])
    answers = Answers(
        code[:split], said["region"].astype(str), said["team"].astype(str), said["month_number"].astype(int),
        said["score"].astype(float), said["is_case"].astype(bool),
    )  # fmt: skip
    roster = Asked(
        code[split:], asked["team"].astype(str), asked["month_number"].astype(int),
        asked["answered"].astype(bool), asked["score"].astype(float),
    )  # fmt: skip
    return Review(answers, roster, 12 * month.year + month.month - 1)
