"""The main question's pictures: the curve, the months back, the hours budget, the share above the guide."""

import zlib
from dataclasses import dataclass, replace

import numpy as np

from etl.release_driver_frame import AGE, THUMB_FORCE, DriverFrame, RegionData, exposure_history
from etl.release_driver_stated import CHECK_FAILED, STEPS, Gate
from etl.release_rows import Row
from models.attributable import ASSUMPTIONS, Share, share_above
from models.budget import Budget, Rise, hours_budget
from models.disclosure import band_text
from models.driver_design import design_of
from models.driver_lag import lag_picture
from models.driver_monotone import monotone_curve
from models.driver_records import LagPicture, Refusal, attempt
from models.result_gate import POINTS, RATIO, Estimate, Gated, Withheld, round_outward
from models.shape_average import AveragedCurve, averaged_curve

TAILS = (0.05, 0.95)
"""Share of the answers below the lowest and above the highest exposure that is spoken about."""

POINTS_DRAWN = 20
RISING_DRAWS = 100
MANY_NUMBERS_PEOPLE = 100
"""Fewest people for the curve and the months back: some fifty numbers about the same answers. An attacker who
takes it that everybody answers alike all year reads single people off them among 20 or 30, and some among 60;
among 100 none was found (test_driver_statement_attack)."""

FEW_FOR_MANY = f"not shown: so many numbers at once take {MANY_NUMBERS_PEOPLE} people"
NOT_ESTIMATED = "not shown: cannot be estimated"
_LEVELS = (0.025, 0.975)


@dataclass(frozen=True)
class Pictures:
    """Rows of the pictures, each after edition and period.

    Attributes
    ----------
    curve, lag, budget, share : list of tuple
        Rows of ``driver_curve``, ``driver_lag``, ``driver_budget`` and ``driver_share``.
    """

    curve: list[Row]
    lag: list[Row]
    budget: list[Row]
    share: list[Row]


def pictures(
    frame: DriverFrame, found: RegionData, region: str, guide: float, rise: float, gate: Gate
) -> Pictures:
    """Draw the main question's pictures.

    Parameters
    ----------
    frame : DriverFrame
        Exposure and answers.
    found : RegionData
        The region's answers.
    region : str
        Region.
    guide : float
        Weekly hours of the guide.
    rise : float
        Points that the budget stands for.
    gate : callable
        Lets a result through.

    Returns
    -------
    Pictures
        The rows; refusals and withheld numbers say why.
    """
    curve = attempt(lambda: _curve(found, region, frame.period, guide))
    return Pictures(
        _curve_rows(curve, found, region, gate),
        _lag_rows(frame, found, region, gate),
        [_budget_row(curve, found, region, rise, kind, gate) for kind in Rise],
        [_share_row(curve, found, region, guide, gate)],
    )


def without_numbers(drawn: Pictures, sentence: str) -> Pictures:
    """Return the pictures as they are stated where a failed check withholds the headline.

    Parameters
    ----------
    drawn : Pictures
        The pictures.
    sentence : str
        Which check failed.

    Returns
    -------
    Pictures
        Curve and months back as they were, to look at; budget and share without numbers.
    """
    budget: list[Row] = [
        (*row[:3], *[None] * 5, row[8], sentence, None, CHECK_FAILED) for row in drawn.budget
    ]
    share: list[Row] = [
        (*row[:2], None, None, None, sentence, row[6], None, CHECK_FAILED) for row in drawn.share
    ]
    return replace(drawn, budget=budget, share=share)


def _curve(found: RegionData, region: str, period: str, guide: float) -> AveragedCurve:
    data = found.data
    low, high = np.quantile(data.hours, TAILS)
    return averaged_curve(
        data.hours, data.case, data.person,
        # The same data give the same draws, whoever asks and when.
        np.random.default_rng(zlib.crc32(f"{region}/{period}".encode())),
        covariates=design_of(data, (), (AGE, THUMB_FORCE)).x[:, 1:],
        edges=(round(float(low), 1), round(float(high), 1)), cut=guide,
    )  # fmt: skip


