"""The gate, teams looked at alone, rehearsal with invented answers, and the structure check."""

from fractions import Fraction

import numpy as np

from models.audit_periods import months_of
from models.audit_records import Attacker, HiddenGroup, Ledger, PublishedCell
from models.auditor import audit
from models.auditor_gate import judge
from models.auditor_local import audit_teams
from models.auditor_rehearsal import rehearse, structure_leaks
from tests.support.ledgers import institute, ledger_of
from tests.support.planted import REGION, planted

PEOPLE = tuple(f"p{i:02d}" for i in range(12))


def exact_row_space(groups: list[tuple[str, ...]]) -> set[str]:
    """People whose unit vector solves in fractions: slow, and independent of the module's arithmetic."""
    people = sorted({p for g in groups for p in g})
    rows = [[Fraction(int(p in g)) for p in people] for g in groups]
    rank = 0
    for column in range(len(people)):
        pivot = next((r for r in range(rank, len(rows)) if rows[r][column]), None)
        if pivot is None:
            continue
        rows[rank], rows[pivot] = rows[pivot], rows[rank]
        rows[rank] = [v / rows[rank][column] for v in rows[rank]]
        for r in range(len(rows)):
            if r != rank and rows[r][column]:
                rows[r] = [a - rows[r][column] * b for a, b in zip(rows[r], rows[rank], strict=True)]
        rank += 1
    return {people[[bool(v) for v in row].index(True)] for row in rows[:rank] if sum(map(bool, row)) == 1}


def test_structure_check_agrees_with_fractions() -> None:
    found = 0
    for seed in range(150):
        rng = np.random.default_rng(seed)
        people = [f"p{i}" for i in range(int(rng.integers(2, 10)))]
        groups = [tuple(p for p in people if rng.random() < 0.6) for _ in range(int(rng.integers(1, 11)))]
        groups = [g for g in groups if g]
        expected = exact_row_space(groups)
        assert set(structure_leaks(groups)) == expected
        found += len(expected)
    assert found > 50
    assert structure_leaks([("a", "b"), ("b", "c"), ("a", "c")]) == ("a", "b", "c")
    assert structure_leaks([("a", "b"), ("c", "d")]) == ()


def test_rehearsal_keeps_the_sets_and_uses_no_answer() -> None:
    rng = np.random.default_rng(4)
    invented = institute(rng, teams=6, quarters=2, regions=1, prevalence=0.4, change=0.4)
    ledger = ledger_of(invented, rng)
    again, truth = rehearse(ledger, "NECK", 0.4, np.random.default_rng(9))
    assert [(c.period, c.unit, c.contributors) for c in again.cells] == [
        (c.period, c.unit, c.contributors) for c in ledger.cells
    ]
    blank = Ledger(
        tuple(PublishedCell(c.period, c.unit, c.region, c.contributors, 0) for c in ledger.cells),
        ledger.answered,
        ledger.hidden,
    )
    assert rehearse(blank, "NECK", 0.4, np.random.default_rng(9)) == (again, truth)
    assert audit(again, Attacker(True), rng, truth=truth).passed


def test_gate_asks_every_attacker_and_looks_at_teams_alone_where_answers_changed() -> None:
    rng = np.random.default_rng(5)
    invented = institute(rng, teams=6, quarters=3, regions=1, prevalence=0.4, change=0.4)
    ledger = ledger_of(invented, rng)
    steps: list[tuple[str, int, int]] = []
    teams = set(invented.cluster_of)
    verdict = judge(ledger, teams, rng, truth=invented.truth, progress=lambda *s: steps.append(s))
    assert verdict.passed
    asked = [(v.attacker.stable, bool(v.attacker.colluders), v.attacker.local) for v in verdict.verdicts]
    assert asked[:4] == [(s, who, False) for who in (False, True) for s in (False, True)]
    assert asked[4] == (True, False, True)
    assert verdict.verdicts[1].refuted == ("NECK",)
    assert verdict.verdicts[4].values > 50
    assert len(verdict.sentences) == len(asked)
    assert verdict.values > 1000
    assert steps[-1][1:] == (4, 4)


