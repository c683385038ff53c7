"""How often evaluations of a change are wrong, on worlds with a known truth."""

from dataclasses import dataclass

import numpy as np

from models.adoption import imputation_weights, treated_cells
from models.change_world import Ground, draw_world
from models.paths import draw_paths
from models.staggered import staggered_effect
from models.team_changes import adjusted_fit, change_fit

MONTHS, START, CHUNK = 36, 18, 250
EQUAL = np.full(8, 15)
UNEQUAL = np.array([5, 7, 9, 12, 15, 20, 30, 40])


@dataclass(frozen=True)
class Rates:
    """Error rates; `error` is the Monte-Carlo standard error of a rate of 5 %."""

    rejected: float
    covered: float
    bias: float
    worlds: int

    @property
    def error(self) -> float:
        return float(np.sqrt(0.05 * 0.95 / self.worlds))


def common_start(rng, sizes, changed, ground=None, *, effect=0.0, worlds=2000) -> Rates:
    """One start for some teams, judged by the meta-regression of team changes."""
    dose = np.isin(np.arange(len(sizes)), changed).astype(float)
    added = np.outer(dose, np.arange(MONTHS) >= START) * effect
    found = []
    for _ in range(worlds // CHUNK):
        world = draw_world(rng, sizes, MONTHS, ground or Ground(), effect=added, worlds=CHUNK)
        found.append(_limits(change_fit(world.sums(START), dose)))
    return _rates(np.concatenate(found, 1), effect)


def worst_chosen(rng, sizes, number, *, window=None, adjust=True, worlds=2000) -> Rates:
    """The teams with most discomfort before the start are changed, to no effect."""
    found = []
    for _ in range(worlds // CHUNK):
        world = draw_world(rng, sizes, MONTHS, Ground(), worlds=CHUNK)
        sums = world.sums(START)
        share, _ = world.cells()
        seen = np.nanmean(share[..., START - window : START], -1) if window else sums.before
        dose = (np.argsort(np.argsort(-seen, 1), 1) < number).astype(float)
        found.append(_limits((adjusted_fit if adjust else change_fit)(sums, dose)))
    return _rates(np.concatenate(found, 1), 0.0)


def staggered(rng, sizes, starts, ground=None, *, effect=0.0, every=3, worlds=400) -> Rates:
    """Starts one after another with an effect that grows over a year, judged by imputation and paths."""
    start = np.asarray(starts)
    since = np.arange(MONTHS) - start[:, None] + 1
    added = effect * np.where(start[:, None] >= 0, np.clip(since, 0, 12) / 12, 0)
    periods = np.where(start >= 0, start // every, -1)
    done = treated_cells(periods, MONTHS // every)
    use = done & (~done).any(0)
    truth = float(added.reshape(len(start), -1, every).mean(2)[use].mean())
    shares, _ = draw_world(rng, sizes, MONTHS, ground or Ground(), effect=added, worlds=worlds).cells(every)
    paths = draw_paths(periods, rng, 499)
    found = [
        staggered_effect(np.nan_to_num(y, nan=np.nanmean(y)), periods, sizes, rng, paths=paths)
        for y in shares
    ]
    limits = np.array([(r.low, r.high, r.effect) for r in found]).T
    rejected = np.mean([r.p <= 0.05 for r in found])
    rates = _rates(limits, truth)
    return Rates(float(rejected), rates.covered, rates.bias, worlds)


def imputation_bias(rng, sizes, starts, *, effect, worlds=2000) -> tuple[float, float, float]:
    """Bias of imputation on growing effects with its error, and of two-way fixed effects, in points."""
    start, every = np.asarray(starts), 3
    since = np.arange(MONTHS) - start[:, None] + 1
    added = effect * np.where(start[:, None] >= 0, np.clip(since, 0, 12) / 12, 0)
    periods = np.where(start >= 0, start // every, -1)
    done = treated_cells(periods, MONTHS // every)
    use = done & (~done).any(0)
    truth = added.reshape(len(start), -1, every).mean(2)[use].mean()
    weights = imputation_weights(periods, MONTHS // every)
    dose = done - done.mean(0) - done.mean(1, keepdims=True) + done.mean()
    found = []
    for _ in range(worlds // CHUNK):
        shares, _ = draw_world(rng, sizes, MONTHS, Ground(), effect=added, worlds=CHUNK).cells(every)
        shares = np.nan_to_num(shares, nan=0.25)
        found.append([(shares * w).sum((1, 2)) for w in (weights, dose / (dose**2).sum())])
    own, fixed = 100 * (np.concatenate(found, 1) - truth)
    return float(own.mean()), float(own.std() / np.sqrt(own.size)), float(fixed.mean())


def _limits(fit):
    return np.stack([*fit.interval(1), fit.coefficient[:, 1]])


def _rates(limits: np.ndarray, truth: float) -> Rates:
    low, high, effect = limits
    outside = (low > 0) | (high < 0)
    return Rates(
        float(outside.mean()), float(((low <= truth) & (truth <= high)).mean()),
        float(100 * (effect - truth).mean()), limits.shape[1],
    )  # fmt: skip
