"""One association put through the gate and into words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from etl.release_driver_frame import THUMB_FORCE, RegionData
from models.disclosure import band_text
from models.driver_data import EXPOSURES
from models.driver_many import discovery
from models.driver_records import Effect, Refusal
from models.result_gate import POINTS, RATIO, Estimate, Gated, Withheld

MORE, NONE, LESS, CANNOT = (
    "goes with more", "no clear association", "goes with less", "cannot be estimated",
)  # fmt: skip
STEPS = {**EXPOSURES, THUMB_FORCE: (10.0, "N")}
"""Step and unit of each exposure: those of the models, and thumb force by about two spreads."""

HELD = {"hours": (THUMB_FORCE,), THUMB_FORCE: ("hours",), "force": ()}
"""What is held fixed beside: dose is hours times force, so nothing of it is."""

WORDS = {
    "hours": f"{STEPS['hours'][0]:g} h a week more",
    THUMB_FORCE: f"{STEPS[THUMB_FORCE][0]:g} N more thumb force",
    "force": f"{STEPS['force'][0]:g} kN·s a week more thumb force-time",
}

CHECK_FAILED = "not shown: a check failed"
Gate = Callable[[str, Estimate, int, float, float | None], Gated | Withheld]
"""What is asked, estimate, people, residual degrees of freedom, one person's worth -> what to print."""


@dataclass(frozen=True)
class Stated:
    """One association as published.

    Attributes
    ----------
    effect : Effect or Refusal
        Before rounding, or why there is none.
    ratio, points : Gated, Withheld or None
        As published.
    word : str
        What it comes to.
    sentence : str
        The same in a sentence.
    reason : str or None
        Words in place of numbers.
    people, teams : int
        Behind it.
    question, exposure : str
        What was asked.
    """

    effect: Effect | Refusal
    ratio: Gated | Withheld | None
    points: Gated | Withheld | None
    word: str
    sentence: str
    reason: str | None
    people: int
    teams: int
    question: str
    exposure: str

    def row(self, region: str, label: str, fdr: str | None) -> tuple[object, ...]:
        """Return the row of table ``driver_effect`` after edition and period."""
        step, unit = STEPS[self.exposure]
        told = self.effect if isinstance(self.effect, Effect) else None
        measure = told.measure if told else "prevalence ratio"
        return (
            region, label, self.question, self.exposure, step, unit, measure,
            *_numbers(self.ratio), *_numbers(self.points), self.word, fdr, self.sentence,
            told.method if told else "", told.source if told else "",
            None if self.reason else band_text(self.people), None if self.reason else self.teams, self.reason,
        )  # fmt: skip


def _numbers(said: Gated | Withheld | None) -> tuple[float | None, float | None, float | None]:
    if not isinstance(said, Gated):
        return None, None, None
    low, high = (None if not np.isfinite(v) else v for v in (said.low, said.high))
    return said.value, low, high


def stated(effect: Effect, gate: Gate, parameters: int, worth: float) -> Stated:
    """Put one estimate through the gate and into words.

    Parameters
    ----------
    effect : Effect
        Estimate.
    gate : callable
        Lets a result through.
    parameters : int
        Parameters fitted.
    worth : float
        Points one person can be worth.

    Returns
    -------
    Stated
        As published.
    """
    df = effect.n_people - parameters
    asked = f"{effect.exposure}, {effect.question}"
    estimate = Estimate(effect.ratio, effect.ratio_low, effect.ratio_high, RATIO)
    ratio = gate(f"{asked}, ratio", estimate, effect.n_people, df, worth / 10)
    points: Gated | Withheld | None = None
    if effect.points is not None and effect.points_low is not None and effect.points_high is not None:
        estimate = Estimate(effect.points, effect.points_low, effect.points_high, POINTS)
        points = gate(f"{asked}, points", estimate, effect.n_people, df, worth)
    if isinstance(ratio, Withheld):
        return Stated(
            effect, ratio, points, CANNOT, f"{_head(effect)}: {ratio.reason}.", ratio.reason,
            effect.n_people, effect.n_teams, effect.question, effect.exposure,
        )  # fmt: skip
    word = _word(ratio, points)
    return Stated(
        effect, ratio, points, word, _sentence(effect, ratio, points, word), None,
        effect.n_people, effect.n_teams, effect.question, effect.exposure,
    )  # fmt: skip


def _word(ratio: Gated, points: Gated | Withheld | None) -> str:
    """Return what it comes to: the difference has the say where there is one."""
    said, none = (points, 0.0) if isinstance(points, Gated) else (ratio, 1.0)
    _, low, high = said.judged()
    return MORE if low > none else LESS if high < none else NONE


def refused(found: RegionData, question: str, exposure: str, why: Refusal) -> Stated:
    """Return a refusal as published."""
    return Stated(
        why, None, None, CANNOT, why.sentence, "not shown: cannot be estimated", found.data.people,
        found.data.teams, question, exposure,
    )  # fmt: skip


def _head(effect: Effect) -> str:
    what = {
        "prevalence": "",
        "new onset": "new discomfort, ",
        "within-worker": "workers against themselves, ",
        "correlated answers": "answers of a worker correlated, ",
        "random intercepts": "given a worker's own level, ",
    }
    words = f"{what[effect.question]}{WORDS[effect.exposure]}"
    return words[:1].upper() + words[1:]


def _sentence(effect: Effect, ratio: Gated, points: Gated | Withheld | None, word: str) -> str:
    times = "times the odds" if effect.measure == "odds ratio" else "times"
    told = f"{ratio.value:g} {times} ({ratio.low:g} to {ratio.high:g})"
    if isinstance(points, Gated):
        direction = "more" if points.value >= 0 else "fewer"
        told = f"{abs(points.value):g} points {direction} ({points.low:g} to {points.high:g}), {told}"
    return f"{_head(effect)} {_VERBS[word]}: {told}."


_VERBS = {
    MORE: "goes with more discomfort",
    NONE: "shows no clear association",
    LESS: "goes with less discomfort",
}


def standing_out(effects: Mapping[str, Stated], level: float = 0.05) -> dict[str, str]:
    """Say which exploratory associations stand out among all that were looked at.

    Parameters
    ----------
    effects : mapping
        Region to its association.
    level : float
        Expected share of false ones among those that stand out.

    Returns
    -------
    dict of str to str
        Region to words; regions without a published number are left out.
    """
    known = {
        region: one.effect.p
        for region, one in effects.items()
        if isinstance(one.effect, Effect) and one.reason is None
    }
    if not known:
        return {}
    q = discovery(list(known.values()))
    return {
        region: "stands out among all regions looked at" if one <= level else "does not stand out"
        for region, one in zip(known, q, strict=True)
    }


def withheld(one: Stated, sentence: str) -> Stated:
    """Return an association as it is stated when a failed check withholds it.

    Parameters
    ----------
    one : Stated
        The association.
    sentence : str
        Which check failed, and what would be needed.

    Returns
    -------
    Stated
        Without numbers.
    """
    return replace(one, ratio=None, points=None, word=CANNOT, sentence=sentence, reason=CHECK_FAILED)
