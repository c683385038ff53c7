"""The auditor against brute force on tiny random ledgers: the same values determined, no more, no less."""

import numpy as np
import pytest

from models.audit_check import witnesses_holding, worlds_reproduce
from models.audit_records import Attacker, HiddenGroup, Ledger, PartVerdict
from models.auditor import audit
from models.auditor_gallery import Effort
from models.auditor_model import known_answers
from models.auditor_spans import true_spans
from tests.support.audit_oracle import enumerate_worlds
from tests.support.ledgers import Publisher

MONTHS = ("2026-01", "2026-02", "2026-03", "2026-04")
REGION = "NECK"
THOROUGH = Effort(enough=10**6)


def tiny(rng: np.random.Generator, *, months: int, most: int) -> tuple[Ledger, dict]:
    """A few people, a few overlapping groups, some published twice and some withheld."""
    span = MONTHS[:months]
    people = [f"p{i}" for i in range(int(rng.integers(2, most + 1)))]
    answered = {p: tuple(m for m in span if rng.random() < 0.8) or span[:1] for p in people}
    share = rng.choice([0.05, 0.3, 0.5, 0.95])
    steady = rng.random() < 0.7
    own = {p: int(rng.random() < share) for p in people}
    truth = {(p, m): own[p] if steady else int(rng.random() < share) for p in people for m in answered[p]}
    publisher = Publisher(rng)
    periods = list(span)
    if months >= 3:
        periods += ["2026-Q1", "2026-Q1"]
    if months >= 4:
        periods += ["2026-02..2026-04"]
    cells, hidden = {}, []
    chosen = [p for p in people if rng.random() < 0.8]
    for _ in range(int(rng.integers(2, 9))):
        period = str(rng.choice(periods))
        pool = chosen if rng.random() < 0.5 else [p for p in people if rng.random() < 0.7]
        covered = {m for m in span if m == period or (period.endswith("Q1") and m < "2026-04")}
        covered |= {m for m in span if ".." in period and m > "2026-01"}
        group = [p for p in pool if covered.intersection(answered[p])]
        unit = "".join(group)
        if group and rng.random() < 0.15:
            hidden.append(HiddenGroup(period, unit, REGION, tuple(sorted(group))))
        elif group:
            base = int(rng.choice([1, 2, 3, 5]))
            cells[period, unit, base] = publisher.cell(
                period, unit, REGION, group, (answered, truth), base=base
            )
    return Ledger(tuple(cells.values()), {REGION: answered}, tuple(dict.fromkeys(hidden))), truth


def hidden(part: PartVerdict) -> dict[tuple[str, str], int | None]:
    return {(f.token, f.period): f.value for f in part.findings if f.kind == "hidden count"}


def check(ledger: Ledger, truth: dict, attacker: Attacker, rng: np.random.Generator) -> PartVerdict:
    """Audit with half of the runs given the truth as a start, and compare with brute force."""
    wants_truth = attacker.spans or bool(attacker.colluders) or rng.random() < 0.5
    verdict = audit(ledger, attacker, rng, truth={REGION: truth} if wants_truth else None, effort=THOROUGH)
    (part,) = verdict.parts
    expected = enumerate_worlds(ledger, REGION, attacker, truth)
    if part.refuted:
        assert expected.worlds == 0
        return part
    assert expected.worlds > 0
    claimed = {(f.token, f.period): f.value for f in part.findings if f.kind == "value"}
    assert claimed == expected.determined
    assert hidden(part) == expected.hidden
    unasked = audit(ledger, attacker, rng, truth={REGION: truth}, effort=THOROUGH, only=frozenset())
    assert hidden(unasked.parts[0]) == expected.hidden
    assert part.values == len(expected.values)
    assert {(w.token, w.period) for w in part.witnesses} == expected.values - set(expected.determined)
    assert verdict.passed == (not part.findings)
    known = known_answers(attacker, truth)
    answered = ledger.answered[REGION]
    spans = true_spans(answered, truth) if attacker.spans else None
    sound = worlds_reproduce(
        part.worlds, ledger.cells, answered, known, shared_draw=attacker.shared_draw, spans=spans
    )
    assert all(sound)
    assert all(witnesses_holding(part.witnesses, part.worlds, sound, answered, spans))
    return part


@pytest.mark.parametrize("shared", [False, True])
@pytest.mark.parametrize(("stable", "spans"), [(False, False), (True, False), (False, True)])
def test_agrees_with_brute_force(stable: bool, spans: bool, shared: bool) -> None:
    determined = opened = refuted = 0
    for seed in range(60):
        rng = np.random.default_rng([seed, stable, spans, shared])
        months = int(rng.integers(1, 5))
        ledger, truth = tiny(rng, months=months, most=12 if stable or months == 1 else 13 // months)
        if not ledger.cells:
            continue
        tellers = [p for p in ledger.answered[REGION] if rng.random() < 0.2] if seed % 3 == 0 else []
        part = check(ledger, truth, Attacker(stable, frozenset(tellers), shared, spans=spans), rng)
        determined += len(part.findings)
        if spans:
            # The attacker was told true things only, so every conclusion is true.
            said = {(f.token, f.period): f.value for f in part.findings if f.kind == "value"}
            assert all(truth.get(key, value) == value for key, value in said.items())
        opened += len(part.witnesses)
        refuted += part.refuted
    # The cases are no use unless both answers turn up often.
    assert determined > 50
    assert opened > 50
    assert refuted > 0 if stable else refuted == 0