def _free(found: RegionData) -> float:
    """Residual degrees of freedom of the richest shape."""
    return found.data.people - design_of(found.data, (), (AGE, THUMB_FORCE)).x.shape[1] - 3.0


def _curve_rows(curve: AveragedCurve | Refusal, found: RegionData, region: str, gate: Gate) -> list[Row]:
    unit, kind = STEPS["hours"][1], "average"
    if isinstance(curve, Refusal):
        return []
    places = np.unique(np.linspace(0, len(curve.grid) - 1, POINTS_DRAWN + 1).round().astype(int))
    low, high = np.quantile(curve.draws[:, places], _LEVELS, axis=0)
    values = 100 * curve.risk[places]
    # One gate for the curve: the share as it was stands for it, and all points are rounded alike.
    estimate = _within(100 * curve.observed[0], *np.quantile(100 * curve.observed_draws[:, 0], _LEVELS))
    if found.data.people < MANY_NUMBERS_PEOPLE:
        head = (region, "hours", unit, kind, float(curve.grid[0]))
        return [(*head, None, None, None, None, FEW_FOR_MANY)]
    said = gate("curve over hours", estimate, found.data.people, _free(found), None)
    if isinstance(said, Withheld):
        return [(region, "hours", unit, kind, float(curve.grid[0]), None, None, None, None, said.reason)]
    rows = _rising_rows(found, region, (float(curve.grid[0]), float(curve.grid[-1])), said.step)
    for k, place in enumerate(places):
        value, least, most = round_outward(
            values[k], min(100 * low[k], values[k]), max(100 * high[k], values[k]), said.step
        )
        numbers = (int(value), max(int(least), 0), min(int(most), 100))
        people = band_text(found.data.people)
        rows.append((region, "hours", unit, kind, round(float(curve.grid[place]), 1), *numbers, people, None))
    return rows


def _rising_rows(found: RegionData, region: str, edges: tuple[float, float], step: float) -> list[Row]:
    """Return the curve that may only rise, within the same edges; it stands beside the average."""
    rising = attempt(
        lambda: monotone_curve(
            found.data, "hours", np.random.default_rng(zlib.crc32(region.encode())), (AGE,),
            beside=(THUMB_FORCE,), link="logit", draws=RISING_DRAWS,
        )
    )  # fmt: skip
    if isinstance(rising, Refusal):
        return []
    people, rows = band_text(found.data.people), []
    for x, value, low, high in zip(rising.x, rising.percent, rising.low, rising.high, strict=True):
        if edges[0] <= x <= edges[1]:
            shown = round_outward(value, min(low, value), max(high, value), step)
            numbers = (int(shown[0]), max(int(shown[1]), 0), min(int(shown[2]), 100))
            rows.append((region, "hours", STEPS["hours"][1], "monotone", round(x, 1), *numbers, people, None))
    return rows


def _within(value: float, low: float, high: float, kind: str = POINTS) -> Estimate:
    # Quantiles of the draws may miss the estimate itself by a hair.
    return Estimate(float(value), float(min(low, value)), float(max(high, value)), kind)


def _lag_rows(frame: DriverFrame, found: RegionData, region: str, gate: Gate) -> list[Row]:
    step, unit = STEPS["hours"]
    history = exposure_history(frame, found.names)
    picture = attempt(
        lambda: lag_picture(found.data, "hours", (AGE, THUMB_FORCE), history=history, step=step, link="logit")
    )
    head = (region, "hours", step, unit, "odds ratio")
    if isinstance(picture, Refusal):
        return [(*head, None, None, None, None, picture.sentence, "", None, NOT_ESTIMATED)]
    if found.data.people < MANY_NUMBERS_PEOPLE:
        words = f"{FEW_FOR_MANY}."
        return [(*head, None, None, None, None, words, picture.method, None, FEW_FOR_MANY)]
    total = Estimate(picture.cumulative, picture.cumulative_low, picture.cumulative_high, RATIO)
    parameters = design_of(found.data, (), (AGE, THUMB_FORCE)).x.shape[1] + 3
    said = gate("lag of hours", total, picture.n_people, picture.n_people - parameters, None)
    if isinstance(said, Withheld):
        return [(*head, None, None, None, None, f"{said.reason}.", picture.method, None, said.reason)]
    people, words = band_text(picture.n_people), _lag_words(picture, said)
    rows: list[Row] = [(*head, None, said.value, said.low, said.high, words, picture.method, people, None)]
    for lag, ratio, low, high in zip(picture.lag, picture.ratio, picture.low, picture.high, strict=True):
        numbers = round_outward(ratio, low, high, said.step)
        rows.append((*head, lag, *numbers, words, picture.method, people, None))
    return rows


