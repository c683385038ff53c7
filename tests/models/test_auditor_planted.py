"""Unsafe releases planted on purpose: brute force confirms each leak, and the auditor finds all of it."""

from dataclasses import replace

import numpy as np
import pytest

from models.audit_check import worlds_reproduce
from models.audit_records import World
from models.auditor import audit
from models.auditor_model import known_answers
from tests.support.audit_oracle import enumerate_worlds
from tests.support.planted import REGION, Planted, planted

CASES = planted()


def test_there_are_at_least_twenty() -> None:
    assert len({case.name for case in CASES}) == len(CASES) >= 20


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_planted_leak_is_caught(case: Planted) -> None:
    expected = enumerate_worlds(case.ledger, REGION, case.attacker, case.truth)
    # The release is a possible one: its truth rounds to its numbers.
    known = known_answers(case.attacker, case.truth)
    keys = tuple(k for k in case.truth if k not in known)
    truth = World(keys, bytes(case.truth[k] for k in keys))
    answered = case.ledger.answered[REGION]
    assert worlds_reproduce([truth], case.ledger.cells, answered, known, shared_draw=True) == [True]
    assert expected.determined or expected.hidden
    for (token, period), value in expected.determined.items():
        said = {v for (t, m), v in case.truth.items() if t == token and (not period or period in m)}
        assert not said or value in said

    verdict = audit(case.ledger, case.attacker, np.random.default_rng(1), truth={REGION: case.truth})
    assert not verdict.passed
    assert "can be worked out" in verdict.sentence
    found = {(f.token, f.period): f.value for f in verdict.findings if f.kind == "value"}
    assert found == expected.determined
    hidden = {(f.token, f.period): f.value for f in verdict.findings if f.kind == "hidden count"}
    assert hidden == expected.hidden


def test_shared_draw_is_what_gives_it_away() -> None:
    """The stricter attacker is needed: without the shared draw the same two numbers leave all open."""
    (case,) = (c for c in CASES if "one draw shared" in c.name)
    loose = replace(case.attacker, shared_draw=False)
    rng = np.random.default_rng(2)
    assert audit(case.ledger, loose, rng, truth={REGION: case.truth}).passed
    assert not audit(case.ledger, case.attacker, rng, truth={REGION: case.truth}).passed


def test_three_who_tell_are_withstood_by_one_table() -> None:
    """Base b withstands b - 2 who tell in any one table: 3 at base 5, not 4, whatever they said."""
    (four,) = (c for c in CASES if "four who tell" in c.name)
    three = replace(four.attacker, colluders=frozenset(sorted(four.attacker.colluders)[:3]))
    verdict = audit(four.ledger, three, np.random.default_rng(3), truth={REGION: four.truth})
    assert verdict.passed
    assert verdict.values == 9
