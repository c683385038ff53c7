"""All questions about an exposure, region by region, each answered or refused by name."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from models.driver_checks import diagnose
from models.driver_curve import curve_of
from models.driver_data import DriverData
from models.driver_described import described_effect
from models.driver_effect import effect_of, fit_model, onset_effect
from models.driver_error import e_value, e_value_of_limit
from models.driver_headline import headline
from models.driver_lag import lag_picture
from models.driver_many import Looked, look
from models.driver_monotone import monotone_curve
from models.driver_nested import nested_effect
from models.driver_records import Curve, Diagnostic, Effect, LagPicture, Progress, Refusal, attempt
from models.driver_shape import line_fit, spline_fit
from models.driver_solve import Link
from models.driver_threshold import Threshold, threshold
from models.driver_windows import ExposureHistory
from models.driver_within import within_effect


@dataclass(frozen=True)
class Question:
    """What is asked of every region.

    Attributes
    ----------
    exposure : str
        The exposure.
    adjust : tuple of str
        Covariates of the declared set.
    beside : tuple of str
        Other exposures held fixed; they enter as covariates of the declared set in shapes and lags.
    step : float or None
        Step, if not the usual one.
    link : Link
        ``log`` for prevalence ratios.
    """

    exposure: str
    adjust: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    step: float | None = None
    link: Link = "log"


@dataclass(frozen=True)
class Answered:
    """Everything found about one region; each part may be a refusal.

    Attributes
    ----------
    region : str
        Region.
    headline : str or Refusal
        The sentence; a refusal where there is no association to tell, or a check failed.
    effect, described, within, nested, onset : Effect or Refusal
        Headline association, and what stands beside it.
    curves : tuple of Curve or Refusal
        Line, spline, monotone.
    threshold : Threshold or Refusal
        Whether a threshold is supported.
    lags : LagPicture or Refusal
        Earlier months.
    diagnostics : tuple of Diagnostic
        Checks of the headline; empty where there is no fit.
    e_values : tuple of float or None
        E-value of the ratio and of the limit nearer to 1; None for odds ratios of frequent discomfort.
    """

    region: str
    headline: str | Refusal
    effect: Effect | Refusal
    described: Effect | Refusal
    within: Effect | Refusal
    nested: Effect | Refusal
    onset: Effect | Refusal
    curves: tuple[Curve | Refusal, ...]
    threshold: Threshold | Refusal
    lags: LagPicture | Refusal
    diagnostics: tuple[Diagnostic, ...]
    e_values: tuple[float, float] | None


PARTS = (
    "association",
    "workers described",
    "within workers",
    "random intercepts",
    "new onset",
    "shape",
    "lags",
)


def answer(
    region: str,
    data: DriverData,
    question: Question,
    rng: np.random.Generator,
    *,
    history: ExposureHistory | None = None,
    told: Callable[[str], None] = lambda part: None,
) -> Answered:
    """Answer everything about one region.

    Parameters
    ----------
    region : str
        Region.
    data : DriverData
        Its answers.
    question : Question
        What is asked.
    rng : numpy.random.Generator
        Draws of the monotone band.
    history : ExposureHistory, optional
        Exposure of all months, for the lags.
    told : callable
        Told the name of each part of `PARTS` once it is done.

    Returns
    -------
    Answered
        Parts that the data cannot answer are refusals.
    """
    exposure, adjust, step = question.exposure, question.adjust, question.step
    beside: dict[str, Any] = {"beside": question.beside}
    shape: dict[str, Any] = {"beside": question.beside, "link": question.link}
    sizes = None if step is None else (step, *(None for _ in question.beside))
    fitted = attempt(
        lambda: fit_model(data, (exposure, *question.beside), adjust, steps=sizes, link=question.link)
    )
    checks = () if isinstance(fitted, Refusal) else diagnose(fitted, exposure)
    effect = fitted if isinstance(fitted, Refusal) else effect_of(fitted, exposure, step=step)
    told(PARTS[0])
    held = (*adjust, *(name for name in question.beside if name in data.covariates))
    described = attempt(lambda: described_effect(data, exposure, held, step=step, link=question.link))
    told(PARTS[1])
    within = attempt(lambda: within_effect(data, exposure, step=step, **beside))
    told(PARTS[2])
    nested = attempt(lambda: nested_effect(data, exposure, adjust, step=step, **beside))
    told(PARTS[3])
    onset = attempt(lambda: onset_effect(data, exposure, adjust, step=step, **beside))
    told(PARTS[4])
    curves = (
        attempt(lambda: curve_of(line_fit(data, exposure, adjust, **shape))),
        attempt(lambda: curve_of(spline_fit(data, exposure, adjust, **shape))),
        attempt(lambda: monotone_curve(data, exposure, rng, adjust, **shape)),
    )
    found = attempt(lambda: threshold(data, exposure, adjust, **shape))
    told(PARTS[5])
    lags = attempt(lambda: lag_picture(data, exposure, held, history=history, step=step, link=question.link))
    told(PARTS[6])
    strong = None
    if isinstance(effect, Effect) and effect.measure == "prevalence ratio":
        strong = (e_value(effect.ratio), e_value_of_limit(effect.ratio_low, effect.ratio_high))
    return Answered(
        region, headline(effect, checks), effect, described, within, nested, onset, curves, found, lags,
        checks, strong,
    )  # fmt: skip


def drive(
    regions: Mapping[str, DriverData],
    question: Question,
    rng: np.random.Generator,
    *,
    main: Sequence[str] = (),
    history: ExposureHistory | None = None,
    progress: Progress = lambda part, done, of: None,
) -> tuple[tuple[Answered, ...], tuple[Looked, ...]]:
    """Answer everything about all regions and put their associations side by side.

    Parameters
    ----------
    regions : mapping of str to DriverData
        Answers by region.
    question : Question
        What is asked.
    rng : numpy.random.Generator
        Draws of bands.
    main : sequence of str
        Regions of the main question, named beforehand; all others are exploratory.
    history : ExposureHistory, optional
        Exposure of all months.
    progress : callable
        Told what was done, how many parts are done, and of how many.

    Returns
    -------
    answered : tuple of Answered
        One a region.
    looked : tuple of Looked
        Associations of the regions that have one, allowing for how many were looked at.
    """
    total, done, answered = len(regions) * len(PARTS), 0, []
    for region, data in regions.items():

        def told(part: str, region: str = region) -> None:
            nonlocal done
            done += 1
            progress(f"{region}: {part}", done, total)

        answered.append(answer(region, data, question, rng, history=history, told=told))
    effects = {one.region: one.effect for one in answered if isinstance(one.effect, Effect)}
    return tuple(answered), look(effects, main) if effects else ()