def _lag_words(picture: LagPicture, said: Gated) -> str:
    clear = [lag for lag, low, high in zip(picture.lag, picture.low, picture.high, strict=True) if low > 1]
    step = f"{picture.step:g} h a week more in all {len(picture.lag)} months"
    told = f"{step} goes with {said.value:g} times the odds ({said.low:g} to {said.high:g})"
    if not clear:
        return f"{told}; no single month stands out."
    if clear == [0]:
        return f"{told}; only hours of the same month stand out."
    listed = ", ".join(f"{lag}" for lag in clear)
    return f"{told}; hours {listed} months back stand out (0 is the month of the answer)."


def _budget_row(
    curve: AveragedCurve | Refusal, found: RegionData, region: str, rise: float, kind: Rise, gate: Gate
) -> Row:
    if isinstance(curve, Refusal):
        return (region, str(kind), rise, *[None] * 5, "", curve.sentence, None, NOT_ESTIMATED)
    budget = hours_budget(curve, rise=rise / 100, kind=kind)
    names = dict.fromkeys(shape.name for shape in curve.shapes)
    weights = {name: sum(s.weight for s in curve.shapes if s.name == name) for name in names}
    averaged = ", ".join(f"{_SHAPES[name]} {10 * round(10 * weight)} %" for name, weight in weights.items())
    people, free = found.data.people, _free(found)
    value = budget.hours if budget.hours is not None else budget.reach
    low = budget.low if budget.low is not None else value
    said = gate(f"hours budget, {kind}", Estimate(value, min(low, value), float("inf")), people, free, None)
    floor = _within(100 * budget.floor, 0.0, 100.0)
    base = gate(f"hours budget, {kind}, floor", floor, people, free, None)
    if isinstance(said, Withheld) or isinstance(base, Withheld):
        why = said.reason if isinstance(said, Withheld) else base.reason if isinstance(base, Withheld) else ""
        return (region, str(kind), rise, *[None] * 5, averaged, f"{why}.", None, why)
    shown = Budget(
        None if budget.hours is None else said.value, None if budget.low is None else said.low,
        base.value / 100, budget.floor_at, budget.reach, budget.rise, kind,
    )  # fmt: skip
    return (
        region, str(kind), rise, shown.hours, shown.low, int(base.value), shown.floor_at, shown.reach,
        averaged, shown.sentence, band_text(people), None,
    )  # fmt: skip


_SHAPES = {"line": "a line", "spline": "a spline", "hinge": "a line with one bend"}


def _share_row(
    curve: AveragedCurve | Refusal, found: RegionData, region: str, guide: float, gate: Gate
) -> Row:
    words = "; ".join(ASSUMPTIONS)
    if isinstance(curve, Refusal):
        return (region, guide, None, None, None, curve.sentence, words, None, NOT_ESTIMATED)
    share = share_above(curve)
    estimate = _within(100 * share.value, 100 * share.low, 100 * share.high)
    said = gate("share above the guide", estimate, found.data.people, _free(found), None)
    if isinstance(said, Withheld):
        return (region, guide, None, None, None, f"{said.reason}.", words, None, said.reason)
    numbers = (int(said.value), int(said.low), int(said.high))
    return (
        region,
        guide,
        *numbers,
        _share_words(share, said, guide),
        words,
        band_text(found.data.people),
        None,
    )


def _share_words(share: Share, said: Gated, guide: float) -> str:
    told = f"{said.value:g} % ({said.low:g} to {said.high:g} %) of all discomfort"
    if share.low <= 0:
        return f"{told} goes with hours above {guide:.1f} a week; it may be nothing."
    return f"{told} goes with hours above {guide:.1f} a week."
