"""Scores of flags on invented answers, monthly or as published by quarter: what limits are judged by."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.answering import Answers
from models.disclosure import ROUNDING_BASE
from models.flag_rise import Wander, average_shares
from models.flags import flag_series
from models.flags_together import LEAST_TOGETHER, Together, flag_together, with_baseline
from models.quarters import quarter_counts

BASELINE_MONTHS = 12
QUARTERS = 4
"""Quarters of a baseline, and of the window a sum reaches back."""


def rounding_noise(base: int = ROUNDING_BASE) -> float:
    """Return the variance that random rounding adds to a count, averaged over remainders.

    Parameters
    ----------
    base : int
        Rounding base.

    Returns
    -------
    float
        ``mean of r (b - r)`` over r = 0 .. b-1, which is ``(b**2 - 1) / 6``.
    """
    return (base**2 - 1) / 6


@dataclass(frozen=True)
class Published:
    """Published quarters of simulated teams, by region.

    Attributes
    ----------
    cases, people : tuple of numpy.ndarray, each (teams, quarters)
        Rounded counts and people, 0 where hidden.
    """

    cases: tuple[np.ndarray, ...]
    people: tuple[np.ndarray, ...]

    @property
    def overall(self) -> list[float]:
        """Share of all teams together over the baseline quarters, by region."""
        return [
            float(x[:, :QUARTERS].sum() / max(n[:, :QUARTERS].sum(), 1))
            for x, n in zip(self.cases, self.people, strict=True)
        ]

    def averages(self) -> tuple[np.ndarray, np.ndarray]:
        """Return teams' averages over the regions about the organisation's, and people."""
        used = with_baseline(self.people, QUARTERS, LEAST_TOGETHER)
        return average_shares(self.cases, self.people, self.overall, used)


def publish(answers: Answers, rng: np.random.Generator) -> Published:
    """Return what would be published of invented answers.

    Parameters
    ----------
    answers : Answers
        Monthly answers.
    rng : numpy.random.Generator
        Source of the rounding.

    Returns
    -------
    Published
        Quarters.
    """
    found = [quarter_counts(answers, rng, region=region) for region in range(answers.case.shape[3])]
    return Published(
        tuple(one.published.astype(float) for one in found), tuple(one.n.astype(float) for one in found)
    )


def joined(parts: Sequence[Published]) -> Published:
    """Return the teams of several simulations as one.

    Parameters
    ----------
    parts : sequence of Published
        Simulations of equally many regions and quarters.

    Returns
    -------
    Published
        Their teams, in order.
    """
    regions = range(len(parts[0].cases))
    return Published(
        tuple(np.concatenate([part.cases[r] for part in parts]) for r in regions),
        tuple(np.concatenate([part.people[r] for part in parts]) for r in regions),
    )


def quarter_paths(own: Published, wander: Wander, *, overall: Sequence[float] | None = None) -> Together:
    """Return what flags on published quarters see.

    Parameters
    ----------
    own : Published
        Baseline year and watched quarters.
    wander : Wander
        How averages stray when nothing changes.
    overall : sequence of float, optional
        The organisation's share by region; that of `own` by default.

    Returns
    -------
    Together
        Scores, shape (teams, quarters).
    """
    return flag_together(
        own.cases, own.people, own.overall if overall is None else overall, wander,
        baseline_periods=QUARTERS, count_noise=rounding_noise(),
    )  # fmt: skip


def highest_scores(answers: Answers, reference: Answers) -> np.ndarray:
    """Return each team's highest score on exact monthly counts, over the watched months and its regions.

    Parameters
    ----------
    answers : Answers
        Baseline year and watched months.
    reference : Answers
        In-control answers that the organisation's prevalence is taken from.

    Returns
    -------
    numpy.ndarray
        Shape (teams,); 0 for a team with too few baseline answers.
    """
    best = np.zeros(answers.case.shape[1])
    for region in range(answers.case.shape[3]):
        x, n = reference.counts(region)
        found = flag_series(
            *answers.counts(region),
            limit=np.inf,
            baseline_periods=BASELINE_MONTHS,
            window=BASELINE_MONTHS,
            overall=x[:, :BASELINE_MONTHS].sum() / max(n[:, :BASELINE_MONTHS].sum(), 1),
        )
        best = np.maximum(best, np.where(found.judged, found.score.max(1), 0.0))
    return best
