"""The attacker who rightly takes answers for stable, and the one who does so wrongly."""

from dataclasses import replace

import numpy as np
import pytest

from models.audit_periods import months_of
from models.audit_records import Attacker, Ledger, PublishedCell, Truth
from models.auditor import audit
from models.auditor_blanket import FEW, Guesses, guess_region
from models.auditor_gallery import Effort
from models.auditor_spans import doubted_answers, true_spans
from tests.support.ledgers import institute, ledger_of
from tests.support.planted import REGION, planted

PEOPLE = tuple(f"p{i:02d}" for i in range(12))
OTHERS = tuple(f"q{i:02d}" for i in range(20))
TOLD = Attacker(False, spans=True)
MONTHS = (*months_of("2026-Q1"), *months_of("2026-Q2"))


def found(ledger: Ledger, truth: Truth, attacker: Attacker = TOLD) -> set[tuple[str, int | None]]:
    verdict = audit(ledger, attacker, np.random.default_rng(1), truth=truth)
    assert verdict.passed == (not verdict.findings)
    return {(f.token, f.value) for f in verdict.findings}


def two_leavers(*, had_it: bool) -> tuple[Ledger, dict]:
    """A team published 10, then, two people fewer, 0; other people's counts refute stable answers."""
    truth = {(p, m): int(p in PEOPLE[:6]) for p in PEOPLE for m in MONTHS}
    if not had_it:
        truth |= {(p, m): int(p in PEOPLE[2:8] and m < "2026-04") for p in PEOPLE for m in MONTHS}
    truth |= {(q, m): int(m == "2026-01") for q in OTHERS for m in MONTHS}
    cells = (
        PublishedCell("2026-Q1", "T", "NECK", PEOPLE, 10),
        PublishedCell("2026-Q2", "T", "NECK", PEOPLE[2:], 0),
        PublishedCell("2026-01", "C", "NECK", OTHERS, 20),
        PublishedCell("2026-02", "C", "NECK", OTHERS, 0),
    )
    return Ledger(cells, {"NECK": dict.fromkeys((*PEOPLE, *OTHERS), MONTHS)}), {"NECK": truth}


@pytest.mark.parametrize(
    ("said", "runs"),
    [
        ("0000", "1111"),
        ("0011", "1133"),
        ("0101", "1234"),
        ("0..0", "1111"),
        ("0..1", "1114"),
        (".00.", "1111"),
        (".01.", "1133"),
        ("0!0!", "1234"),
        ("!!00", "1233"),
        ("....", "1111"),
    ],
)
def test_runs_of_equal_answers(said: str, runs: str) -> None:
    """A dot is not on file, an exclamation mark is doubted; below, the month in which each run began."""
    months = MONTHS[:4]
    truth = {("a", m): int(x) for m, x in zip(months, said, strict=True) if x in "01"}
    doubted = {("a", m) for m, x in zip(months, said, strict=True) if x == "!"}
    spans = true_spans({"a": months}, truth, doubted)
    assert "".join(str(int(spans["a", m][-2:])) for m in months) == runs


def test_months_off_file_stand_alone_if_asked_for() -> None:
    truth = {("a", "2026-01"): 1, ("a", "2026-04"): 1}
    spans = true_spans({"a": MONTHS[:4]}, truth, join_unknown=False)
    assert [spans["a", m] for m in MONTHS[:4]] == list(MONTHS[:4])


@pytest.mark.parametrize("case", [c for c in planted() if c.attacker.stable], ids=lambda case: case.name)
def test_where_answers_are_stable_both_attackers_find_the_same(case) -> None:
    told = replace(case.attacker, stable=False, spans=True)
    assert found(case.ledger, {REGION: case.truth}, told) == found(
        case.ledger, {REGION: case.truth}, case.attacker
    )


def test_in_stable_institutes_both_attackers_find_the_same() -> None:
    for seed, base in ((0, 1), (1, 5), (2, 5)):
        rng = np.random.default_rng([77, seed])
        world = institute(rng, teams=4, quarters=4, regions=1, prevalence=0.3, response=0.8, churn=0.03)
        ledger = ledger_of(world, rng, base=base)
        both = [
            audit(ledger, a, rng, truth=world.truth, effort=Effort(enough=1)) for a in (Attacker(True), TOLD)
        ]
        assert [v.passed for v in both] == [base == 5] * 2
        assert both[0].values == both[1].values


def test_one_changed_answer_elsewhere_does_not_switch_the_attacker_off() -> None:
    ledger, truth = two_leavers(had_it=True)
    assert audit(ledger, Attacker(True), np.random.default_rng(1)).refuted == ("NECK",)
    assert found(ledger, truth) >= {("p00", 1), ("p01", 1)}


def test_a_changed_answer_in_the_team_leaves_it_open_who_made_the_difference() -> None:
    """Two colleagues changed after all: now the numbers do not follow from the leavers alone."""
    ledger, truth = two_leavers(had_it=False)
    assert found(ledger, truth) == set()


def test_conclusions_are_true_where_answers_change() -> None:
    """Exact counts give much away, and all of it is right."""
    rng = np.random.default_rng(9)
    world = institute(
        rng, teams=6, quarters=4, regions=1, prevalence=0.3, response=0.8, churn=0.03, change=0.02
    )
    ledger = ledger_of(world, rng, base=1)
    verdict = audit(ledger, TOLD, rng, truth=world.truth, effort=Effort(enough=10))
    said = [(f.token, f.period, f.value) for f in verdict.findings if f.kind == "value"]
    assert len(said) >= 10
    assert all(world.truth["NECK"].get((token, period), value) == value for token, period, value in said)


