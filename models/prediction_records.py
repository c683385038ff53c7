"""What comes out of predicting the next quarter: scores, importance, calibration, and the sentence."""

from dataclasses import dataclass

LAST, PAST, LOGISTIC, BOOSTED = (
    "same as last quarter", "own past only", "penalised logistic", "monotone boosting",
)  # fmt: skip
MODELS = (LAST, PAST, LOGISTIC, BOOSTED)


@dataclass(frozen=True)
class Score:
    """How far off a model is where it was not fitted.

    Attributes
    ----------
    model : str
        One of `MODELS`.
    scheme : str
        What was left out: ``teams left out`` or ``later quarters left out``.
    error : float
        Root mean squared error, points of prevalence, weighted by answers.
    gain, low, high : float
        By how many points it is nearer than 'same as last quarter' (above 0 is better), with a 95 %
        interval over the teams or quarters left out; 0 for the baseline itself.
    parts : int
        Teams or quarters behind the interval.
    """

    model: str
    scheme: str
    error: float
    gain: float
    low: float
    high: float
    parts: int

    @property
    def beats(self) -> bool:
        """Whether it is nearer than the baseline beyond chance."""
        return self.low > 0


@dataclass(frozen=True)
class Importance:
    """How much worse the held-out prediction gets when a feature is shuffled among cells.

    Attributes
    ----------
    feature : str
        Which.
    points : float
        Mean rise of the error, points; below 0 is noise.
    low, high : float
        Smallest and largest of the repeats: a spread, no confidence interval.
    """

    feature: str
    points: float
    low: float
    high: float


@dataclass(frozen=True)
class Calibration:
    """Whether predicted shares mean what they say, on later quarters.

    Attributes
    ----------
    predicted, observed : float
        Mean share, both weighted by answers.
    slope : float
        Slope of the observed on the predicted log-odds; 1 is right, below 1 too bold.
    """

    predicted: float
    observed: float
    slope: float


@dataclass(frozen=True)
class Prediction:
    """All that is known about predicting next quarter's group prevalence.

    Attributes
    ----------
    scores : tuple of Score
        Each model under each scheme.
    best : str
        Model with the smallest error on later quarters, the baseline included.
    beats_last : bool
        Whether the best model beats 'same as last quarter' under both schemes.
    exposure_adds : bool
        Whether a model with exposure beats the one with the groups' own past under both schemes.
    importance : tuple of Importance
        Of the better of the models with exposure; most important first.
    calibration : Calibration
        Of the best model.
    sentence : str
        What it comes to.
    groups, quarters, pairs : int
        What it rests on.
    """

    scores: tuple[Score, ...]
    best: str
    beats_last: bool
    exposure_adds: bool
    importance: tuple[Importance, ...]
    calibration: Calibration
    sentence: str
    groups: int
    quarters: int
    pairs: int
