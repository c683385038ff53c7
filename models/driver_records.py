"""What the driver analysis hands back: effects, curves, lag pictures, diagnostics and named refusals."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeVar

PASSES, FAILS, INFORMS = "passes", "fails", "informs"
MAIN, EXPLORATORY = "main question", "exploratory"

Verdict = Literal["passes", "fails", "informs"]
Kind = Literal["line", "spline", "monotone"]
Progress = Callable[[str, int, int], None]
"""Called with what was just finished, how many parts are done, and how many there are."""

Result = TypeVar("Result")


@dataclass(frozen=True)
class Refusal:
    """Why a question cannot be answered, and what would be needed.

    Attributes
    ----------
    what : str
        What cannot be estimated.
    why : str
        What was found in the data.
    needed : str
        What would be needed.
    """

    what: str
    why: str
    needed: str

    @property
    def sentence(self) -> str:
        """All three in words."""
        return f"{self.what} cannot be estimated: {self.why}. {self.needed}."


class Refused(ValueError):
    """A question that the data cannot answer.

    Parameters
    ----------
    refusal : Refusal
        The named reason.
    """

    def __init__(self, refusal: Refusal) -> None:
        self.refusal = refusal
        super().__init__(refusal.sentence)


def attempt(estimate: Callable[[], Result]) -> Result | Refusal:
    """Return what an estimate gives, or its refusal as a result.

    Parameters
    ----------
    estimate : callable
        Takes nothing; may raise `Refused`. Any other error is a defect and passes through.

    Returns
    -------
    object or Refusal
        The estimate, or why there is none.
    """
    try:
        return estimate()
    except Refused as refused:
        return refused.refusal


@dataclass(frozen=True)
class Effect:
    """How much more discomfort goes with one step more of an exposure; an association.

    Attributes
    ----------
    question : str
        What was asked, such as ``prevalence``, ``within-worker`` or ``new onset``.
    exposure : str
        Name of the exposure.
    step : float
        Size of the step.
    unit : str
        Unit of the step.
    ratio, ratio_low, ratio_high : float
        Ratio per step with its 95 % interval; of prevalences, of rates of onset, or of odds, as `measure`
        says.
    points, points_low, points_high : float or None
        Difference per step in points of prevalence, standardised to the people who answered; None where the
        method gives none.
    p : float
        Two-sided p value.
    df : float
        Degrees of freedom of t behind interval and p; infinite where the normal distribution is used.
    n_answers, n_people, n_teams : int
        Answers, people and teams behind it.
    measure : str
        ``prevalence ratio``, ``risk ratio`` or ``odds ratio``; different measures never share a chart.
    method : str
        The method in words.
    source : str
        Where the method is published.
    """

    question: str
    exposure: str
    step: float
    unit: str
    ratio: float
    ratio_low: float
    ratio_high: float
    points: float | None
    points_low: float | None
    points_high: float | None
    p: float
    df: float
    n_answers: int
    n_people: int
    n_teams: int
    measure: str
    method: str
    source: str


@dataclass(frozen=True)
class Curve:
    """Expected share with discomfort along an exposure, standardised to the people who answered.

    Attributes
    ----------
    exposure, unit : str
        What runs along x, and its unit.
    x : tuple of float
        Exposure; never beyond what was observed.
    percent, low, high : tuple of float
        Expected prevalence in percent with pointwise 95 % limits.
    kind : Kind
        ``line``, ``spline`` or ``monotone``.
    observed : tuple of float
        Lowest and highest exposure the curve covers.
    knots : tuple of float
        Knots; empty for a line.
    """

    exposure: str
    unit: str
    x: tuple[float, ...]
    percent: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    kind: Kind
    observed: tuple[float, float]
    knots: tuple[float, ...]


@dataclass(frozen=True)
class LagPicture:
    """How discomfort goes with exposure of the same and of earlier months.

    Attributes
    ----------
    exposure, unit : str
        The exposure, and the unit of the step.
    step : float
        Size of the step.
    lag : tuple of int
        Months back; 0 is the month of the answer.
    ratio, low, high : tuple of float
        Ratio per step at each lag, given the other lags, with pointwise 95 % limits.
    cumulative, cumulative_low, cumulative_high : float
        Ratio for one step more in all the months.
    p : float
        Two-sided p of the cumulative ratio.
    df : float
        Degrees of freedom of t.
    n_answers, n_people, n_teams : int
        Answers with a complete window, their people and teams.
    n_without : int
        Answers left out because their window is incomplete.
    method : str
        The method in words.
    """

    exposure: str
    unit: str
    step: float
    lag: tuple[int, ...]
    ratio: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    cumulative: float
    cumulative_low: float
    cumulative_high: float
    p: float
    df: float
    n_answers: int
    n_people: int
    n_teams: int
    n_without: int
    method: str


@dataclass(frozen=True)
class Diagnostic:
    """One check of a fit.

    Attributes
    ----------
    key : str
        Name of the check, such as ``events`` or ``overlap``.
    verdict : Verdict
        ``passes``, ``fails`` (the headline is withheld) or ``informs``.
    sentence : str
        What was found.
    """

    key: str
    verdict: Verdict
    sentence: str
