"""How far associations can be trusted, as published: from published numbers only, withheld where they are."""

import pytest

from etl.release_driver_stated import MORE, Stated
from etl.release_driver_trust import CORRECTED, E_VALUE, TOGETHER, reports_of, trust_rows
from models.driver_records import Effect
from models.result_gate import RATIO, Gated, Question

REPORT = (
    "2026-09", "organisation", "ORG", "log beside report", "40-59", 0.8, 0.7, 0.9, 0.5, 1.1, 1.4, "Told.",
    "self_report.reliability",
)  # fmt: skip


def one(value: float, low: float, high: float, reason: str | None = None, exposure: str = "hours") -> Stated:
    # Unrounded numbers that differ a lot: were one of them used, the rows would show it.
    effect = Effect(
        "prevalence", exposure, 5.0, "h/week", 5.0, 4.0, 6.0, 9.0, 3.0, 15.0, 0.01, 12.0, 900, 90, 13,
        "prevalence ratio", "method", "source",
    )  # fmt: skip
    ratio = Gated(Question("discomfort/NECK", "drivers", "2026"), value, low, high, 0.1, RATIO, low > 1)
    return Stated(effect, ratio, None, MORE, "Told.", reason, 90, 13, "prevalence", exposure)


def test_rows_follow_from_published_numbers_alone():
    stated = {"WRIST_HAND": [one(1.4, 1.1, 1.8), one(1.3, 1.0, 1.7, exposure="thumb_force")]}
    stated |= {"NECK": [one(1.2, 0.9, 1.6)], "ELBOW": [one(1.0, 0.7, 1.4)]}
    rows = trust_rows(stated, reports_of([REPORT]))
    told = {(row[0], row[1], row[2], row[3]): row[4:7] for row in rows}
    # 1.4 + sqrt(1.4 x 0.4) = 2.15, 1.1 + sqrt(1.1 x 0.1) = 1.43 downward.
    assert told["WRIST_HAND", "hours", E_VALUE, None] == (2.1, 1.4, None)
    assert told["WRIST_HAND", "thumb_force", E_VALUE, None][1] == 1.0
    # 1.4 ** (1 / 0.8) = 1.52, 1.1 ** 1.25 = 1.13 downward, 1.8 ** 1.25 = 2.08 upward.
    assert told["WRIST_HAND", "hours", CORRECTED, 0.8] == pytest.approx((1.5, 1.1, 2.1))
    assert {key[3] for key in told if key[2] == CORRECTED and key[0] == "NECK"} == {0.7, 0.8, 0.9}
    assert not any(key[2] == CORRECTED and key[1] != "hours" for key in told)
    assert {key[0] for key in told if key[2] == TOGETHER} == set(stated)
    assert all(
        low <= value <= (high or value)
        for (_, _, way, _), (value, low, high) in told.items()
        if way != E_VALUE
    )
    for row in rows:
        assert " causes" not in str(row[7])


def test_what_is_withheld_is_worked_on_no_further():
    assert trust_rows({"NECK": [one(1.4, 1.1, 1.8, "not shown: a check failed")]}, reports_of([REPORT])) == []


def test_without_a_reliability_nothing_is_corrected_and_an_assumed_one_is_named():
    assert not any(row[2] == CORRECTED for row in trust_rows({"NECK": [one(1.4, 1.1, 1.8)]}, reports_of([])))
    assumed = (*REPORT[:3], "assumed", None, *REPORT[5:])
    rows = trust_rows({"NECK": [one(1.4, 1.1, 1.8)]}, reports_of([assumed]))
    assert all("(assumed)" in row[7] for row in rows if row[2] == CORRECTED)
