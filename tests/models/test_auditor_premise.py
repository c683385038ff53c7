"""Conclusions of an attacker who takes answers to be stable, where they are and where they are not."""

import numpy as np
import pytest

from models.audit_periods import months_of
from models.audit_records import Attacker, Finding, Ledger, PartVerdict, PublishedCell
from models.auditor import audit
from models.auditor_gate import judge
from models.auditor_premise import as_guesses, premise_holds

PEOPLE = tuple(f"p{i:02d}" for i in range(12))
MONTHS = tuple(months_of("2026-Q1") + months_of("2026-Q2"))
CELLS = (
    PublishedCell("2026-Q1", "T", "NECK", PEOPLE, 10),
    PublishedCell("2026-Q2", "T", "NECK", PEOPLE[2:], 0),
)
LEDGER = Ledger(CELLS, {"NECK": dict.fromkeys(PEOPLE, MONTHS)})


def truth(*changed: str) -> dict[tuple[str, str], int]:
    """Six people with discomfort, two of them leaving the team's count after the first quarter."""
    said = {(p, m): int(p in PEOPLE[:6]) for p in PEOPLE for m in MONTHS}
    return said | {(p, "2026-02"): 1 - said[p, "2026-02"] for p in changed}


def test_leavers_are_given_away_where_answers_were_stable() -> None:
    """From 10 to 0 without two people: at most 4 stayed with discomfort, at least 6 were there before."""
    verdict = audit(LEDGER, Attacker(True), np.random.default_rng(1), truth={"NECK": truth()})
    assert {(f.token, f.value) for f in verdict.findings} >= {("p00", 1), ("p01", 1)}


def test_the_same_conclusion_is_a_guess_where_an_answer_changed() -> None:
    answers = {"NECK": truth("p08")}
    verdict = judge(LEDGER, ["T"], np.random.default_rng(1), truth=answers)
    assert verdict.passed
    assert {f.token for f in verdict.verdicts[1].parts[0].misled} >= {"p00", "p01"}
    # It is then looked at for the team alone, where the premise fails as well.
    assert verdict.verdicts[-1].attacker.local


@pytest.mark.parametrize(
    ("attacker", "changed", "holds"),
    [
        (Attacker(False), ("p08",), True),
        (Attacker(True), (), True),
        (Attacker(True), ("p08",), False),
        (Attacker(True, frozenset({"p08"})), ("p08",), True),
        (Attacker(True, frozenset({"p08"})), ("p08", "p09"), False),
    ],
)
def test_the_premise_is_about_everybody_who_did_not_tell(
    attacker: Attacker, changed: tuple[str, ...], holds: bool
) -> None:
    assert premise_holds(CELLS, truth(*changed), attacker) is holds


def test_the_premise_is_about_the_months_counted_and_missing_answers_count_as_stable() -> None:
    answers = truth("p08")
    assert premise_holds(CELLS[1:], answers, Attacker(True))
    assert premise_holds(CELLS, {}, Attacker(True))


def test_what_was_not_decided_in_time_stays_a_finding() -> None:
    late, value = Finding("NECK", "p01", "", None), Finding("NECK", "p00", "", 1)
    hidden = Finding("NECK", "T", "2026-Q1", 3, "hidden count")
    moved = as_guesses(PartVerdict("NECK", 2, (late, value, hidden)))
    assert moved.findings == (late,)
    assert moved.misled == (value,)
