"""Records the auditor reads and returns: published cells, attackers, worlds, findings and verdicts.

A *world* is one assignment of yes or no to every person (and month) that reproduces every published
number. A person's value is *determined* when every world agrees on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from models.audit_periods import months_of

STABLE = ""
"""Period label of a value that an attacker takes to be the same in every month."""

Key = tuple[str, str]
"""(person token, month); the month is `STABLE` where answers are taken not to change."""


@dataclass(frozen=True)
class PublishedCell:
    """One published, rounded count.

    Parameters
    ----------
    period : str
        Month, quarter or run of months, see `months_of`. Over several months a contributor counts when the
        answer was yes in at least one answered month.
    unit, region : str
        What the count is about.
    contributors : tuple of str
        Tokens of the people counted over, sorted, without repeats.
    value : int
        Published count, a multiple of `base`.
    base : int
        Rounding base; 1 is an exact count.
    table : str
        Label that goes into the secret draw with the contributors and the region.
    """

    period: str
    unit: str
    region: str
    contributors: tuple[str, ...]
    value: int
    base: int = 5
    table: str = "health"

    def __post_init__(self) -> None:
        where = f"cell {self.unit} {self.period} {self.region}"
        if self.base < 1 or self.value % self.base or not 0 <= self.value <= len(self.contributors):
            raise ValueError(f"{where}: {self.value} is not a multiple of {self.base} between 0 and n")
        if any(a >= b for a, b in zip(self.contributors, self.contributors[1:], strict=False)):
            raise ValueError(f"{where}: contributors must be sorted and without repeats")
        months_of(self.period)

    @property
    def n(self) -> int:
        """Number of contributors."""
        return len(self.contributors)

    @cached_property
    def months(self) -> tuple[str, ...]:
        """Months the cell covers."""
        return months_of(self.period)

    @property
    def kind(self) -> str:
        """``month`` for one month, ``quarter`` for several."""
        return "month" if len(self.months) == 1 else "quarter"

    @property
    def draw(self) -> tuple[tuple[str, ...], str, str, int]:
        """Identity of the secret draw: cells of one region with equal `draw` share it."""
        return (self.contributors, self.table, self.kind, self.base)


@dataclass(frozen=True)
class HiddenGroup:
    """A group whose count was withheld; its exact count must not follow from what was published.

    Parameters
    ----------
    period, unit, region : str
        What was withheld.
    contributors : tuple of str
        Tokens of the people in it.
    """

    period: str
    unit: str
    region: str
    contributors: tuple[str, ...]


@dataclass(frozen=True)
class Ledger:
    """Everything published so far and who answered when.

    Parameters
    ----------
    cells : tuple of PublishedCell
        All published counts.
    answered : mapping of str to mapping of str to tuple of str
        region -> token -> months with an answer.
    hidden : tuple of HiddenGroup
        Withheld groups to protect as well.
    """

    cells: tuple[PublishedCell, ...]
    answered: Mapping[str, Mapping[str, tuple[str, ...]]]
    hidden: tuple[HiddenGroup, ...] = ()

    @cached_property
    def regions(self) -> tuple[str, ...]:
        """Regions with at least one published count."""
        return tuple(sorted({cell.region for cell in self.cells}))


@dataclass(frozen=True)
class Attacker:
    """What an attacker takes for granted beyond the roster, who answered, the rules and the ledger.

    Parameters
    ----------
    stable : bool
        False: a person's answers of different months are unrelated. True: they never change.
    colluders : frozenset of str
        People who told the attacker their own answers.
    shared_draw : bool
        Use that equal contributor sets share one secret draw, which orders their counts.
    local : bool
        Stable answers are taken for granted in one team at a time only, see `models.auditor_blanket`.
    spans : bool
        Told which of a person's neighbouring answers were equal, see `models.auditor_spans`.
    """

    stable: bool
    colluders: frozenset[str] = frozenset()
    shared_draw: bool = True
    local: bool = False
    spans: bool = False

    @property
    def words(self) -> str:
        """The attacker in plain words."""
        about = "answers stable over time" if self.stable else "months unrelated"
        about = "answers stable in one team for a while" if self.local else about
        about = "told for how long each answer stayed the same" if self.spans else about
        return f"{about}, {len(self.colluders)} people telling" if self.colluders else about


Truth = Mapping[str, Mapping[Key, int]]
"""region -> (token, month) -> 0 or 1: the answers as given."""


@dataclass(frozen=True)
class World:
    """One assignment that reproduces the published numbers.

    Parameters
    ----------
    keys : tuple of (str, str)
        (token, month) in the order of `values`; shared between worlds of one part.
    values : bytes
        0 or 1 for each key.
    """

    keys: tuple[Key, ...]
    values: bytes


@dataclass(frozen=True, slots=True)
class Witness:
    """Two worlds that disagree on one value, as positions in the part's list of worlds."""

    token: str
    period: str
    zero: int
    one: int


