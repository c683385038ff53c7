"""Unsafe releases on purpose, each small enough to enumerate, each giving somebody's answer away."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from models.audit_periods import months_of
from models.audit_records import Attacker, HiddenGroup, Key, Ledger, PublishedCell

REGION = "NECK"
TEAM = tuple(f"p{i:02d}" for i in range(12))
JAN, FEB, MAR, APR = "2026-01", "2026-02", "2026-03", "2026-04"
UNRELATED = Attacker(stable=False)
STABLE_ANSWERS = Attacker(stable=True)


@dataclass(frozen=True)
class Planted:
    """One unsafe release.

    Parameters
    ----------
    name : str
        What is wrong with it.
    attacker : Attacker
        Who finds out.
    ledger : Ledger
        What was published.
    truth : dict
        Answers by (token, month).
    """

    name: str
    attacker: Attacker
    ledger: Ledger
    truth: dict[Key, int]


def _planted(
    name: str,
    attacker: Attacker,
    cells: Iterable[tuple[str, Iterable[str], int, int]],
    yes: Iterable[str | Key],
    hidden: Iterable[tuple[str, Iterable[str]]] = (),
    answered: dict[str, tuple[str, ...]] | None = None,
) -> Planted:
    """Cells are (period, people, published, base); `yes` lists people, or (person, month)."""
    rows = [(period, tuple(sorted(people)), value, base) for period, people, value, base in cells]
    withheld = [(period, tuple(sorted(people))) for period, people in hidden]
    when: dict[str, set[str]] = {}
    for period, people in [*(r[:2] for r in rows), *withheld]:
        for token in people:
            when.setdefault(token, set()).update(months_of(period))
    replied = answered or {token: tuple(sorted(months)) for token, months in when.items()}
    said = set(yes)
    truth = {(t, m): int(t in said or (t, m) in said) for t, months in replied.items() for m in months}
    published = tuple(
        PublishedCell(period, f"U{i}", REGION, people, value, base, f"table {i}" if "fresh" in name else "t")
        for i, (period, people, value, base) in enumerate(rows)
    )
    groups = tuple(HiddenGroup(period, "H", REGION, people) for period, people in withheld)
    return Planted(name, attacker, Ledger(published, {REGION: replied}, groups), truth)


def planted() -> tuple[Planted, ...]:
    """Build the unsafe releases.

    Returns
    -------
    tuple of Planted
        More than twenty.
    """
    return (*_exact_counts(), *_wrong_windows(), *_weak_rounding(), *_colluders())


def _exact_counts() -> list[Planted]:
    a, b, c, *rest = TEAM
    return [
        _planted("exact count: everybody", UNRELATED, [(JAN, TEAM, 12, 1)], TEAM),
        _planted("exact count: nobody", UNRELATED, [(JAN, TEAM, 0, 1)], []),
        _planted(
            "a leaver between two exact counts",
            STABLE_ANSWERS,
            [(JAN, TEAM, 5, 1), (FEB, TEAM[1:], 4, 1)],
            TEAM[:5],
        ),
        _planted(
            "a joiner between two exact counts",
            STABLE_ANSWERS,
            [(JAN, TEAM[1:], 4, 1), (FEB, TEAM, 4, 1)],
            TEAM[1:5],
        ),
        _planted(
            "each month another person does not answer",
            STABLE_ANSWERS,
            [(JAN, [a, b, *rest], 3, 1), (FEB, [b, c, *rest], 2, 1), (MAR, [a, c, *rest], 3, 1)],
            [a, rest[0], rest[1]],
        ),
        _planted("everyone but one", UNRELATED, [(JAN, TEAM, 6, 1), (JAN, TEAM[1:], 5, 1)], TEAM[:6]),
        _planted(
            "hidden remainder of one",
            UNRELATED,
            [(JAN, TEAM, 4, 1), (JAN, TEAM[:6], 2, 1), (JAN, TEAM[6:11], 1, 1)],
            [TEAM[0], TEAM[1], TEAM[6], TEAM[11]],
            hidden=[(JAN, TEAM[11:])],
        ),
        _planted(
            "'not this role' filter",
            UNRELATED,
            [(JAN, TEAM, 7, 1), (JAN, TEAM[:2], 2, 1), (JAN, TEAM[2:], 5, 1)],
            [*TEAM[:2], *TEAM[5:10]],
        ),
        _planted("a pair", UNRELATED, [(JAN, TEAM[:2], 2, 1)], TEAM[:2]),
        _planted("a single answer", UNRELATED, [(JAN, TEAM[:1], 0, 1)], []),
        _planted(
            "overlapping clusters",
            UNRELATED,
            [(JAN, TEAM, 5, 1), (JAN, TEAM[:7], 3, 1), (JAN, TEAM[6:], 3, 1)],
            [TEAM[0], TEAM[1], TEAM[6], TEAM[8], TEAM[9]],
        ),
        _planted(
            "withheld team by subtraction",
            UNRELATED,
            [(JAN, TEAM, 6, 1), (JAN, TEAM[:9], 3, 1)],
            [*TEAM[:3], *TEAM[9:]],
            hidden=[(JAN, TEAM[9:])],
        ),
    ]


def _wrong_windows() -> list[Planted]:
    three = TEAM[:3]
    return [
        _planted(
            "rolling window",
            UNRELATED,
            [("2026-01..2026-03", three, 3, 1), ("2026-02..2026-04", three, 0, 1)],
            [(t, JAN) for t in three],
        ),
        _planted(
            "year to date",
            UNRELATED,
            [("2026-01..2026-02", TEAM[:4], 1, 1), ("2026-01..2026-03", TEAM[:4], 2, 1)],
            [(TEAM[0], JAN), (TEAM[3], MAR)],
            answered={TEAM[0]: (JAN,), TEAM[1]: (JAN, FEB), TEAM[2]: (JAN,), TEAM[3]: (FEB, MAR)},
        ),
        _planted(
            "a month published again with a late answer",
            UNRELATED,
            [(JAN, TEAM, 4, 1), (JAN, [*TEAM, "p99"], 5, 1)],
            [*TEAM[:4], "p99"],
        ),
        _planted(
            "the same numbers to three bases",
            UNRELATED,
            [(JAN, TEAM, 0, 5), (JAN, TEAM, 6, 3), (JAN, TEAM[1:], 2, 2)],
            TEAM[:4],
        ),
    ]


def _weak_rounding() -> list[Planted]:
    return [
        _planted(
            "base 3 and two leavers",
            STABLE_ANSWERS,
            [(JAN, TEAM, 6, 3), (FEB, TEAM[2:], 0, 3)],
            TEAM[:4],
        ),
        _planted(
            "base 3 and a small group inside a large one",
            UNRELATED,
            [(JAN, TEAM, 12, 3), (JAN, TEAM[:4], 0, 3)],
            TEAM[2:],
        ),
        _planted(
            "base 5, two leavers and unlucky draws",
            STABLE_ANSWERS,
            [(JAN, TEAM, 10, 5), (FEB, TEAM[2:], 0, 5)],
            TEAM[:6],
        ),
        _planted(
            "a fresh draw for each of many repeats",
            STABLE_ANSWERS,
            [
                (JAN, TEAM, 5, 5),
                (FEB, TEAM, 5, 5),
                (MAR, TEAM, 10, 5),
                (JAN, TEAM[2:], 0, 5),
                (FEB, TEAM[2:], 5, 5),
                (MAR, TEAM[2:], 0, 5),
            ],
            TEAM[:6],
        ),
    ]


def _colluders() -> list[Planted]:
    def telling(number: int, *, stable: bool = False) -> Attacker:
        return Attacker(stable, frozenset(TEAM[:number]))

    return [
        _planted("base 5 and four who tell", telling(4), [(JAN, TEAM, 0, 5)], TEAM[:4]),
        _planted("base 3 and two who tell", telling(2), [(JAN, TEAM, 0, 3)], TEAM[:2]),
        _planted(
            "base 5, three who tell, and one draw shared by two months",
            telling(3),
            [(JAN, TEAM, 10, 5), (FEB, TEAM, 0, 5)],
            [*((t, JAN) for t in TEAM[3:]), *((t, FEB) for t in TEAM[:3])],
        ),
    ]
