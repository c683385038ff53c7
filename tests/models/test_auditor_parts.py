"""Parts of the auditor: records, exact re-check, layout of atoms, structure check, rehearsal and gate."""

from itertools import product

import numpy as np
import pytest

from models.audit_check import published_for, witnesses_holding, worlds_reproduce
from models.audit_periods import months_of
from models.audit_records import Attacker, Ledger, PublishedCell, Witness, World
from models.auditor import audit, choose_colluders
from models.auditor_atoms import spread_out
from models.auditor_gallery import Effort
from models.auditor_model import build_unknowns
from models.disclosure import round_count, rounding_draw
from tests.support.ledgers import institute, ledger_of
from tests.support.planted import REGION, planted

PEOPLE = tuple(f"p{i:02d}" for i in range(12))
ANSWERED = dict.fromkeys(PEOPLE, ("2026-01",))


def world(*yes: str) -> World:
    return World(tuple((p, "2026-01") for p in PEOPLE), bytes(int(p in yes) for p in PEOPLE))


def test_months_of_a_period() -> None:
    assert months_of("2026-10") == ("2026-10",)
    assert months_of("2026-Q4") == ("2026-10", "2026-11", "2026-12")
    assert months_of("2025-12..2026-02") == ("2025-12", "2026-01", "2026-02")
    for wrong in ("2026", "2026-13", "2026-Q5", "2026-W10"):
        with pytest.raises(ValueError, match="period"):
            months_of(wrong)


def test_cells_that_cannot_be_are_refused() -> None:
    for people, value, base in ((PEOPLE, 3, 5), (PEOPLE, 15, 5), (("b", "a"), 0, 5), (("a", "a"), 0, 5)):
        with pytest.raises(ValueError, match="cell"):
            PublishedCell("2026-01", "T", "NECK", people, value, base)
    silent = PublishedCell("2026-02", "T", "NECK", PEOPLE, 5)
    with pytest.raises(ValueError, match="gave no answer"):
        build_unknowns([silent], ANSWERED, Attacker(False), {})


def test_rounding_rule_of_the_check_is_that_of_the_release() -> None:
    """Forward rule against `models.disclosure`, over real keyed draws: two hands wrote them."""
    key = bytes(range(32))
    for region, n in product(("NECK", "KNEE", "ELBOW"), (10, 11, 14, 20, 37)):
        draw = rounding_draw(key, [f"t{i}" for i in range(n)], region, "month")
        threshold = draw * 5 // 2**53
        for count in range(n + 1):
            assert published_for(count, n, 5, threshold) == round_count(count, n, draw, 5)


def test_interval_of_the_programme_is_the_rule_backwards() -> None:
    """For every n, class and value the counts allowed are exactly those the rule sends there."""
    for n, k in product(range(1, 24), range(5)):
        for value in range(0, n + 1, 5):
            right = {c for c in range(n + 1) if published_for(c, n, 5, k) == value}
            high = n if value + 5 > n else value + k
            assert right == set(range(max(0, value - 4 + k), min(n, high) + 1))


def test_check_rejects_what_does_not_reproduce() -> None:
    cell = PublishedCell("2026-01", "T", "NECK", PEOPLE, 5)
    assert worlds_reproduce([world(*PEOPLE[:9])], [cell], ANSWERED, {}, shared_draw=True) == [True]
    assert worlds_reproduce([world(*PEOPLE[:10])], [cell], ANSWERED, {}, shared_draw=True) == [False]
    assert worlds_reproduce([world()], [cell], ANSWERED, {}, shared_draw=True) == [False]
    two = World(world().keys, bytes([2] + [0] * 11))
    assert worlds_reproduce([two], [cell], ANSWERED, {}, shared_draw=False) == [False]


