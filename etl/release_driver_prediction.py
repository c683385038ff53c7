"""Next quarter's group prevalence against 'same as last quarter', as published."""

import zlib

import numpy as np

from etl.release_driver_frame import CELL_COLUMNS, DriverFrame, group_cells
from etl.release_driver_stated import Gate
from etl.release_rows import Row
from models.driver_records import Refusal, attempt
from models.prediction import predict_groups
from models.prediction_cells import GroupCells, one_ahead
from models.prediction_records import Calibration, Prediction
from models.result_gate import Estimate, Withheld, round_outward

NOT_ESTIMATED = "not shown: cannot be estimated"


def prediction_rows(frame: DriverFrame, region: str, people: int, gate: Gate) -> tuple[list[Row], list[Row]]:
    """Compare the predictions and say what they come to.

    Parameters
    ----------
    frame : DriverFrame
        Exposure and answers.
    region : str
        Region.
    people : int
        People behind the answers.
    gate : callable
        Lets a result through.

    Returns
    -------
    tuple of list
        Rows of ``driver_prediction`` and ``driver_importance``, after edition and period.
    """
    cells = group_cells(frame, region)
    found = attempt(lambda: _predicted(cells, region, frame.period))
    if isinstance(found, Refusal):
        return [(region, "", "", *[None] * 5, None, found.sentence, None, NOT_ESTIMATED)], []
    worst = max(found.scores, key=lambda score: score.error)
    # The largest error stands for all. One person's answers move an error over a hundred cells by about half
    # a point at most, so that half points are safe where whole ones are for a share.
    said = gate(
        "prediction", Estimate(worst.error, 0.0, max(50.0, worst.error)), people, found.groups - 1, None
    )
    if isinstance(said, Withheld):
        return [(region, "", "", *[None] * 5, None, f"{said.reason}.", None, said.reason)], []
    told = _calibrated(found.calibration)
    rows: list[Row] = [
        (
            region, score.scheme, score.model,
            _halves(score.error, score.error, score.error)[0], *_halves(score.gain, score.low, score.high),
            score.parts, score.beats, found.sentence, told, None,
        )
        for score in found.scores
    ]  # fmt: skip
    features: list[Row] = [
        (region, one.feature, *_halves(one.points, one.low, one.high)) for one in found.importance
    ]
    return rows, features


def _halves(value: float, low: float, high: float) -> tuple[float, float, float]:
    return round_outward(value, low, high, 0.5)


def _predicted(cells, region: str, period: str) -> Prediction:
    team = np.unique(cells["team"], return_inverse=True)[1]
    given = GroupCells(
        team, cells["quarter"].to_numpy(int), cells["cases"].to_numpy(float), cells["n"].to_numpy(float),
        {name: cells[name].to_numpy(float) for name in CELL_COLUMNS},
    )  # fmt: skip
    rng = np.random.default_rng(zlib.crc32(f"prediction {region}/{period}".encode()))
    return predict_groups(one_ahead(given), rng)


def _calibrated(found: Calibration) -> str:
    what = "about right" if 0.7 <= found.slope <= 1.4 else "too bold" if found.slope < 0.7 else "too timid"
    return (
        f"On later quarters {100 * found.predicted:.0f} % were predicted, {100 * found.observed:.0f} % seen; "
        f"differences between groups are {what} (slope {found.slope:.1f}, 1 is right)."
    )