@dataclass(frozen=True)
class Finding:
    """A value, or the count of a withheld group, that could not be shown to be open.

    Parameters
    ----------
    region, token, period : str
        Whose value; for a withheld group `token` is the unit.
    value : int or None
        The only value possible, or None where the solver did not decide in time (counts as a leak).
    kind : str
        ``value``, ``hidden count`` or ``no world``.
    """

    region: str
    token: str
    period: str
    value: int | None
    kind: str = "value"


@dataclass(frozen=True)
class PartVerdict:
    """Verdict on one region.

    Parameters
    ----------
    region : str
        Body region.
    values : int
        Person-values looked at.
    findings : tuple of Finding
        Empty when every value is open.
    refuted : bool
        The published numbers contradict what the attacker takes for granted: no world at all. An attacker
        told of runs is then taken to know of none, see `models.auditor_spans`.
    witnesses : tuple of Witness
        One pair of worlds for every open value.
    worlds : tuple of World
        The worlds the witnesses point at, each re-checked exactly.
    solves : int
        Integer programmes that had to be solved.
    carried : int
        Values shown to be open by the worlds of an attacker who knows more.
    """

    region: str
    values: int
    findings: tuple[Finding, ...] = ()
    refuted: bool = False
    witnesses: tuple[Witness, ...] = ()
    worlds: tuple[World, ...] = field(repr=False, default=())
    solves: int = 0
    carried: int = 0


@dataclass(frozen=True)
class AuditVerdict:
    """Verdict under one attacker."""

    attacker: Attacker
    parts: tuple[PartVerdict, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings."""
        return tuple(f for part in self.parts for f in part.findings)

    @property
    def values(self) -> int:
        """Person-values looked at."""
        return sum(part.values for part in self.parts)

    @property
    def open_values(self) -> int:
        """Values shown to be open."""
        return sum(len(part.witnesses) + part.carried for part in self.parts)

    @property
    def refuted(self) -> tuple[str, ...]:
        """Regions whose published numbers contradict what the attacker takes for granted."""
        return tuple(part.region for part in self.parts if part.refuted)

    @property
    def passed(self) -> bool:
        """True only when nothing is determined or undecided and every value has its two worlds."""
        return not self.findings and all(len(p.witnesses) + p.carried == p.values for p in self.parts)

    @property
    def complete(self) -> bool:
        """True when every value is open or a finding; a search that gave up early is not."""
        return all(
            len(p.witnesses) + p.carried + sum(f.kind == "value" for f in p.findings) == p.values
            for p in self.parts
        )

    @property
    def sentence(self) -> str:
        """The verdict in plain words."""
        undecided = sum(f.value is None for f in self.findings)
        if self.passed:
            result = f"all {self.open_values} values stay open"
        else:
            known = len(self.findings) - undecided
            result = f"{known} values can be worked out and {undecided} could not be decided in time"
        if self.refuted:
            result += f"; the numbers of {len(self.refuted)} regions show that the assumption is wrong there"
        return f"Attacker ({self.attacker.words}): {result}."