def two_leavers_in_a_changing_institute(*, leavers_had_it: bool) -> tuple[Ledger, dict]:
    """A team published 10, then, two people fewer, 0; other counts refute stable answers elsewhere."""
    others = tuple(f"q{i:02d}" for i in range(20))
    months = tuple(months_of("2026-Q1") + months_of("2026-Q2"))
    answered = dict.fromkeys((*PEOPLE, *others), months)
    truth = {(p, m): int(p in PEOPLE[:6]) for p in PEOPLE for m in months}
    if not leavers_had_it:
        truth |= {(p, m): int(p in PEOPLE[2:8] and m < "2026-04") for p in PEOPLE for m in months}
    truth |= {(q, m): int(m == "2026-01") for q in others for m in months}
    cells = (
        PublishedCell("2026-Q1", "T", "NECK", PEOPLE, 10),
        PublishedCell("2026-Q2", "T", "NECK", PEOPLE[2:], 0),
        PublishedCell("2026-01", "C", "NECK", others, 20),
        PublishedCell("2026-02", "C", "NECK", others, 0),
    )
    return Ledger(cells, {"NECK": answered}), {"NECK": truth}


def test_a_stable_team_is_looked_at_although_others_change() -> None:
    ledger, truth = two_leavers_in_a_changing_institute(leavers_had_it=True)
    stable = audit(ledger, Attacker(True), np.random.default_rng(1), truth=truth)
    assert stable.refuted == ("NECK",)
    verdict = judge(ledger, ["T"], np.random.default_rng(1), truth=truth, new_cells=ledger.cells[1:2])
    assert not verdict.passed
    assert {(f.token, f.value) for f in verdict.verdicts[-1].findings} >= {("p00", 1), ("p01", 1)}
    assert "in one team" in verdict.sentences[-1]


def test_a_wrong_conclusion_about_a_team_gives_nobody_away() -> None:
    ledger, truth = two_leavers_in_a_changing_institute(leavers_had_it=False)
    local = audit_teams(ledger, Attacker(True), ["T"], ["NECK"], np.random.default_rng(1), truth=truth)
    assert local.passed
    assert {f.token for f in local.parts[0].misled} == {"p00", "p01"}


def test_a_right_guess_from_a_false_premise_is_no_finding_and_a_right_one_from_a_true_premise_is() -> None:
    ledger, truth = two_leavers_in_a_changing_institute(leavers_had_it=True)
    truth["NECK"]["p05", "2026-02"] = 0  # One colleague changed; the numbers do not show it.
    changed = audit_teams(ledger, Attacker(True), ["T"], ["NECK"], np.random.default_rng(1), truth=truth)
    assert changed.passed
    assert {(f.token, f.value) for f in changed.parts[0].misled} >= {("p00", 1), ("p01", 1)}
    del truth["NECK"]["p05", "2026-02"]  # Whoever's data are gone counts as stable.
    gone = audit_teams(ledger, Attacker(True), ["T"], ["NECK"], np.random.default_rng(1), truth=truth)
    assert {(f.token, f.value) for f in gone.findings} >= {("p00", 1), ("p01", 1)}


def test_runs_of_a_team_are_cut_where_its_numbers_refute_them() -> None:
    """Same twelve people, 10 then 0 then 0: no run holds both the first and the second."""
    answered = {p: months_of("2026-Q1") + months_of("2026-Q2") + months_of("2026-Q3") for p in PEOPLE}
    cells = tuple(
        PublishedCell(q, "T", "NECK", PEOPLE, v) for q, v in (("2026-Q1", 10), ("2026-Q2", 0), ("2026-Q3", 0))
    )
    ledger = Ledger(cells, {"NECK": answered})
    verdict = audit_teams(ledger, Attacker(True), ["T"], ["NECK"], np.random.default_rng(1))
    assert [part.values for part in verdict.parts] == [12, 12]
    assert verdict.passed
    newest = audit_teams(
        ledger, Attacker(True), ["T"], ["NECK"], np.random.default_rng(1), new_cells=cells[2:]
    )
    assert [part.values for part in newest.parts] == [12]
    assert audit_teams(ledger, Attacker(True), ["X"], ["NECK"], np.random.default_rng(1)).parts == ()


def test_gate_stops_a_planted_leak_and_a_withheld_group_by_subtraction() -> None:
    case = next(c for c in planted() if "by subtraction" in c.name)
    assert case.ledger.hidden == (HiddenGroup("2026-01", "H", REGION, PEOPLE[9:]),)
    verdict = judge(case.ledger, ["U0"], np.random.default_rng(1), truth={REGION: case.truth})
    assert not verdict.passed
