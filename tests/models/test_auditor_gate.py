"""The gate, rehearsal with invented answers, and the structure check."""

from fractions import Fraction

import numpy as np

from models.audit_records import Attacker, HiddenGroup, Ledger, PublishedCell
from models.auditor import audit
from models.auditor_gate import judge
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


def test_gate_asks_every_attacker_and_reports_the_guesses() -> None:
    rng = np.random.default_rng(5)
    invented = institute(rng, teams=6, quarters=3, regions=1, prevalence=0.4, change=0.4)
    ledger = ledger_of(invented, rng)
    steps: list[tuple[str, int, int]] = []
    teams = set(invented.cluster_of)
    verdict = judge(ledger, teams, rng, truth=invented.truth, progress=lambda *s: steps.append(s))
    assert verdict.passed
    asked = [(bool(v.attacker.colluders), v.attacker.spans) for v in verdict.verdicts]
    assert asked == [(who, spans) for who in (False, True) for spans in (False, True)]
    assert not any(v.refuted for v in verdict.verdicts)
    assert len(verdict.sentences) == len(asked)
    assert "how long each answer stayed the same" in verdict.sentences[1]
    assert verdict.values > 1000
    assert verdict.guesses is not None
    assert verdict.guesses.answers > 500
    assert steps == [
        ("equal answers known, NECK", 1, 3), ("months unrelated, NECK", 2, 3), ("guesses, NECK", 3, 3)
    ]  # fmt: skip


def test_who_is_told_nothing_is_carried_by_who_is_told_something() -> None:
    """Only those who tell are looked for again; the sums are those of a search of its own."""
    rng = np.random.default_rng(6)
    invented = institute(rng, teams=6, quarters=2, regions=1, prevalence=0.3, change=0.1)
    ledger = ledger_of(invented, rng)
    verdict = judge(ledger, set(invented.cluster_of), rng, truth=invented.truth)
    for spans, judged in zip((False, True), verdict.verdicts, strict=False):
        (part,) = judged.parts
        alone = audit(ledger, Attacker(False, spans=spans), rng, truth=invented.truth)
        assert part.values == alone.values == len(part.witnesses) + part.carried
        assert {w.token for w in part.witnesses} <= verdict.verdicts[-1].attacker.colluders
        assert 0 < part.carried < part.values


def test_a_hasty_gate_stops_at_the_first_finding_and_says_the_same() -> None:
    case = next(c for c in planted() if c.name == "everyone but one")
    cells = tuple(
        PublishedCell(c.period, c.unit, region, c.contributors, c.value, c.base)
        for region in (REGION, "KNEE")
        for c in case.ledger.cells
    )
    ledger = Ledger(cells, dict.fromkeys((REGION, "KNEE"), case.ledger.answered[REGION]))
    truth = dict.fromkeys((REGION, "KNEE"), case.truth)
    asked = []
    for thorough in (True, False):
        steps: list[str] = []
        verdict = judge(
            ledger, ["U0"], np.random.default_rng(1), truth=truth, thorough=thorough,
            progress=lambda words, done, total, steps=steps: steps.append(words),
        )  # fmt: skip
        assert not verdict.passed
        asked.append(len(steps))
    assert asked == [6, 1]


def test_what_old_numbers_give_away_alone_is_not_held_against_new_ones() -> None:
    case = next(c for c in planted() if c.name == "everyone but one")
    fresh = PublishedCell("2026-03", "U0", REGION, PEOPLE, 5)
    answered = {t: (*months, "2026-03") for t, months in case.ledger.answered[REGION].items()}
    ledger = Ledger((*case.ledger.cells, fresh), {REGION: answered})
    truth = {REGION: case.truth | {(p, "2026-03"): int(p < "p05") for p in PEOPLE}}

    def asked(cells: tuple[PublishedCell, ...], new: tuple[PublishedCell, ...] | None, known=frozenset()):
        whole = Ledger(cells, ledger.answered)
        return judge(whole, ["U0"], np.random.default_rng(1), truth=truth, new_cells=new, known=known)

    before = asked(case.ledger.cells, ())
    assert not before.passed
    assert {(spans, token) for spans, _, _, token, _, _ in before.found} == {(True, "p00")}
    assert not asked(ledger.cells, (fresh,)).passed
    assert asked(ledger.cells, (fresh,), before.found).passed
    # A new number that gives more away is held against it all the same.
    worse = (fresh, PublishedCell("2026-03", "U1", REGION, PEOPLE[1:], 4, 1))
    worse += (PublishedCell("2026-03", "U2", REGION, PEOPLE, 5, 1),)
    assert not asked((*case.ledger.cells, *worse), worse, before.found).passed


def test_gate_stops_a_planted_leak_and_a_withheld_group_by_subtraction() -> None:
    case = next(c for c in planted() if "by subtraction" in c.name)
    assert case.ledger.hidden == (HiddenGroup("2026-01", "H", REGION, PEOPLE[9:]),)
    verdict = judge(case.ledger, ["U0"], np.random.default_rng(1), truth={REGION: case.truth})
    assert not verdict.passed