def test_a_correction_after_publication_takes_its_months_out_and_no_more() -> None:
    """The team's second quarter was corrected: 0 published, yet everybody has it on file."""
    ledger, truth = two_leavers(had_it=True)
    assert doubted_answers(ledger.cells, ledger.answered["NECK"], truth["NECK"]) == set()
    corrected = {"NECK": truth["NECK"] | {(q, "2026-02"): 1 for q in OTHERS}}
    doubted = doubted_answers(ledger.cells, ledger.answered["NECK"], corrected["NECK"])
    assert doubted == {(q, "2026-02") for q in OTHERS}
    assert found(ledger, corrected) >= {("p00", 1), ("p01", 1)}


def test_edges_of_what_a_published_count_allows() -> None:
    answered = dict.fromkeys(PEOPLE, ("2026-01",))

    def doubted(value: int, yes: int) -> bool:
        cell = PublishedCell("2026-01", "T", "NECK", PEOPLE, value)
        truth = {(p, "2026-01"): int(k < yes) for k, p in enumerate(PEOPLE)}
        return bool(doubted_answers([cell], answered, truth))

    assert [doubted(5, yes) for yes in (0, 1, 9, 10)] == [True, False, False, True]
    assert [doubted(10, yes) for yes in (5, 6, 12)] == [True, False, False]
    cell = PublishedCell("2026-01", "T", "NECK", PEOPLE, 10)
    assert doubted_answers([cell], answered, {(PEOPLE[0], "2026-01"): 0}) == set()


def test_whose_data_are_gone_is_taken_as_stable_as_far_as_the_numbers_allow() -> None:
    ledger, truth = two_leavers(had_it=True)
    gone = {"NECK": {key: v for key, v in truth["NECK"].items() if key[0] in PEOPLE}}
    # The others' numbers refute that: their months are then unrelated, and the team's are not.
    assert found(ledger, gone) >= {("p00", 1), ("p01", 1)}
    only_team = replace(ledger, cells=ledger.cells[:2])
    assert found(only_team, {}) >= {("p00", 1), ("p01", 1)}


def test_where_even_the_file_is_contradicted_months_are_unrelated_and_the_report_says_so() -> None:
    """Known to be equal on file, published as different, and too little on file to doubt a number."""
    answered = {"a": MONTHS[:2], "b": MONTHS[:1], "c": MONTHS[1:2]}
    cells = (
        PublishedCell("2026-01", "T", "NECK", ("a", "b"), 2, 1),
        PublishedCell("2026-02", "T", "NECK", ("a", "c"), 0, 1),
    )
    truth = {"NECK": {("a", "2026-01"): 0, ("a", "2026-02"): 0}}
    verdict = audit(Ledger(cells, {"NECK": answered}), TOLD, np.random.default_rng(1), truth=truth)
    assert verdict.refuted == ("NECK",)
    assert {(f.token, f.period, f.value) for f in verdict.findings} == {
        ("a", "2026-01", 1), ("b", "2026-01", 1), ("a", "2026-02", 0), ("c", "2026-02", 0),
    }  # fmt: skip


def guess(ledger: Ledger, truth: dict, **options) -> Guesses:
    return guess_region(ledger, "NECK", ["T"], np.random.default_rng(1), truth["NECK"], **options)


def test_a_blanket_belief_is_counted_right_and_wrong() -> None:
    """The team's two numbers: 12 and 10 people, three months each; in the truth 30 yes, or 18."""
    for had_it, right, yes in ((True, 2, 18 + 12), (False, 0, 18)):
        ledger, truth = two_leavers(had_it=had_it)
        assert guess(ledger, truth) == Guesses(2, right, 66, 66 - yes)


def test_pairs_that_refute_the_belief_give_nothing_and_only_new_pairs_are_looked_at() -> None:
    """Same twelve people, 10 then 0: no; then two fewer, 0 again: yes, but that leaves all open."""
    months = (*MONTHS, *months_of("2026-Q3"))
    cells = tuple(
        PublishedCell(f"2026-Q{k + 1}", "T", "NECK", PEOPLE[2 * (k == 2) :], value)
        for k, value in enumerate((10, 0, 0))
    )
    ledger = Ledger(cells, {"NECK": dict.fromkeys(PEOPLE, months)})
    truth = {"NECK": {(p, m): int(m < "2026-04") for p in PEOPLE for m in months}}
    assert guess(ledger, truth) == Guesses(0, 0, 72 + 66, 36 + 66)
    assert guess(ledger, truth, new_cells=cells[2:]) == Guesses(0, 0, 66, 66)
    assert guess_region(ledger, "NECK", ["X"], np.random.default_rng(1), truth["NECK"]) == Guesses()
    # Whoever is not on file counts on neither side.
    assert guess(two_leavers(had_it=True)[0], {"NECK": {}}) == Guesses()


@pytest.mark.parametrize(
    ("guesses", "words"),
    [
        (Guesses(), "would conclude nothing"),
        (Guesses(FEW - 1, 0, 9, 9), f"fewer than {FEW} answers"),
        (
            Guesses(85, 22, 100, 74),
            "about 80 answers from these numbers, 3 in 10 of them rightly; guessing no",
        ),
        (
            Guesses(40, 0, 100, 100),
            "1 in 10 or fewer of them rightly; guessing no for everybody is right for 9 in 10 or",
        ),
        (
            Guesses(40, 40, 0, 0),
            "9 in 10 or more of them rightly; guessing no for everybody is right for 1 in 10 or",
        ),
    ],
)
def test_guesses_in_words_never_say_all_or_none(guesses: Guesses, words: str) -> None:
    assert words in guesses.sentence
