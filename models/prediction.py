"""What predicts a group's discomfort in the next quarter, and whether anything beats 'same as last quarter'.

Groups only: a row is a group and quarter, and no person is ever scored.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from scipy.special import logit, stdtrit
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.impute import SimpleImputer
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import GroupKFold
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import StandardScaler
from threadpoolctl import threadpool_limits

from models.driver_records import Refusal, Refused
from models.prediction_cells import HISTORY, Ahead
from models.prediction_records import (
    BOOSTED,
    LAST,
    LOGISTIC,
    MODELS,
    PAST,
    Calibration,
    Importance,
    Prediction,
    Score,
)

BY_TEAM, BY_TIME = "teams left out", "later quarters left out"
FOLDS = 5
LEAST_GROUPS, LEAST_QUARTERS, LEAST_PAIRS = 6, 4, 30
"""Fewest groups, quarters to predict from, and pairs of both. Own convention."""

RISING = ("hours", "strokes", "spell", "beyond", "force", *HISTORY)
"""Features with which the boosted prediction may only rise: more exposure never predicts less discomfort."""

_REPEATS = 10


Split = tuple[np.ndarray, np.ndarray]


def predict_groups(
    ahead: Ahead,
    rng: np.random.Generator,
    *,
    progress: Callable[[str, int, int], None] | None = None,
) -> Prediction:
    """Compare the models where they were not fitted, by team and forward in time.

    Each model predicts the next quarter's share of a group from features of this one. By team: five folds,
    whole teams left out. By time: every quarter from the middle on is predicted from the ones before. The
    error is that of shares weighted by answers; gains are compared team by team, or quarter by quarter, with
    a t interval (Nadeau C, Bengio Y 2003, Mach Learn 52:239, warn that folds share data: the interval is a
    little short).

    Parameters
    ----------
    ahead : Ahead
        Pairs of quarters.
    rng : numpy.random.Generator
        Source of chance of the shuffles.
    progress : callable, optional
        Told what is being done, how many steps are done, and of how many.

    Returns
    -------
    Prediction
        The comparison.

    Raises
    ------
    Refused
        With too few groups, quarters or pairs.
    """
    _check(ahead)
    tell = progress or (lambda label, done, total: None)
    schemes = {BY_TEAM: _by_team(ahead), BY_TIME: _by_time(ahead)}
    held: dict[tuple[str, str], np.ndarray] = {}
    fitted: dict[str, list[tuple[Any, Split]]] = {LOGISTIC: [], BOOSTED: []}
    steps = [(scheme, model) for scheme in schemes for model in MODELS]
    for done, (scheme, model) in enumerate(steps):
        tell(f"predicting: {model}, {scheme}", done, len(steps) + 1)
        # A few hundred rows: threads would wait for each other most of the time.
        with threadpool_limits(1):
            held[scheme, model], fits = _held_out(ahead, schemes[scheme], model)
        if scheme == BY_TIME and model in fitted:
            fitted[model] = fits
    scores = tuple(_score(ahead, held, scheme, model, LAST) for scheme in schemes for model in MODELS)
    later = {score.model: score for score in scores if score.scheme == BY_TIME}
    best = min(MODELS, key=lambda model: later[model].error)
    beats = all(s.beats for s in scores if s.model == best) and best != LAST
    richer = min((LOGISTIC, BOOSTED), key=lambda model: later[model].error)
    adds = all(_score(ahead, held, scheme, richer, PAST).beats for scheme in schemes)
    tell("predicting: importance", len(steps), len(steps) + 1)
    return Prediction(
        scores, best, beats, adds, _importance(ahead, fitted[richer], rng),
        _calibration(ahead, held[BY_TIME, best]), _words(later, best, beats, adds),
        len(np.unique(ahead.group)), len(np.unique(ahead.quarter)), len(ahead.n),
    )  # fmt: skip


def _check(ahead: Ahead) -> None:
    for found, least, what in (
        (len(np.unique(ahead.group)), LEAST_GROUPS, "groups"),
        (len(np.unique(ahead.quarter)), LEAST_QUARTERS, "quarters to predict from"),
        (len(ahead.n), LEAST_PAIRS, "pairs of quarters"),
    ):
        if found < least:
            raise Refused(
                Refusal("Next quarter's discomfort", f"{found} {what} answered", f"At least {least} {what}")
            )
    if not 0 < ahead.cases.sum() < ahead.n.sum():
        raise Refused(Refusal("Next quarter's discomfort", "all answers are alike", "Answers of both kinds"))


def _by_team(ahead: Ahead) -> list[Split]:
    folds = min(FOLDS, len(np.unique(ahead.group)))
    return list(GroupKFold(folds).split(ahead.x, groups=ahead.group))


def _by_time(ahead: Ahead) -> list[Split]:
    quarters = np.unique(ahead.quarter)
    later = quarters[len(quarters) // 2 :]
    # A pair's outcome is known a quarter later: only pairs that ended by then may teach.
    return [(np.flatnonzero(ahead.quarter < q), np.flatnonzero(ahead.quarter == q)) for q in later]


def _columns(ahead: Ahead, model: str) -> list[int]:
    return [k for k, name in enumerate(ahead.names) if model != PAST or name in HISTORY]


def _make(names: Sequence[str], model: str) -> Any:
    if model == BOOSTED:
        no_stop: Any = False
        return HistGradientBoostingClassifier(
            learning_rate=0.08, max_iter=40, max_leaf_nodes=4, min_samples_leaf=10, l2_regularization=1.0,
            early_stopping=no_stop, monotonic_cst=[int(name in RISING) for name in names], random_state=0,
        )  # fmt: skip
    # Own convention: the strength is fixed, as choosing it would need a further split of few cells.
    return make_pipeline(
        SimpleImputer(keep_empty_features=True), StandardScaler(), LogisticRegression(C=1.0, max_iter=500)
    )


def _fit(ahead: Ahead, rows: np.ndarray, columns: list[int], model: str) -> Any:
    """Fit to shares: each cell stands once with its cases and once with the rest as weights."""
    x = ahead.x[rows][:, columns]
    # Something never known so far carries no split; boosting cannot bin it.
    x[:, np.isnan(x).all(axis=0)] = 0.0
    y = np.repeat([1, 0], len(rows))
    # Answers of the same people repeat; weights scaled to mean 1 a cell keep the penalty comparable.
    weight = np.concatenate([ahead.cases[rows], ahead.n[rows] - ahead.cases[rows]]) / ahead.n[rows].mean()
    made = _make([ahead.names[k] for k in columns], model)
    named = {"sample_weight": weight} if model == BOOSTED else {"logisticregression__sample_weight": weight}
    return made.fit(np.vstack([x, x]), y, **named)


def _held_out(ahead: Ahead, splits: list[Split], model: str) -> tuple[np.ndarray, list[tuple[Any, Split]]]:
    found = np.full(len(ahead.n), np.nan)
    fits: list[tuple[Any, Split]] = []
    columns = _columns(ahead, model)
    for teach, hold in splits:
        if model == LAST:
            found[hold] = ahead.last[hold]
            continue
        made = _fit(ahead, teach, columns, model)
        found[hold] = made.predict_proba(ahead.x[hold][:, columns])[:, 1]
        fits.append((made, (teach, hold)))
    return found, fits


def _error(ahead: Ahead, predicted: np.ndarray, rows: np.ndarray) -> float:
    gap = predicted[rows] - ahead.share[rows]
    return 100 * float(np.sqrt(np.average(gap**2, weights=ahead.n[rows])))


def _score(
    ahead: Ahead, held: dict[tuple[str, str], np.ndarray], scheme: str, model: str, against: str
) -> Score:
    own, other = held[scheme, model], held[scheme, against]
    rows = np.flatnonzero(np.isfinite(own))
    error = _error(ahead, own, rows)
    if model == against:
        return Score(model, scheme, error, 0.0, 0.0, 0.0, 0)
    part = (ahead.group if scheme == BY_TEAM else ahead.quarter)[rows]
    labels = np.unique(part)
    gains = np.array(
        [_error(ahead, other, rows[part == k]) - _error(ahead, own, rows[part == k]) for k in labels]
    )
    mean = float(gains.mean())
    half = float(stdtrit(len(gains) - 1, 0.975) * gains.std(ddof=1) / np.sqrt(len(gains)))
    return Score(model, scheme, error, mean, mean - half, mean + half, len(gains))


def _importance(
    ahead: Ahead, fits: list[tuple[Any, Split]], rng: np.random.Generator
) -> tuple[Importance, ...]:
    """Shuffle each feature among the cells of a quarter that was not used in the fit, many times at once."""
    count = len(ahead.names) * _REPEATS
    plain = np.full(len(ahead.n), np.nan)
    shuffled = np.full((count, len(ahead.n)), np.nan)
    for made, (_, hold) in fits:
        x = np.tile(ahead.x[hold], (count + 1, 1, 1))
        for k in range(count):
            x[k, :, k // _REPEATS] = x[k, rng.permutation(len(hold)), k // _REPEATS]
        found = made.predict_proba(x.reshape(-1, x.shape[2]))[:, 1].reshape(count + 1, len(hold))
        plain[hold], shuffled[:, hold] = found[-1], found[:-1]
    rows = np.flatnonzero(np.isfinite(plain))
    base = _error(ahead, plain, rows)
    rises = np.array([_error(ahead, own, rows) - base for own in shuffled]).reshape(-1, _REPEATS)
    told = [
        Importance(name, float(own.mean()), float(own.min()), float(own.max()))
        for name, own in zip(ahead.names, rises, strict=True)
    ]
    return tuple(sorted(told, key=lambda one: -one.points))


def _calibration(ahead: Ahead, predicted: np.ndarray) -> Calibration:
    rows = np.flatnonzero(np.isfinite(predicted))
    at = logit(np.clip(predicted[rows], 0.01, 0.99))
    observed = logit((ahead.cases[rows] + 0.5) / (ahead.n[rows] + 1))
    weight = ahead.n[rows]
    centred = at - np.average(at, weights=weight)
    spread = float(weight @ centred**2)
    slope = float(weight @ (centred * observed)) / spread if spread > 0 else float("nan")
    return Calibration(
        float(np.average(predicted[rows], weights=weight)),
        float(np.average(ahead.share[rows], weights=weight)),
        slope,
    )


def _halves(points: float) -> str:
    # Half a point is as fine as such an error is worth reading, and telling.
    return f"{round(2 * points) / 2:g}"


def _words(later: dict[str, Score], best: str, beats: bool, adds: bool) -> str:
    last = f"'{LAST}' is off by {_halves(later[LAST].error)} points"
    if best == LAST:
        return f"Nothing tried predicts next quarter better than the last one: {last}."
    nearer = f"{best} by {_halves(later[best].error)}"
    if not beats:
        return f"Next quarter is not predicted better than by the last one beyond chance: {last}, {nearer}."
    own = (
        "Exposure adds to what a group's own past tells."
        if adds
        else "That is the gain of steadier shares: exposure adds nothing beyond a group's own past."
    )
    return f"Next quarter is predicted better than by the last one: {last}, {nearer}. {own}"