def test_check_orders_counts_of_one_draw() -> None:
    """Nine published as 5 says the draw is high; one published as 5 says it is low: not the same draw."""
    answered = dict.fromkeys(PEOPLE, ("2026-01", "2026-02"))
    cells = [PublishedCell(m, "T", "NECK", PEOPLE, 5) for m in ("2026-01", "2026-02")]
    keys = tuple((p, m) for m in ("2026-01", "2026-02") for p in PEOPLE)
    values = [int(i < 9) for i in range(12)] + [int(i < 1) for i in range(12)]
    both = World(keys, bytes(values))
    assert worlds_reproduce([both], cells, answered, {}, shared_draw=False) == [True]
    assert worlds_reproduce([both], cells, answered, {}, shared_draw=True) == [False]


def test_witness_must_show_both_values_in_sound_worlds() -> None:
    worlds = [world(), world("p00")]
    pair = Witness("p00", "2026-01", 0, 1)
    assert witnesses_holding([pair], worlds, [True, True], ANSWERED) == [True]
    assert witnesses_holding([pair], worlds, [True, False], ANSWERED) == [False]
    assert witnesses_holding([Witness("p01", "2026-01", 0, 1)], worlds, [True, True], ANSWERED) == [False]
    assert witnesses_holding([Witness("p00", "2026-02", 0, 1)], worlds, [True, True], ANSWERED) == [False]
    assert witnesses_holding([Witness("p00", "2026-01", 1, 0)], worlds, [True, True], ANSWERED) == [False]
    other = World((("x", "2026-01"),), b"\x01")
    assert witnesses_holding([pair], [worlds[0], other], [True, True], ANSWERED) == [False]


def test_sets_laid_out_have_their_sizes_and_union() -> None:
    for sizes in product(range(5), repeat=3):
        for union in range(max(sizes), sum(sizes) + 1):
            sets = spread_out(sizes, union)
            assert [len(s) for s in sets] == list(sizes)
            assert set.union(*sets) == set(range(union))


def test_no_time_is_a_leak() -> None:
    """A solve that cannot finish is reported, never passed over."""
    case = next(c for c in planted() if c.name == "base 3 and two leavers")
    verdict = audit(
        case.ledger,
        case.attacker,
        np.random.default_rng(1),
        truth={REGION: case.truth},
        effort=Effort(time_limit=0.0, idle_rounds=1),
    )
    assert not verdict.passed
    assert all(f.value is None for f in verdict.findings)
    assert "could not be decided" in verdict.sentence


def test_numbers_no_world_makes_are_a_finding() -> None:
    cells = (
        PublishedCell("2026-01", "A", "NECK", PEOPLE, 10),
        PublishedCell("2026-01", "B", "NECK", PEOPLE, 0, 3),
    )
    verdict = audit(Ledger(cells, {"NECK": ANSWERED}), Attacker(False), np.random.default_rng(1))
    assert [f.kind for f in verdict.findings] == ["no world"]
    assert not verdict.passed


def test_colluders_are_at_most_three_in_any_team_cell() -> None:
    rng = np.random.default_rng(3)
    invented = institute(rng, teams=6, quarters=4, regions=1, churn=0.05)
    ledger = ledger_of(invented, rng)
    tellers = choose_colluders(ledger, set(invented.cluster_of), rng)
    numbers = [
        len(tellers.intersection(c.contributors)) for c in ledger.cells if c.unit in invented.cluster_of
    ]
    assert max(numbers) == 3
    assert np.mean(numbers) > 2


def test_when_everybody_tells_nothing_is_left_to_work_out() -> None:
    cell = PublishedCell("2026-01", "T", "NECK", PEOPLE, 5)
    ledger = Ledger((cell,), {"NECK": ANSWERED})
    truth = {(p, "2026-01"): int(p < "p03") for p in PEOPLE}
    everybody = Attacker(False, frozenset(PEOPLE))
    verdict = audit(ledger, everybody, np.random.default_rng(1), truth={"NECK": truth})
    assert verdict.passed
    assert verdict.values == 0
    # Told answers that the published number contradicts: no world, and so no clean bill.
    liars = dict.fromkeys(truth, 1)
    wrong = audit(ledger, everybody, np.random.default_rng(1), truth={"NECK": liars})
    assert [f.kind for f in wrong.findings] == ["no world"]
